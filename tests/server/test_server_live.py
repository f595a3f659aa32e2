"""The desk's stream of changes: who may hear it, what it says and does not say, and when it ends."""

import json
import re
import signal
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from callers import OWN_PAGE, House
from carrying import Phone, comfort, near_miss, opened

from chinrest.server.live import STREAMS_EACH
from serving import Server

WORDS = r'event:|data:|beat|\{\}|changed|\{"kinds":\[("(lines|reviews|devices)",?)+\]\}'
"""All that a stream ever says."""

LONG_S = 60.0  # a bound for a machine that stands still, not a time that anything takes


class Stream:
    """What a page hears, message by message."""

    def __init__(self, answer: httpx.Response) -> None:
        self.answer = answer
        self._lines = answer.iter_lines()
        self.raw = ""

    def next(self) -> tuple[str, Any]:
        """The next message; raises StopIteration where the server ended the stream."""
        event, data = "", ""
        while True:
            line = next(self._lines)
            self.raw += line + "\n"
            if line == "" and event:
                return event, json.loads(data)
            name, _, value = line.partition(": ")
            event, data = (value, data) if name == "event" else (event, value if name == "data" else data)

    def until(self, kind: str) -> None:
        while True:
            event, said = self.next()
            if event == "changed" and kind in said["kinds"]:
                return

    def rest(self) -> list[str]:
        """Events until the server ends it."""
        events = []
        while True:
            try:
                events.append(self.next()[0])
            except StopIteration:
                return events


@contextmanager
def listening(client: httpx.Client, seconds: int = 600) -> Iterator[Stream]:
    with client.stream("GET", f"/api/changes?seconds={seconds}", timeout=LONG_S) as answer:
        stream = Stream(answer)
        if answer.status_code == 200:
            assert stream.next() == ("beat", {})
        yield stream


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with Server(tmp_path_factory.mktemp("live")) as server:
        yield server


@contextmanager
def at_the_desk(server: Server, role: str = "officer") -> Iterator[httpx.Client]:
    name, password = server.sign_in(role)
    with httpx.Client(base_url=server.origin, timeout=LONG_S) as client:
        asked = {"name": name, "password": password}
        assert client.post("/api/session", json=asked, headers=OWN_PAGE).status_code == 200
        yield client


@contextmanager
def a_phone(server: Server) -> Iterator[Phone]:
    with httpx.Client(base_url=server.origin, timeout=LONG_S) as client:
        phone = Phone(client)
        assert phone.enrol(server.enrol_code()).status_code == 200
        yield phone


def test_a_short_stream_says_that_it_is_there_and_ends(house: House) -> None:
    answer = house.as_officer().get("/api/changes?seconds=0")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/event-stream")
    assert answer.headers["cache-control"] == "no-store"
    assert "content-encoding" not in answer.headers  # packing would hold messages back
    assert answer.text.split() == ["event:", "beat", "data:", "{}"]


def test_nobody_else_hears_it(house: House) -> None:
    assert house.as_nobody().get("/api/changes?seconds=0").status_code == 401
    phone = house.phone()
    assert house.as_nobody().get("/api/changes?seconds=0", headers=phone.bearer).status_code == 401
    assert house.as_officer().get("/api/changes?seconds=3601").status_code == 400


def test_what_a_phone_sends_is_told_by_its_kind_alone(demo: Server) -> None:
    with at_the_desk(demo) as desk, a_phone(demo) as phone, listening(desk) as stream:
        event = phone.write(near_miss("a secret note"), "case-secret")
        lines = [phone.first_line(), phone.write(opened(), "case-secret"), event]
        phone.sync(*lines)
        stream.until("lines")
        decided = desk.post(
            f"/api/incidents/{event.envelope.id}/comments", json={"text": "another secret"}, headers=OWN_PAGE
        )
        assert decided.status_code == 200, decided.text
        stream.until("reviews")
        phone.sync(phone.write(comfort(), "case-secret"))
        stream.until("lines")
        assert [word for word in stream.raw.split() if not re.fullmatch(WORDS, word)] == []


def test_reading_tells_nobody_anything(demo: Server) -> None:
    """Else two open pages would have each other read for ever."""
    with at_the_desk(demo) as desk, a_phone(demo) as phone:
        event = phone.write(near_miss("x"), "case-read")
        phone.sync(phone.first_line(), phone.write(opened(), "case-read"), event)
        with listening(desk, seconds=3) as stream:
            for path in ("/api/cases/case-read", f"/api/incidents/{event.envelope.id}", "/api/devices"):
                assert desk.get(path).status_code == 200
            assert stream.rest() == []


def test_it_ends_with_the_session(demo: Server) -> None:
    with at_the_desk(demo) as desk, at_the_desk(demo, "lead") as lead, a_phone(demo) as phone:
        with listening(desk) as stream, listening(lead) as other:
            assert desk.delete("/api/session", headers=OWN_PAGE).status_code == 204
            assert stream.rest() == []  # long before it beats
            phone.sync(phone.first_line())
            other.until("lines")  # theirs goes on
        assert desk.get("/api/changes?seconds=0").status_code == 401


@pytest.mark.parametrize(
    ("act", "body", "undo", "back"),
    [
        ("/withdraw", {"why": "left"}, "/readmit", {"why": "back"}),
        ("", {"role": "photographer", "site": None}, "", {"role": "officer", "site": None}),
        ("", {"role": "officer", "site": "harbour"}, "", {"role": "officer", "site": None}),
    ],
    ids=["withdrawn", "another role", "another site"],
)
def test_it_ends_for_whoever_may_no_more_what_they_might(
    demo: Server, act: str, body: dict[str, Any], undo: str, back: dict[str, Any]
) -> None:
    with at_the_desk(demo) as desk, at_the_desk(demo, "admin") as admin, listening(desk) as stream:
        at = f"/api/people/{desk.get('/api/session').json()['id']}"
        assert admin.post(at + act, json=body, headers=OWN_PAGE).status_code == 200
        assert stream.rest().count("beat") < 3  # at once, and not when its ten minutes are over
        assert admin.post(at + undo, json=back, headers=OWN_PAGE).status_code == 200


def test_nobody_holds_more_than_a_few(demo: Server) -> None:
    with at_the_desk(demo) as desk, at_the_desk(demo, "lead") as lead, ExitStack() as held:
        for _ in range(STREAMS_EACH):
            held.enter_context(listening(desk))
        refused = desk.get("/api/changes?seconds=0")
        assert (refused.status_code, refused.json()["code"]) == (429, "too_many")
        assert int(refused.headers["retry-after"]) > 0
        assert lead.get("/api/changes?seconds=0").status_code == 200
        held.close()
        deadline = time.monotonic() + LONG_S
        while desk.get("/api/changes?seconds=0").status_code != 200:  # once the server has noticed
            assert time.monotonic() < deadline
            time.sleep(0.1)


def test_a_server_that_stops_ends_its_streams_and_waits_for_none(tmp_path: Path) -> None:
    with Server(tmp_path) as server, at_the_desk(server) as desk, listening(desk) as stream:
        assert server.process is not None
        server.process.send_signal(signal.SIGTERM)
        assert stream.rest() == []
        assert server.process.wait(LONG_S) == -signal.SIGTERM  # by itself, once all is put away
        assert "Cancel" not in server.output()  # which uvicorn says of what it had to cut off


def test_a_page_is_read_again_only_where_something_came(house: House) -> None:
    """What the log says of who read what is not swelled by pages that look for news."""
    phone = house.phone()
    event = phone.write(near_miss("x"), "case-1")
    phone.sync(phone.first_line(), phone.write(opened(), "case-1"), event)
    officer = house.as_officer()
    at_incident, at_case = f"/api/incidents/{event.envelope.id}", "/api/cases/case-1"

    def readings() -> int:
        found = officer.get(at_case).json()["entries"]
        return sum(entry["type"] == "case.read" for entry in found)

    for path in (at_incident, at_case):
        seen = officer.get(path).json()["position"]
        before = readings()
        assert officer.get(path, params={"seen": seen}).json() is None
        assert readings() == before + 1  # by `readings` itself
        phone.sync(phone.write(comfort(), "case-1"))
        house.as_officer()
        assert officer.get(path, params={"seen": seen}).json()["position"] > seen
        assert readings() == before + 3
    assert officer.get("/api/incidents/no-such", params={"seen": 0}).status_code == 404
