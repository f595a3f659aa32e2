"""A hub moves to another machine: its phones go on trusting it by its authority, and their enrolment stands.

The other machine is another folder, port and loopback address here: one that the authority does not vouch
for, so that only the name does.
"""

import ssl
import subprocess
import sys
from pathlib import Path
from typing import Any

import httpx
import pytest
from click.testing import CliRunner

from chinrest.cli import main
from chinrest.log.signing import new_key, public_of
from chinrest.server.context import now_ms
from serving import Server

NAME = "hub.clinic.test"
OTHER_MACHINE = "127.0.0.2"
DEVICE = "7f0c1b9e-0a3e-4f7b-9a51-6d2f9f3b1c31"


class Named(Server):
    """Reached by a name that no name server here knows."""

    host = "127.0.0.1"

    def asked(self, authority: bytes) -> httpx.Client:
        """As by a phone that trusts this certificate and nothing else."""
        context = ssl.create_default_context(cadata=authority.decode())
        context.verify_flags |= ssl.VERIFY_X509_STRICT
        return httpx.Client(base_url=f"https://{self.host}:{self.port}", verify=context, timeout=20)

    def call(self, client: httpx.Client, method: str, path: str, **more: Any) -> httpx.Response:
        headers = {"Host": f"{NAME}:{self.port}", **more.pop("headers", {})}
        answer = client.request(method, path, headers=headers, extensions={"sni_hostname": NAME}, **more)
        assert answer.status_code == 200, answer.text
        return answer

    def healthy(self) -> bool:
        try:
            with self.asked((self.data / "tls" / "authority.crt").read_bytes()) as client:
                return bool(self.call(client, "GET", "/api/health").json()["ok"])
        except (httpx.HTTPError, OSError):  # not yet
            return False


class Elsewhere(Named):
    host = OTHER_MACHINE


def test_phones_go_on_at_the_moved_hub(tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    (tmp_path / "new").mkdir()
    old = Named(tmp_path / "old", "--local-tls", "--tls-name", NAME, demo=False)
    old.arguments += ["--origin", f"https://{NAME}:{old.port}"]
    new = Elsewhere(tmp_path / "new", "--local-tls", "--host", OTHER_MACHINE, demo=False)
    new.arguments += ["--origin", f"https://{NAME}:{new.port}"]
    with old:
        trusted = (old.data / "tls" / "authority.crt").read_bytes()
        old.run("sites", "add", "harbour", "Harbour")
        with old.asked(trusted) as phone:
            before = old.call(phone, "GET", "/api/health").json()
            asked = {
                "code": old.enrol_code(),
                "device": DEVICE,
                "public_key": public_of(new_key()),
                "label": "Room 1",
            }
            enrolled = old.call(phone, "POST", "/api/enrol", json=asked).json()
        old.run("backup", str(tmp_path / "one.backup"))
    said = CliRunner().invoke(main, ["restore", str(tmp_path / "one.backup"), "--data", str(new.data)])
    assert said.exit_code == 0, said.output
    with new, new.asked(trusted) as phone:
        after = new.call(phone, "GET", "/api/health").json()
        assert after["server"] == before["server"]
        header = {
            **{"device": DEVICE, "head_seq": 0, "head_sha256": "0" * 64, "signature": None, "waiting": 0},
            **{"now": now_ms(), "app": "test", "epoch": before["epoch"], "cursor": 0},
        }
        told = new.call(
            phone,
            "POST",
            "/api/sync",
            content=httpx.Request("POST", "https://x", json=header).content + b"\n",
            headers={"Authorization": f"Bearer {enrolled['token']}", "Content-Type": "application/x-ndjson"},
        ).json()
        assert told["server"] == enrolled["server"]
        assert told["epoch"] != enrolled["epoch"], "a restore: phones offer again what it lacks"
        with new.asked(trusted) as phone, pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY"):
            phone.get("/api/health")  # by an address that the authority can't vouch for


def started(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """One that must end by itself."""
    command = [sys.executable, "-m", "chinrest.cli", "serve", "--data", str(folder), "--port", "0"]
    return subprocess.run([*command, *arguments], capture_output=True, text=True, timeout=60)


def test_a_name_that_the_authority_was_made_without_is_said(tmp_path: Path) -> None:
    from chinrest.server.authority import Authority, own_names

    Authority(tmp_path / "tls").make(own_names("127.0.0.1"))
    late = started(tmp_path, "--local-tls", "--tls-name", NAME)
    assert late.returncode == 1
    assert NAME in late.stderr
    assert "--new-authority" in late.stderr
    elsewhere = started(tmp_path, "--local-tls", "--origin", f"https://{NAME}:1")
    assert elsewhere.returncode == 1
    assert f"not for {NAME}" in elsewhere.stderr
    wrong = started(tmp_path, "--local-tls", "--tls-name", "no name")
    assert wrong.returncode == 2
