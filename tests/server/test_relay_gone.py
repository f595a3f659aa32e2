"""A refused line of which a hub has no bytes left (too large to keep, or erased since) holds up nothing: the
hospital's chain goes on over it by the hub's signed word, and verifies."""

import json
from pathlib import Path
from typing import Any

import pytest
from beside import at
from callers import House
from carrying import Phone, comfort, opened
from hub_calling import Hub
from msgspec.structs import replace
from test_relay_erased import a_case, erase_at
from test_server_backup import run
from test_server_relay import Satellite, satellite

from chinrest.log.line import Line
from chinrest.log.signing import sign
from chinrest.log.stub_word import StubWord, stub_text
from chinrest.log.verify import verify_file
from chinrest.store import Store

__all__ = ["satellite"]


def told_of(house: House) -> list[tuple[int | None, str]]:
    """What the desk is told of lines that were refused or set aside."""

    async def work(store: Store) -> list[tuple[int | None, str]]:
        return [(row.seq, row.code) for row in await store.refused_lines()]

    found: list[tuple[int | None, str]] = at(house.settings.database, work)
    return found


def stubs_in_export(house: House, folder: Path) -> list[tuple[int, str, str]]:
    """Of a sealed export of the hospital, which verifies."""
    out = folder / "lines.ndjson"
    said = run("export", str(out), "--data", str(house.settings.data))
    assert said.exit_code == 0, said.output
    verdict = verify_file(out)
    assert verdict.ok, verdict
    rows = [json.loads(row) for row in out.read_bytes().splitlines() if b"\t" not in row]
    return [(row["seq"], row["envelope_sha256"], row["code"]) for row in rows if row.get("record") == "stub"]


def held_to_the_end(satellite: Satellite, last: Line) -> bool:
    """Whether the hospital's own word reaches the phone for all of its chain."""
    final = satellite.phone.sync()["final"]
    return bool((final["seq"], final["head_sha256"]) == (last.envelope.seq, last.envelope_sha256))


@pytest.mark.parametrize("together", [True, False], ids=["in one batch", "a batch each"])
def test_a_line_that_was_too_large_holds_up_nothing(
    satellite: Satellite, tmp_path: Path, together: bool
) -> None:
    phone = satellite.phone
    first, large, *later = phone.first_line(), *[phone.write(comfort(n), "c1") for n in range(4)]
    sent = [first.raw, large.raw + b" " * 20_000, *[line.raw for line in later]]
    for batch in [sent] if together else [[raw] for raw in sent]:
        phone.sync(*batch)
    assert satellite.relay().lines == 4
    assert satellite.at_hospital() == [line.raw for line in (first, *later)]
    assert held_to_the_end(satellite, later[-1])
    assert stubs_in_export(satellite.hospital, tmp_path) == [(2, large.envelope_sha256, "too_large")]
    assert told_of(satellite.hospital) == [(2, "too_large")]
    # once, and what comes afterwards goes over
    late = phone.write(comfort(), "c1")
    phone.sync(late)
    done = satellite.relay()
    assert (done.lines, done.repeats, done.refused) == (1, 0, [])
    assert held_to_the_end(satellite, late)
    assert told_of(satellite.hospital) == [(2, "too_large")]


def test_a_refused_line_that_the_hub_has_erased_holds_up_nothing(
    satellite: Satellite, tmp_path: Path
) -> None:
    phone = satellite.phone
    phone.sync(phone.first_line())
    a_case(phone, "c1")
    satellite.relay()
    bad = phone.write(comfort(), "c1")
    phone.sync(bad.raw.replace(b'"score":2', b'"score":3'))
    erase_at(satellite.settings.database, "c1")
    later = phone.write(comfort(), "c2")
    phone.sync(later)
    assert satellite.relay().lines == 1
    assert held_to_the_end(satellite, later)
    assert stubs_in_export(satellite.hospital, tmp_path) == [
        (bad.envelope.seq, bad.envelope_sha256, "body_hash")
    ]


def test_a_sound_copy_takes_its_place(satellite: Satellite) -> None:
    phone, hospital = satellite.phone, satellite.hospital
    first, large, later = phone.first_line(), *[phone.write(comfort(n), "c1") for n in range(2)]
    phone.sync(first, large.raw + b" " * 20_000, later)
    satellite.relay()
    phone.client = hospital.client
    assert phone.enrol(hospital.code("lighthouse")).status_code == 200
    assert [line["status"] for line in phone.sync(large)["lines"]] == ["stored"]
    assert satellite.at_hospital() == [line.raw for line in (first, large, later)]
    assert told_of(hospital) == []


def carried(house: House, hub: Hub, phone: Phone, *raws: bytes, stubs: list[StubWord]) -> Any:
    answer = hub.carry(house.client, hub.parcel(phone, "lighthouse", *raws, stubs=stubs))
    return answer.json()


def word(hub: Hub, phone: Phone, line: Line, **changes: Any) -> StubWord:
    plain = StubWord(
        seq=line.envelope.seq,
        envelope_sha256=line.envelope_sha256,
        prev=line.envelope.prev,
        code="too_large",
        signature="",
    )
    said = replace(plain, **changes)
    return replace(said, signature=sign(hub.key, stub_text(phone.device, said)))


def test_only_the_hub_itself_may_say_so(house: House) -> None:
    hub, stranger, phone = Hub(), Hub(), Phone(house.client)
    hub.approve(house.settings)
    lines = [phone.first_line(), *[phone.write(opened(), f"c{n}") for n in range(2)]]
    ends = [lines[0].raw, lines[2].raw]
    honest = word(hub, phone, lines[1])
    for forged in (
        word(stranger, phone, lines[1]),
        word(hub, Phone(house.client), lines[1]),
        replace(honest, seq=3),
        replace(honest, code="fork"),
        replace(honest, prev=None),
        replace(honest, envelope_sha256="é" * 64),
    ):
        for raws in (ends, []):
            assert carried(house, hub, phone, *raws, stubs=[forged])["code"] == "bad_signature"
    said = carried(house, hub, phone, *ends, stubs=[honest])
    assert ([line["status"] for line in said["lines"]], said["receipt"]["seq"]) == (["stored"] * 2, 3)


def test_what_stands_is_not_refused_by_a_hubs_word(house: House) -> None:
    hub, phone = Hub(), Phone(house.client)
    hub.approve(house.settings)
    lines = [phone.first_line(), *[phone.write(opened(), f"c{n}") for n in range(2)]]
    raws = [line.raw for line in lines]
    carried(house, hub, phone, *raws, stubs=[])
    stubs = [word(hub, phone, line) for line in lines]
    # nor is what is no place in the chain, or no hash
    stubs += [word(hub, phone, lines[1], seq=seq) for seq in (0, 9, 2**60)]
    stubs += [word(hub, phone, lines[1], envelope_sha256="x"), word(hub, phone, lines[1], prev="x")]
    said = carried(house, hub, phone, *raws, stubs=stubs)
    assert [line["status"] for line in said["lines"]] == ["repeat"] * 3
    assert told_of(house) == []
    other = Phone(house.client)
    raw = other.first_line().raw
    said = carried(house, hub, other, raw, stubs=[word(hub, other, lines[1], seq=1, code="a newer code")])
    assert ([line["status"] for line in said["lines"]], said["receipt"]["seq"]) == (["stored"], 1)
