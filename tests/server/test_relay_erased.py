"""A hospital that was set back lacks lines whose bodies its hub has erased since: it gets their envelopes and
the hub's tombstones, its chain goes on and verifies, and the desk is told."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from beside import at
from callers import House
from carrying import Phone, comfort, opened
from hub_calling import Hub
from litestar.testing import TestClient
from test_server_backup import backed_up, run
from test_server_relay import Satellite, hospital_key, satellite

from chinrest.log.case_events import CaseClosed
from chinrest.log.erasures import Tombstone, signed
from chinrest.log.line import Line
from chinrest.log.registry import decode_body
from chinrest.log.signing import is_signed
from chinrest.log.verify import verify_file
from chinrest.log.write import new_salt
from chinrest.server.app import create_app
from chinrest.server.context import now_ms
from chinrest.server.relaying import Relayed
from chinrest.server.settings import Settings
from chinrest.store import Store
from chinrest.store.engines import Place
from chinrest.store.erasing import Order

__all__ = ["satellite"]

WORDS = "She told us of her sister"
ORDER = Order(by="Lea", rule="request", years=None, why="she asked for it")


def a_case(phone: Phone, case: str) -> list[Line]:
    words = WORDS if case == "c1" else ""
    closed = CaseClosed(salt=new_salt(), outcome="completed", note=words)
    bodies = [opened("HR-1"), comfort(), comfort(3), closed]
    lines = [phone.write(body, case) for body in bodies]
    phone.sync(*lines)
    return lines


def erase_at(place: Place, case: str) -> None:
    async def work(store: Store) -> None:
        due = await store.due_case(case, now_ms())
        assert due is not None
        assert due.held is None
        await store.erase(due, ORDER, now_ms())

    at(place, work)


class SetBack:
    """The satellite, whose hospital stands as it did after the phone's first line. Since then the hub has
    passed on two cases, and erased the first."""

    def __init__(self, satellite: Satellite, client: TestClient[Any], settings: Settings) -> None:
        self.satellite, self.client, self.settings = satellite, client, settings
        self.lines: list[Line] = []

    def export(self, folder: Path) -> list[dict[str, Any]]:
        """A sealed export of the hospital, which verifies; its rows that are no lines."""
        out = folder / "lines.ndjson"
        out.unlink(missing_ok=True)
        said = run("export", str(out), "--data", str(self.settings.data))
        assert said.exit_code == 0, said.output
        verdict = verify_file(out)
        assert verdict.ok, verdict
        assert WORDS.encode() not in out.read_bytes()
        return [json.loads(row) for row in out.read_bytes().splitlines() if b"\t" not in row]

    def held(self) -> set[bytes]:
        async def work(store: Store) -> set[bytes]:
            async with store.export(0) as rows:
                return {row[:-1] async for row in rows}

        found: set[bytes] = at(self.settings.database, work)
        return found


@pytest.fixture
def set_back(satellite: Satellite, tmp_path: Path) -> Iterator[SetBack]:
    phone, hospital = satellite.phone, satellite.hospital
    first = phone.first_line()
    phone.sync(first)
    satellite.relay()
    backed_up(hospital, tmp_path / "one.backup")
    erased, kept = a_case(phone, "c1"), a_case(phone, "c2")
    satellite.relay()
    erase_at(satellite.settings.database, "c1")
    settings = Settings(data=tmp_path / "restored")
    assert run("restore", str(tmp_path / "one.backup"), "--data", str(settings.data)).exit_code == 0
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        satellite.link.client = client
        made = SetBack(satellite, client, settings)
        made.lines = [first, *erased, *kept]
        yield made


def test_the_chain_goes_on_over_what_was_erased(set_back: SetBack, tmp_path: Path) -> None:
    done: Relayed = set_back.satellite.relay()
    assert done.erased == ["Room 1: 4 lines stand there by their envelopes alone"]
    assert (done.refused, done.forks) == ([], [])
    assert done.lines == 4
    first, erased, kept = set_back.lines[0], set_back.lines[1:5], set_back.lines[5:]
    assert {line.raw for line in (first, *kept)} <= set_back.held()
    rows = set_back.export(tmp_path)
    stubs = [row for row in rows if row.get("record") == "stub"]
    assert [(stub["seq"], stub["envelope_sha256"], stub["code"]) for stub in stubs] == [
        (line.envelope.seq, line.envelope_sha256, "erased") for line in erased
    ]
    assert stubs[0]["reason"] == "body: erased at the hub Lighthouse laptop, by request, by Lea"
    # once, however often it relays; and what is written from now on arrives
    assert set_back.satellite.relay().erased == []
    late = set_back.satellite.phone.write(comfort(), "c3")
    set_back.satellite.phone.sync(late)
    assert set_back.satellite.relay().lines == 1
    assert late.raw in set_back.held()
    # the hospital's own word reaches its phone for all of the chain
    final = set_back.satellite.phone.sync()["final"]
    assert (final["seq"], final["head_sha256"]) == (late.envelope.seq, late.envelope_sha256)
    text = "chinrest receipt {server} {epoch} final {device} {seq} {head_sha256} {at}".format(**final)
    assert is_signed(hospital_key(set_back.satellite.hospital), text, final["signature"])


def test_the_desk_is_told_and_reads_nothing_of_it(set_back: SetBack) -> None:
    set_back.satellite.relay()

    async def refused(store: Store) -> list[Any]:
        return await store.refused_lines()

    found = at(set_back.settings.database, refused)
    assert sorted((row.seq, row.code) for row in found) == [(seq, "erased") for seq in (2, 3, 4, 5)]


def test_a_phone_that_still_has_them_mends_it(set_back: SetBack, tmp_path: Path) -> None:
    """Enrolled at the hospital itself, it offers them whole; what the hub was told to erase was its copy."""
    set_back.satellite.relay()

    async def code(store: Store) -> str:
        return (await store.add_code("lighthouse", "Room 1", 0, 2**52)).code

    phone = set_back.satellite.phone
    phone.client = set_back.client
    assert phone.enrol(at(set_back.settings.database, code)).status_code == 200
    said = phone.sync(*set_back.lines[:5])
    assert [line["status"] for line in said["lines"]] == ["repeat", *["stored"] * 4]
    assert {line.raw for line in set_back.lines} <= set_back.held()


def test_what_stands_whole_is_not_taken_for_erased(satellite: Satellite, house: House) -> None:
    """Offered again as an envelope, a line that the server has is a repeat."""
    hub, phone = Hub(), Phone(house.client)
    hub.approve(house.settings)
    lines = [phone.first_line(), *[phone.write(body, "c1") for body in (opened(WORDS), comfort())]]
    assert hub.carry(house.client, hub.parcel(phone, "lighthouse", *[line.raw for line in lines])).is_success
    bare = [lines[0].raw, *[line.envelope_bytes + b"\t" for line in lines[1:]]]
    stones = [stone_of(hub, "c1", lines[1:])]
    answer = hub.carry(house.client, hub.parcel(phone, "lighthouse", *bare, tombstones=stones))
    assert [line["status"] for line in answer.json()["lines"]] == ["repeat"] * 3


def stone_of(hub: Hub, case: str, lines: list[Line], key: str | None = None) -> Tombstone:
    told = {
        "type": "bodies.erased",
        "salt": new_salt(),
        **{"by": "Lea", "rule": "age", "years": 10, "why": "the rule", "erasure": "e1", "refused": 0},
        **{"case": None, "at": None, "month": None, "tallies": [], "incidents": [], "signature": ""},
        "bodies": [line.envelope.body_sha256 for line in lines],
    }
    envelope = msgspec.structs.replace(lines[0].envelope, type="bodies.erased")
    body: Any = decode_body(envelope, msgspec.json.encode(told))
    return Tombstone(case=case, body=signed(case, body, key or hub.key))


def test_an_envelope_without_a_tombstone_of_the_hub_is_a_line_with_a_wrong_body(house: House) -> None:
    hub, stranger, phone = Hub(), Hub(), Phone(house.client)
    hub.approve(house.settings)
    line = phone.write(opened(WORDS), "c1")
    raw = line.envelope_bytes + b"\t"

    def code(*stones: Tombstone) -> Any:
        answer = hub.carry(house.client, hub.parcel(phone, "lighthouse", raw, tombstones=list(stones)))
        said = answer.json()
        return said["code"] if "code" in said else said["lines"][0]["code"]

    assert code(stone_of(hub, "c1", [line], stranger.key)) == "bad_signature"
    changed = stone_of(hub, "c1", [line])
    assert code(msgspec.structs.replace(changed, case="c2")) == "bad_signature"
    other = phone.write(comfort(), "c1")
    assert code(stone_of(hub, "c1", [other])) == "body_hash"
    assert code(stone_of(hub, "c2", [line])) == "body_hash"
    assert code() == "body_hash"
