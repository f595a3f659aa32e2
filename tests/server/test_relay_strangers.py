"""A hub believes the one server whose key it was given, and calls nothing final that is not there."""

import asyncio
import copy
import gzip
from typing import Any

import httpx
import msgspec
import pytest
from carrying import comfort, near_miss, opened
from click.testing import CliRunner
from test_server_relay import Satellite, a_day, hospital_key, refused, satellite

from chinrest.cli import main
from chinrest.log.signing import fingerprint, new_key, public_of, sign
from chinrest.server.relay_wire import RelayAnswer, RelayHeader, answer_text
from chinrest.server.wire import Recall, Receipt
from chinrest.store import Store

__all__ = ["satellite"]

PACK = "ab" * 32


class Between(httpx.AsyncBaseTransport):
    """Stands between: passes a request on, and says something else than what was answered."""

    def __init__(self, behind: Any, change: Any) -> None:
        self.behind, self.change = behind, change
        self.asked: list[bytes] = []

    async def handle_async_request(self, request: httpx.Request) -> httpx.Response:
        self.asked.append(request.content)
        said = await self.behind.handle_async_request(request)
        return httpx.Response(said.status_code, content=self.change(said.content), request=request)


def told_otherwise(satellite: Satellite, **changes: Any) -> str:
    """What the hub makes of an answer that was changed on the way."""

    def change(content: bytes) -> bytes:
        return msgspec.json.encode(
            msgspec.structs.replace(msgspec.json.decode(content, type=RelayAnswer), **changes)
        )

    real = satellite.link
    satellite.link = Between(real, change)  # type: ignore[assignment]  # a transport as well
    try:
        return refused(satellite)
    finally:
        satellite.link = real


def state(satellite: Satellite) -> tuple[Any, Any, bool]:
    said = satellite.phone.sync()
    lines = satellite.at_hospital()
    return said["final"], said["pack"], bool(lines)


def test_the_first_contact_needs_the_key(satellite: Satellite) -> None:
    a_day(satellite.phone)
    satellite.server_key = None
    assert refused(satellite) == "key_needed"
    assert satellite.link.requests == 0, "not even a device's name went over"
    satellite.server_key = fingerprint(hospital_key(satellite.hospital))
    assert satellite.relay().lines > 0
    satellite.server_key = None
    assert satellite.relay().lines == 0, "and it is known from then on"


def test_a_stranger_is_not_believed(satellite: Satellite) -> None:
    """It signs all of its words, soundly, with a key of its own."""
    lines = a_day(satellite.phone)
    device, key = satellite.phone.device, new_key()

    class Stranger(httpx.AsyncBaseTransport):
        async def handle_async_request(self, request: httpx.Request) -> httpx.Response:
            sent = gzip.decompress(request.content)
            assert b"\t" not in sent, "a line went to a stranger"
            header = msgspec.json.decode(sent.partition(b"\n")[0], type=RelayHeader)
            text = f"chinrest receipt x e final {device} 99999 {'0' * 64} 1"
            receipt = Receipt(device=device, seq=99999, head_sha256="0" * 64, at=1, signature=sign(key, text))
            answer = RelayAnswer(
                server="x",
                server_key=public_of(key),
                epoch="e",
                kind="final",
                lines=[],
                receipt=receipt,
                pack=PACK,
                recalls=[],
                withdrawn=True,
                signature="",
            )
            answer = msgspec.structs.replace(answer, signature=sign(key, answer_text(answer, header)))
            return httpx.Response(200, content=msgspec.json.encode(answer), request=request)

    real = satellite.link
    satellite.link = Stranger()  # type: ignore[assignment]  # a transport as well
    assert refused(satellite) == "wrong_key"
    satellite.link = real
    assert state(satellite) == (None, None, False)
    satellite.relay()
    satellite.link, satellite.server_key = Stranger(), None  # type: ignore[assignment]  # as above
    assert refused(satellite) == "wrong_key"
    assert satellite.phone.sync()["final"]["seq"] == len(lines)


@pytest.mark.parametrize(
    "change",
    [
        {"pack": PACK},
        {"withdrawn": True},
        {"recalls": [Recall(sha256=PACK, why="x", at=1)]},
        {"kind": "hub"},
        {"epoch": "another"},
        {"server": "another"},
        {"signature": ""},
    ],
    ids=lambda change: next(iter(change)),
)
def test_no_word_of_an_answer_can_be_changed_on_the_way(satellite: Satellite, change: dict[str, Any]) -> None:
    a_day(satellite.phone)
    assert told_otherwise(satellite, **change) == "bad_signature"
    assert state(satellite) == (None, None, False)


def test_an_earlier_answer_is_not_taken_for_this_one(satellite: Satellite) -> None:
    a_day(satellite.phone)
    kept: list[bytes] = []

    def first(content: bytes) -> bytes:
        kept.append(content)
        return kept[0]

    real = satellite.link
    satellite.link = Between(real, first)  # type: ignore[assignment]  # a transport as well
    assert refused(satellite) == "bad_signature"
    assert len(kept) == 2


def test_a_branch_that_only_the_hub_holds_is_not_final(satellite: Satellite) -> None:
    """A phone that was put back to an older state: its second branch came to the hub alone."""
    phone = satellite.phone
    phone.sync(phone.first_line(), phone.write(opened(), "c1"))
    satellite.relay()
    assert phone.sync()["final"]["seq"] == 2
    before = {**phone.__dict__, "chain": copy.deepcopy(phone.chain)}
    phone.client = satellite.hospital.client
    phone.enrol(satellite.hospital.code("lighthouse"))
    there = [phone.write(comfort(1), "c1") for _ in range(4)]
    assert all(line["status"] == "stored" for line in phone.sync(*there)["lines"])
    phone.__dict__.update(before)
    # shorter than the other branch, then as long, then longer
    here = [phone.write(near_miss("only at the hub"), "c1"), phone.write(comfort(9), "c1")]
    phone.sync(*here)
    for _ in range(3):
        done = satellite.relay()
        assert [text.partition(":")[0] for text in done.forks] == ["Room 1"]
        assert "from sequence 3 on" in done.forks[0]
        assert done.refused == []
        assert phone.sync()["final"]["seq"] == 2, "the last that both hold"
        here += [phone.write(comfort(9), "c1") for _ in range(2)]
        phone.sync(*here[-2:])
    satellite.relay()

    async def aside() -> list[bytes | None]:
        store = await Store.open(satellite.hospital.settings.database)
        try:
            return [row.raw for row in await store.refused_lines(phone.device) if row.code == "fork"]
        finally:
            await store.close()

    kept = asyncio.run(aside())
    assert {line.raw for line in here} == set(kept), "the hub's branch is kept whole for a person"
    assert [line.raw for line in there] == satellite.at_hospital()[2:]


def test_a_receipt_beyond_the_hubs_own_lines_grants_nothing(satellite: Satellite) -> None:
    phone = satellite.phone
    first = [phone.first_line(), phone.write(opened(), "c1")]
    phone.sync(*first)
    hub = (phone.client, phone.token)
    phone.client = satellite.hospital.client
    phone.enrol(satellite.hospital.code("lighthouse"))
    more = phone.write(comfort(1), "c1")
    phone.sync(*first, more)
    phone.client, phone.token = hub
    done = satellite.relay()
    assert (done.forks, done.refused, done.repeats) == ([], [], 2)
    assert phone.sync()["final"] is None
    phone.sync(more)
    satellite.relay()
    assert phone.sync()["final"]["seq"] == 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--to", "http://hospital.example"], "http only on this machine"),
        (["--to", "http://192.0.2.1:8480"], "http only on this machine"),
        (["--to", "https://hospital.example", "--server-key", "abcd"], "nor its fingerprint"),
        (["--to", "https://hospital.example"], "the first contact needs"),
    ],
)
def test_the_command_says_what_is_missing(satellite: Satellite, arguments: list[str], words: str) -> None:
    told = CliRunner().invoke(main, ["relay", *arguments, "--data", str(satellite.settings.data)])
    assert told.exit_code != 0
    assert words in " ".join(told.output.split())
