"""Two whole servers, each its own process, on one PostgreSQL database; and the database started again
beneath them."""

import gzip
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from invented import Phone
from stored import rows

from chinrest.log.signing import new_key, public_of, sign
from postgresql import Postgres
from serving import Server

pytestmark = pytest.mark.several_servers
LINES = 120


class Carrier(Phone):
    """An invented phone that may send to any of the servers."""

    def __init__(self, server: Server, name: str) -> None:
        super().__init__(name, int(time.time() * 1000))
        self.key = new_key()
        code = server.enrol_code(label=name)
        request = {"code": code, "device": self.device, "public_key": public_of(self.key), "label": name}
        answer = httpx.post(f"{server.origin}/api/enrol", json=request)
        assert answer.status_code == 200, answer.text
        self.token = answer.json()["token"]
        self.write("case.opened", f"case-{name}")
        for number in range(LINES - 1):
            self.write("step.done", f"case-{name}", step=f"step_{number}")

    def send(self, server: Server, start: int, end: int) -> Any:
        lines = self.lines[start:end]
        head = lines[-1].envelope_sha256
        header = {
            "device": self.device,
            "head_seq": lines[-1].envelope.seq,
            "head_sha256": head,
            "signature": sign(self.key, head),
            "waiting": 0,
            "now": int(time.time() * 1000),
            "app": "test",
            "epoch": None,
            "cursor": None,
        }
        body = b"".join(row + b"\n" for row in (json.dumps(header).encode(), *(line.raw for line in lines)))
        return httpx.post(
            f"{server.origin}/api/sync",
            content=gzip.compress(body),
            headers={
                "Authorization": f"Bearer {self.token}",
                "Content-Type": "application/x-ndjson",
                "Content-Encoding": "gzip",
            },
            timeout=60,
        )


def test_two_processes_take_lines_at_once_and_lose_none(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHINREST_DATABASE", file)
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    with Server(tmp_path / "one") as one, Server(tmp_path / "two") as two:
        phones = [Carrier(one, name) for name in ("a", "b", "c", "d")]

        def carry(phone: Phone, servers: list[Server]) -> None:
            assert isinstance(phone, Carrier)
            for turn, start in enumerate(range(0, LINES, 10)):
                answer = phone.send(servers[turn % 2], start, start + 10)
                assert answer.status_code == 200, answer.text
                assert {line["status"] for line in answer.json()["lines"]} == {"stored"}

        order = [[one, two], [two, one], [one, two], [two, one]]
        threads = [threading.Thread(target=carry, args=pair) for pair in zip(phones, order, strict=True)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for phone in phones:
            found = rows(file, "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq", phone.device)
            assert [envelope + b"\t" + body for envelope, body in found] == phone.raws
        positions = [row[0] for row in rows(file, "SELECT position FROM lines ORDER BY position")]
        assert positions == list(range(1, len(positions) + 1))
        assert rows(file, "SELECT count(*) FROM cases WHERE state = 'open'") == [(4,)]


@contextmanager
def desk_of(server: Server, sign_in: tuple[str, str]) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=server.origin, headers={"X-Chinrest": "1"}, timeout=60) as desk:
        asked = {"name": sign_in[0], "password": sign_in[1]}
        assert desk.post("/api/session", json=asked).status_code == 200
        yield desk


def heard(desk: httpx.Client, kind: str, then: Callable[[], object]) -> bool:
    """Whether the stream tells of this kind after `then`; it ends by itself after a minute."""
    with desk.stream("GET", "/api/changes?seconds=60") as answer:
        rows = answer.iter_lines()
        assert next(rows) == "event: beat"
        # what the server says when it begins to listen to the database is no news
        assert any("devices" in row for row in rows)
        then()
        return any(f'"{kind}"' in row for row in rows)


def test_a_line_taken_by_one_process_updates_the_page_of_another(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHINREST_DATABASE", file)
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    with Server(tmp_path / "one") as one, Server(tmp_path / "two") as two:
        phone = Carrier(one, "a")
        with desk_of(two, one.sign_in("officer")) as desk:
            assert heard(desk, "lines", lambda: phone.send(one, 0, 10))


def test_the_database_is_started_again_beneath_a_running_server(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, postgres: Postgres
) -> None:
    monkeypatch.setenv("CHINREST_DATABASE", file)
    with Server(tmp_path) as server:
        phone = Carrier(server, "a")
        assert phone.send(server, 0, 10).status_code == 200
        postgres.restart()
        deadline = time.monotonic() + 60
        statuses = []
        while time.monotonic() < deadline:
            answer = phone.send(server, 0, 20)
            statuses.append(answer.status_code)
            if answer.status_code == 200:
                break
            assert answer.status_code == 503, answer.text
            time.sleep(0.2)
        assert statuses[-1] == 200, statuses
        assert [line["status"] for line in answer.json()["lines"]] == ["repeat"] * 10 + ["stored"] * 10
