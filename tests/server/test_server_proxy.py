"""Behind a proxy: what it says of a caller's address is believed, and nobody else's word is."""

import urllib.error
import urllib.request
from pathlib import Path

from serving import Server


def sign_ins_until_refused(server: Server, forwarded: str) -> int:
    """Wrong sign-ins for names of their own until the address is told to wait; at most 40."""
    for count in range(1, 41):
        request = urllib.request.Request(
            f"{server.origin_here}/api/session",
            data=b'{"name":"nobody-%d","password":"wrong"}' % count,
            headers={"Content-Type": "application/json", "X-Chinrest": "1", "X-Forwarded-For": forwarded},
        )
        try:
            urllib.request.urlopen(request, timeout=30)
        except urllib.error.HTTPError as error:
            if error.code == 429:
                return count
    return 0


class Behind(Server):
    @property
    def origin_here(self) -> str:
        """Past the proxy, which does not stand here."""
        return f"http://127.0.0.1:{self.port}"

    def healthy(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.origin_here}/api/health", timeout=5) as answer:
                return bool(answer.status == 200)
        except OSError:  # not yet
            return False


def test_the_proxys_word_counts_and_cookies_are_secure(tmp_path: Path) -> None:
    with Behind(tmp_path, "--behind-proxy", "127.0.0.1", "--origin", "https://chinrest.example") as server:
        assert server.started["origin"] == "https://chinrest.example"
        first = sign_ins_until_refused(server, "203.0.113.7")
        assert first > 1
        assert sign_ins_until_refused(server, "203.0.113.7") == 1, "the same caller still waits"
        name, password = server.sign_in("officer")
        request = urllib.request.Request(
            f"{server.origin_here}/api/session",
            data=f'{{"name":"{name}","password":"{password}"}}'.encode(),
            headers={
                "Content-Type": "application/json",
                "X-Chinrest": "1",
                "X-Forwarded-For": "203.0.113.8",
            },
        )
        with urllib.request.urlopen(request, timeout=30) as answer:
            assert "Secure" in answer.headers["Set-Cookie"]


def test_without_a_proxy_nobody_is_believed(tmp_path: Path) -> None:
    with Behind(tmp_path) as server:
        assert sign_ins_until_refused(server, "203.0.113.7") > 1
        assert sign_ins_until_refused(server, "198.51.100.9") == 1, "one address, whatever it claims"
