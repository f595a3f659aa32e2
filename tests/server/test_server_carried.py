"""Lines that come by file: taken once, as a sync would take them; whatever was done to the file is said, and
nothing of it is taken then."""

import asyncio
import json
import sqlite3
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import pytest
from callers import OWN_PAGE, House
from carried_file import carried_file, rows_of
from carrying import NDJSON, Phone, comfort, near_miss, opened
from click.testing import CliRunner
from litestar.testing import TestClient

from chinrest.cli import main
from chinrest.log.carried import carrying_key_text
from chinrest.log.line import Line
from chinrest.log.signing import is_signed, new_key, public_of
from chinrest.server.app import create_app
from chinrest.server.context import now_ms
from chinrest.server.settings import Settings
from chinrest.store import Store

BASE64 = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
CASE = "7f0c1b9e-0a3e-4f7b-9a51-6d2f9f3b1c11"


def written(phone: Phone) -> list[Line]:
    lines = [phone.first_line(), phone.write(opened(), CASE)]
    lines += [phone.write(comfort(n), CASE) for n in range(4)]
    return [*lines, phone.write(near_miss(), CASE)]


def bring(house: House, carrier: Phone, file: bytes) -> Any:
    headers = {"Content-Type": NDJSON, **carrier.bearer}
    return house.as_nobody().post("/api/carried", content=file, headers=headers)


def stored(house: House, device: str) -> list[bytes]:
    with closing(sqlite3.connect(house.settings.data / "chinrest.db")) as database:
        rows = database.execute(
            "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq", (device,)
        ).fetchall()
    return [bytes(envelope) + b"\t" + bytes(body) for envelope, body in rows]


@pytest.fixture
def away(house: House) -> Phone:
    """Enrolled once, and out of reach since."""
    return house.phone()


@pytest.fixture
def carrier(house: House) -> Phone:
    return house.phone("lighthouse")


def test_the_key_is_told_at_enrolment_and_when_asked_and_is_signed(house: House, away: Phone) -> None:
    told = away.enrolment["carrying_key"]
    asked = house.as_nobody().get("/api/carrying-key", headers=away.bearer).json()
    for said in (told, asked):
        text = carrying_key_text(said["server"], said["key"])
        assert is_signed(away.enrolment["server_key"], text, said["signature"])
        assert said["key"] == told["key"] != away.enrolment["server_key"]


def test_another_phone_brings_the_lines_and_the_receipts_are_the_servers(
    house: House, away: Phone, carrier: Phone
) -> None:
    lines = written(away)
    file = carried_file(away, away.body(*lines[:4]), away.body(*lines[4:]))
    assert not any(line.body_bytes in file or line.envelope_bytes in file for line in lines)
    answer = bring(house, carrier, file)
    assert answer.status_code == 200, answer.text
    said = answer.json()
    assert (said["device"], said["stored"], said["repeats"], said["refused"]) == (away.device, 7, 0, 0)
    assert stored(house, away.device) == [line.raw for line in lines]
    row, seal, raw = rows_of(said["receipts"])
    assert row["taken"] == [[1, 7]]
    assert seal["sha256"] == sha256(raw).hexdigest()
    key = away.enrolment["server_key"]
    assert is_signed(key, f"chinrest receipts {seal['sha256']}", seal["signature"])
    receipt = row["receipt"]
    assert (receipt["seq"], receipt["head_sha256"]) == (7, lines[-1].envelope_sha256)
    text = "chinrest receipt {server} {epoch} final {device} {seq} {head_sha256} {at}".format(**receipt)
    assert is_signed(key, text, receipt["signature"])
    # the site is the phone's own, whoever carried
    incidents = house.as_officer().get("/api/incidents").json()["rows"]
    assert [found["site"] for found in incidents] == ["harbour"]


def test_twice_is_once_and_a_sync_afterwards_finds_it_there(
    house: House, away: Phone, carrier: Phone
) -> None:
    lines = written(away)
    file = carried_file(away, away.body(*lines))
    assert bring(house, carrier, file).json()["stored"] == 7
    before = _kept(house)
    again = bring(house, carrier, file).json()
    assert (again["stored"], again["repeats"]) == (0, 7)
    assert rows_of(again["receipts"])[0]["taken"] == [[1, 7]]
    assert _kept(house) == before
    assert {line["status"] for line in away.sync(*lines)["lines"]} == {"repeat"}
    assert stored(house, away.device) == [line.raw for line in lines]


def _kept(house: House) -> list[Any]:
    with closing(sqlite3.connect(house.settings.data / "chinrest.db")) as database:
        return database.execute("SELECT id, position FROM lines ORDER BY id").fetchall()


def test_who_brought_it_is_a_line_of_the_servers_chain_and_the_clock_is_not_guessed(
    house: House, away: Phone, carrier: Phone
) -> None:
    lines = written(away)
    bring(house, carrier, carried_file(away, away.body(*lines, now=now_ms() - 40 * 86_400_000)))
    exported = house.as_lead().get("/api/export/lines").content.splitlines()
    noted = [row.split(b"\t")[1] for row in exported if b'"type":"lines.carried"' in row]
    assert len(noted) == 1
    assert json.loads(noted[0]).items() >= {"device": away.device, "by": carrier.device, "lines": 7}.items()
    (row,) = [row for row in house.as_lead().get("/api/devices").json() if row["id"] == away.device]
    assert (row["last_heard_at"], row["clock_offset_ms"]) == (None, None)
    with closing(sqlite3.connect(house.settings.data / "chinrest.db")) as database:
        offsets = database.execute("SELECT DISTINCT offset_ms FROM lines WHERE device = ?", (away.device,))
        assert offsets.fetchall() == [(None,)]


@pytest.mark.parametrize("who", ["officer", "lead"])
def test_the_desk_takes_a_file_in(house: House, away: Phone, who: str) -> None:
    file = carried_file(away, away.body(*written(away)))
    client = house.as_officer() if who == "officer" else house.as_lead()
    refused = client.post("/api/carried", content=file, headers={"Content-Type": NDJSON})
    assert (refused.status_code, refused.json()["code"]) == (403, "not_own_page")
    answer = client.post("/api/carried", content=file, headers={"Content-Type": NDJSON, **OWN_PAGE})
    assert answer.json()["stored"] == 7


def test_a_file_that_went_by_mail_is_taken(house: House, away: Phone, carrier: Phone) -> None:
    file = carried_file(away, away.body(*written(away))).replace(b"\n", b"\r\n") + b"\r\n"
    assert bring(house, carrier, file).json()["stored"] == 7


def test_one_that_could_not_be_packed_is_taken(house: House, away: Phone, carrier: Phone) -> None:
    file = carried_file(away, away.body(*written(away)), packing="")
    assert bring(house, carrier, file).json()["stored"] == 7


def _flipped(file: bytes, row: int, at: int) -> bytes:
    rows = file.split(b"\n")
    changed = bytearray(rows[row])
    changed[at] = ord("A") if changed[at] != ord("A") else ord("B")
    rows[row] = bytes(changed)
    return b"\n".join(rows)


def test_every_way_to_spoil_a_file_is_said_and_takes_nothing(
    house: House, away: Phone, carrier: Phone
) -> None:
    lines = written(away)
    file = carried_file(away, away.body(*lines[:4]), away.body(*lines[4:]))
    rows = file.split(b"\n")
    other = carried_file(away, away.body(*lines[:4]), away.body(*lines[4:])).split(b"\n")
    elsewhere = public_of(new_key())
    spoilt: list[tuple[bytes, set[str]]] = [
        (b"", {"not_carried"}),
        (b"a letter", {"not_carried"}),
        (b"\xff\xfe\n", {"not_carried"}),
        (b"[" * 100_000, {"not_carried"}),
        (file[: len(file) // 2], {"cut_short"}),
        (file[:-1], {"cut_short"}),
        (b"\n".join(rows[:2]) + b"\n", {"cut_short"}),
        (b"\n".join([rows[0], rows[2], rows[1], b""]), {"damaged"}),
        (b"\n".join([rows[0], rows[1], rows[1], b""]), {"damaged"}),
        (b"\n".join([rows[0], rows[1], other[2], b""]), {"damaged"}),
        (file + rows[1] + b"\n", {"damaged"}),
        (_flipped(file, 1, 60), {"damaged"}),
        (_flipped(file, 2, -8), {"damaged"}),
        (file.replace(b'"parts":2', b'"parts":1'), {"damaged"}),
        (file.replace(b'"parts":2', b'"parts":3'), {"cut_short"}),
        (file.replace(b'"parts":2', b'"parts":0'), {"damaged"}),
        (file.replace(b'"v":1', b'"v":2'), {"unknown_format"}),
        (file.replace(b'"made_at":', b'"made_at":1'), {"damaged"}),
        (file.replace(b'"gzip"', b'""'), {"damaged"}),
        (carried_file(away, away.body(*lines), server=carrier.device), {"wrong_server"}),
        (carried_file(away, away.body(*lines), public_key=elsewhere), {"wrong_server"}),
    ]
    for spoiled, codes in spoilt:
        answer = bring(house, carrier, spoiled)
        assert answer.status_code in (400, 409), spoiled[:80]
        assert answer.json()["code"] in codes, (spoiled[:120], answer.text)
        assert len(answer.json()["why"]) > 20
    assert stored(house, away.device) == []
    assert bring(house, carrier, file).json()["stored"] == 7


def test_every_single_changed_letter_of_a_small_file_is_found(
    house: House, away: Phone, carrier: Phone
) -> None:
    """Nothing of a file may be changed unseen: each letter of the header, every ninth of the rest, and the
    last letter of the sealed part to any other (in base64 some of its bits mean nothing)."""
    file = carried_file(away, away.body(away.first_line()))
    ends = file.index(b"\n")
    last = len(file.rstrip(b'"}=\n')) - 1
    changes = [(at, b"0" if file[at : at + 1] != b"0" else b"1") for at in range(ends)]
    changes += [(at, b"0" if file[at : at + 1] != b"0" else b"1") for at in range(ends + 1, len(file), 9)]
    changes += [(last, bytes([letter])) for letter in BASE64 if letter != file[last]]
    for at, letter in changes:
        changed = bytearray(file)
        changed[at : at + 1] = letter
        answer = bring(house, carrier, bytes(changed))
        assert answer.status_code in (400, 409), (at, bytes(changed[max(0, at - 20) : at + 20]))
    assert stored(house, away.device) == []


def test_what_a_sync_would_refuse_a_file_cannot_smuggle_in(house: House, away: Phone, carrier: Phone) -> None:
    lines = written(away)
    unsigned = away.body(*lines, signature=None)
    forged = away.body(*lines, signature=carrier.body(carrier.first_line()) and "AAAA")
    another = msgspec.json.decode(carrier.body().splitlines()[0])["device"]
    assert another == carrier.device
    mixed = carried_file(away, away.body(*lines[:4]), carrier.body(carrier.write(comfort())))
    bad = [
        (carried_file(away, unsigned), "bad_signature"),
        (carried_file(away, forged), "bad_signature"),
        (carried_file(away, away.body(*lines, head_sha256="0" * 64)), "bad_signature"),
        (carried_file(away, b"no header\n"), "malformed"),
        (carried_file(away, away.body(*lines)[:-1]), "cut_short"),
        (carried_file(away, b"x" * (1024 * 1024 + 1)), "too_large"),
        (mixed, "damaged"),
    ]
    for file, code in bad:
        answer = bring(house, carrier, file)
        assert (answer.status_code, answer.json()["code"]) == (400, code), answer.text
    assert stored(house, away.device) == stored(house, carrier.device) == []


def test_a_refused_line_is_named_in_the_receipts_and_not_as_taken(
    house: House, away: Phone, carrier: Phone
) -> None:
    first, second = away.first_line(), away.write(comfort())
    broken = second.raw.replace(b'"score":2', b'"score":3')
    third = away.write(comfort())
    said = bring(house, carrier, carried_file(away, away.body(first, broken, third))).json()
    assert (said["stored"], said["refused"]) == (2, 1)
    row, _, _ = rows_of(said["receipts"])
    assert row["taken"] == [[1, 1], [3, 3]]
    assert [(refusal["seq"], refusal["code"]) for refusal in row["refused"]] == [(2, "body_hash")]


def test_a_phone_that_is_withdrawn_or_unknown_is_said_and_its_file_is_good_later(
    house: House, away: Phone, carrier: Phone
) -> None:
    lines = written(away)
    file = carried_file(away, away.body(*lines))
    stranger = Phone(house.client)
    stranger.enrolment = away.enrolment
    answer = bring(house, carrier, carried_file(stranger, stranger.body(stranger.first_line())))
    assert (answer.status_code, answer.json()["code"]) == (409, "sender_unknown")
    done = house.as_lead().post(
        f"/api/devices/{away.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.status_code == 200
    answer = bring(house, carrier, file)
    assert (answer.status_code, answer.json()["code"]) == (409, "sender_withdrawn")
    assert stored(house, away.device) == []
    assert away.enrol(house.code()).status_code == 200
    assert bring(house, carrier, file).json()["stored"] == 7


def test_a_hub_says_that_it_is_none_for_it(house: House, away: Phone, carrier: Phone, tmp_path: Path) -> None:
    file = carried_file(away, away.body(*written(away)))
    hub = Settings(data=house.settings.data, kind="hub")
    with TestClient(create_app(hub)) as client:
        headers = {"Content-Type": NDJSON, **carrier.bearer}
        answer = client.post("/api/carried", content=file, headers=headers)
        assert (answer.status_code, answer.json()["code"]) == (409, "wrong_server")
        asked = client.get("/api/carrying-key", headers=carrier.bearer)
        assert (asked.status_code, asked.json()["code"]) == (404, "key_unknown")


def test_the_command_takes_a_file_and_writes_receipts_beside_it(
    house: House, away: Phone, tmp_path: Path
) -> None:
    lines = written(away)
    file = tmp_path / "lines.txt"
    file.write_bytes(carried_file(away, away.body(*lines)))
    data = ["--data", str(house.settings.data)]
    done = CliRunner().invoke(main, ["take", str(file), *data, "--json"])
    assert done.exit_code == 0, done.output
    said = json.loads(done.output)
    assert (said["stored"], said["device"]) == (7, away.device)
    row, _, _ = rows_of(Path(said["receipts"]).read_text())
    assert row["taken"] == [[1, 7]]
    again = CliRunner().invoke(main, ["take", str(file), *data])
    assert again.exit_code == 0
    assert "7 were here already" in again.output
    assert (tmp_path / "lines.txt.receipts-2.txt").is_file()
    file.write_bytes(file.read_bytes()[:-40])
    refused = CliRunner().invoke(main, ["take", str(file), *data, "--json"])
    assert refused.exit_code == 1
    assert json.loads(refused.output)["fault"]["code"] == "cut_short"
    gone = CliRunner().invoke(main, ["take", str(tmp_path / "nowhere"), *data, "--json"])
    assert json.loads(gone.output)["fault"]["code"] == "unreadable"
    assert stored(house, away.device) == [line.raw for line in lines]


def test_a_restored_server_opens_what_was_sealed_before(house: House, away: Phone, carrier: Phone) -> None:
    """The key is in the database, and so in its backup; a new epoch changes nothing of it."""

    async def renew() -> None:
        store = await Store.open(house.settings.database)
        await store.new_epoch(now_ms())
        await store.close()

    file = carried_file(away, away.body(*written(away)))
    asyncio.run(renew())
    said = bring(house, carrier, file).json()
    assert said["stored"] == 7
    assert rows_of(said["receipts"])[0]["epoch"] != away.enrolment["epoch"]
