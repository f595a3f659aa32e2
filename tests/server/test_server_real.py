"""The server as people start it: its own process, its own folder, a free port."""

import base64
import gzip
import json
import socket
import ssl
import subprocess
import sys
import urllib.error
import urllib.request
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

import httpx
import pytest

from chinrest.log.house_events import DeviceEnrolled
from chinrest.log.signing import new_key, public_of, sign
from chinrest.log.write import ChainWriter, new_salt
from chinrest.server.context import now_ms
from serving import Server, free_port

OWN_PAGE = {"X-Chinrest": "1"}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with Server(tmp_path_factory.mktemp("demo")) as server:
        yield server


@contextmanager
def signed_in(server: Server, role: str) -> Iterator[httpx.Client]:
    name, password = server.sign_in(role)
    with httpx.Client(base_url=server.origin) as client:
        answer = client.post("/api/session", json={"name": name, "password": password}, headers=OWN_PAGE)
        assert answer.status_code == 200, answer.text
        assert answer.json()["role"] == role
        yield client


def enrol(server: Server) -> tuple[str, str, dict[str, str]]:
    """A device's id, its signing key and its bearer header."""
    device, key = str(uuid.uuid4()), new_key()
    request = {
        "code": server.enrol_code(),
        "device": device,
        "public_key": public_of(key),
        "label": "Test phone",
    }
    answer = httpx.post(f"{server.origin}/api/enrol", json=request)
    assert answer.status_code == 200, answer.text
    assert answer.json()["demo"] is True
    return device, key, {"Authorization": f"Bearer {answer.json()['token']}"}


def sync(server: Server, device: str, key: str, bearer: dict[str, str], *lines: bytes) -> Any:
    head = sha256(lines[-1].partition(b"\t")[0]).hexdigest() if lines else "0" * 64
    header = {
        "device": device,
        "head_seq": 0,
        "head_sha256": head,
        "signature": sign(key, head) if lines else None,
        "waiting": 0,
        "now": now_ms(),
        "app": "test",
        "epoch": None,
        "cursor": None,
    }
    body = gzip.compress(b"".join(text + b"\n" for text in (json.dumps(header).encode(), *lines)))
    headers = {**bearer, "Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"}
    answer = httpx.post(f"{server.origin}/api/sync", content=body, headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_it_says_where_it_is_and_who_may_sign_in(demo: Server) -> None:
    assert demo.origin == f"http://127.0.0.1:{demo.port}"
    assert demo.started["demo"] is True
    assert demo.started["public_sign_ins"] is True
    assert demo.started["enrolment"]["url"].startswith(f"{demo.origin}/#enrol=")
    for role in ("officer", "lead"):
        with signed_in(demo, role):
            pass


def test_the_demo_pack_is_approved_for_every_site(demo: Server) -> None:
    with signed_in(demo, "lead") as lead:
        sites = {site["id"] for site in lead.get("/api/sites").json()}
        (pack,) = lead.get("/api/packs").json()
    assert len(sites) == 3
    assert set(pack["in_force"]) == sites


def test_a_phone_enrols_by_the_command_and_gets_the_pack(demo: Server) -> None:
    device, key, bearer = enrol(demo)
    said = sync(demo, device, key, bearer)
    pack = httpx.get(f"{demo.origin}/api/packs/{said['pack']}", headers=bearer).json()
    assert pack["demo"] is True
    assert pack["optics"]


def test_only_this_machine_can_reach_it(demo: Server) -> None:
    other = next(iter(socket.gethostbyname_ex(socket.gethostname())[2]), "127.0.1.1")
    if other == "127.0.0.1":
        other = "127.0.1.1"  # another loopback address, which only a server on all addresses would answer
    with pytest.raises(OSError, match=r"refused|unreachable|timed out"):
        socket.create_connection((other, demo.port), 2).close()


def test_killed_and_started_again_it_has_what_it_acknowledged(tmp_path: Path) -> None:
    server = Server(tmp_path).start()
    try:
        device, key, bearer = enrol(server)
        body = DeviceEnrolled(salt=new_salt(), public_key="", label="x", site="harbour")
        line = ChainWriter(device, "boot").write(body, at=now_ms(), mono=0)
        before = sync(server, device, key, bearer, line.raw)
        assert before["lines"][0]["status"] == "stored"
        server.kill()
        with pytest.raises((OSError, urllib.error.URLError)):
            server.get("/api/health")
        server.start()
        after = sync(server, device, key, bearer, line.raw)
        assert after["lines"][0]["status"] == "repeat"
        assert after["holds"] == [[1, 1]]
        assert (after["server"], after["epoch"]) == (before["server"], before["epoch"])
        with signed_in(server, "lead") as lead:
            assert len(lead.get("/api/packs").json()[0]["approvals"]) == 1, "approved once, not at each start"
    finally:
        server.stop()


def test_local_tls_chain_page_and_certificate(tmp_path: Path) -> None:
    with Server(tmp_path, "--local-tls") as server:
        assert server.origin == f"https://127.0.0.1:{server.port}"
        assert json.loads(server.get("/api/health"))["ok"]
        with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(f"{server.origin}/api/health", timeout=5)
        trust = server.started["trust"]
        page = httpx.get(trust["page"])
        assert trust["fingerprint"] in page.text
        assert server.origin in page.text
        plain = httpx.get(f"{trust['page']}authority.crt")
        assert plain.headers["content-type"] == "application/x-x509-ca-cert"
        assert plain.content == server.get("/authority.crt")
        assert httpx.get(f"{trust['page']}api/health").status_code == 404
        context = ssl.create_default_context(cadata=plain.content)
        with urllib.request.urlopen(f"{server.origin}/api/health", timeout=5, context=context) as answer:
            assert answer.status == 200


def test_opened_to_the_network_no_sign_in_is_public(tmp_path: Path) -> None:
    """`--lan`, kept to loopback for the test."""
    with Server(tmp_path, "--lan", "--host", "127.0.0.1") as server:
        assert server.origin.startswith("https://")
        assert server.started["public_sign_ins"] is False
        first = server.sign_in("officer")
        assert first[1] != "demo-officer-lantern"
        assert len(first[1]) >= 20
        context = ssl.create_default_context(cafile=str(server.data / "tls" / "authority.crt"))
        answers = [
            httpx.post(
                f"{server.origin}/api/session",
                json={"name": first[0], "password": password},
                headers=OWN_PAGE,
                verify=context,
            )
            for password in (first[1], "demo-officer-lantern")
        ]
        assert [answer.status_code for answer in answers] == [200, 401]
        assert "Secure" in answers[0].headers["set-cookie"]


def test_the_log_is_json_lines_without_contents(demo: Server) -> None:
    httpx.get(f"{demo.origin}/api/cases/0192f0c0-dead-7000-8000-000000000001")
    rows = [json.loads(line) for line in demo.output().splitlines()]
    assert any(row.get("route") == "/api/cases/{case}" for row in rows)
    assert "dead" not in demo.output()


def serve(*arguments: str) -> subprocess.CompletedProcess[str]:
    """For starts that must fail."""
    command = [sys.executable, "-m", "chinrest.cli", "serve", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=60)


def test_starts_that_cannot_be(tmp_path: Path, demo: Server) -> None:
    real = tmp_path / "real"
    real.mkdir()
    (real / "chinrest.db").write_bytes(b"")
    port = str(free_port())
    key = tmp_path / "key.pem"
    wrong = [
        (["--data", str(tmp_path / "a"), "--port", str(demo.port)], "another server"),
        (["--data", str(tmp_path / "a"), "--host", "0.0.0.0", "--port", port], "say --lan"),
        (["--data", str(demo.data), "--port", port], "holds the demo"),
        (["--demo", "--data", str(real), "--port", port], "real server's record"),
        (["--data", str(tmp_path / "a"), "--tls-cert", str(key), "--port", port], "together"),
        (["--data", str(tmp_path / "a"), "--tls-cert", str(key), "--tls-key", str(key)], "no such file"),
        (["--data", str(tmp_path / "a"), "--port", "99999"], "99999"),
    ]
    for arguments, said in wrong:
        done = serve(*arguments)
        assert done.returncode != 0, arguments
        assert said in done.stderr, (arguments, done.stderr)
        assert "Traceback" not in done.stderr, done.stderr
    as_json = serve("--data", str(demo.data), "--port", port, "--json")
    assert as_json.returncode == 1
    assert json.loads(as_json.stdout)["fault"]["code"] == "wrong_folder"


def test_a_damaged_certificate_is_said_plainly(tmp_path: Path) -> None:
    bad = tmp_path / "bad.pem"
    bad.write_bytes(base64.b64encode(b"nonsense"))
    done = serve(
        "--data",
        str(tmp_path / "a"),
        "--port",
        str(free_port()),
        "--tls-cert",
        str(bad),
        "--tls-key",
        str(bad),
    )
    assert done.returncode == 1
    assert "bad.pem" in done.stderr
    assert "Traceback" not in done.stderr
