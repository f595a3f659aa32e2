"""A phone that nobody has unlocked: what it sends sealed is stored as if it had been sent plain, and its own
data key comes back to it alone."""

import base64
import gzip
import json
import uuid
from typing import Any

import msgspec
import pytest
from callers import House
from carried_file import carried_file
from carrying import Phone, comfort, near_miss, opened
from phone_lock import ask_lock
from test_server_relay import Satellite, a_day, satellite

from chinrest.log.carried import CarryingKey, is_carrying_key
from chinrest.log.line import Line
from chinrest.log.sealing import seal
from chinrest.log.signing import new_key, public_of
from chinrest.server.locked import ESCROW_INFO, LINE_INFO

__all__ = ["satellite"]

DATA_KEY = base64.b64encode(bytes(range(32))).decode()


def seal_key(phone: Phone) -> CarryingKey:
    answer = phone.client.get("/api/seal-key", headers=phone.bearer)
    assert answer.status_code == 200, answer.text
    return msgspec.json.decode(answer.content, type=CarryingKey)


def sealed(key: str, line: Line, info: bytes = LINE_INFO) -> bytes:
    return base64.b64encode(seal(key, info, line.raw))


def sealed_body(phone: Phone, key: str, *lines: Line, **header: Any) -> bytes:
    """As `Phone.body`: the head and its signature are of the lines as they are, before they were sealed."""
    head, *_ = phone.body(*lines, sealed=True, **header).split(b"\n")
    return b"".join(row + b"\n" for row in (head, *(sealed(key, line) for line in lines)))


def stored(house: House, device: str) -> list[bytes]:
    """The lines of the export: its other rows have no tab."""
    rows = house.as_lead().get("/api/export/lines").content.splitlines()
    return [row for row in rows if b"\t" in row and json.loads(row.split(b"\t")[0])["device"] == device]


def test_sealed_lines_are_stored_byte_for_byte(house: House) -> None:
    phone, case = house.phone(), str(uuid.uuid4())
    lines = [phone.first_line(), phone.write(opened(), case), phone.write(near_miss("faint 漢"), case)]
    answer = phone.post(gzip.compress(sealed_body(phone, seal_key(phone).key, *lines)))
    assert answer.status_code == 200, answer.text
    assert [(line["seq"], line["status"]) for line in answer.json()["lines"]] == [
        (1, "stored"),
        (2, "stored"),
        (3, "stored"),
    ]
    assert stored(house, phone.device) == [line.raw for line in lines]
    # plain afterwards, as an unlocked phone whose answer was lost would
    assert {line["status"] for line in phone.sync(*lines)["lines"]} == {"repeat"}


def test_nothing_is_given_to_a_locked_phone_and_nothing_is_passed_over(house: House) -> None:
    other, phone = house.phone(), house.phone()
    first = phone.sync(phone.first_line())
    other.sync(other.first_line(), other.write(opened(), str(uuid.uuid4())))
    body = sealed_body(phone, seal_key(phone).key, epoch=first["epoch"], cursor=first["cursor"])
    locked = phone.post(body, Content_Encoding="identity").json()
    assert (locked["pulled"], locked["more"], locked["cursor"]) == ([], False, first["cursor"])
    assert len(phone.sync(epoch=first["epoch"], cursor=locked["cursor"])["pulled"]) == 1


def damaged(rows: list[bytes], key: str, line: Line) -> dict[str, list[bytes]]:
    """Sealed rows of which the last can't be opened."""
    whole = bytearray(base64.b64decode(rows[-1]))
    whole[-1] ^= 1
    return {
        "changed": [*rows[:-1], base64.b64encode(whole)],
        "for another": [*rows[:-1], sealed(public_of(new_key()), line)],
        "for another purpose": [*rows[:-1], sealed(key, line, ESCROW_INFO)],
        "cut": [*rows[:-1], rows[-1][: len(rows[-1]) // 2 // 4 * 4]],
        "empty": [*rows[:-1], b""],
        "plain": [*rows[:-1], line.raw],
        "no text": [*rows[:-1], b"\xff\xfe\x00"],
    }


@pytest.mark.parametrize(
    "how", ["changed", "for another", "for another purpose", "cut", "empty", "plain", "no text"]
)
def test_of_a_batch_that_can_not_be_opened_whole_nothing_is_taken(house: House, how: str) -> None:
    phone = house.phone()
    lines = [phone.first_line(), phone.write(comfort(), str(uuid.uuid4()))]
    key = seal_key(phone).key
    head, *rows = sealed_body(phone, key, *lines).splitlines()
    bad = damaged(rows, key, lines[-1])[how]
    answer = phone.post(b"\n".join([head, *bad, b""]), Content_Encoding="identity")
    assert (answer.status_code, answer.json()["code"], answer.json()["where"]) == (
        400,
        "cannot_open",
        "lines[1]",
    )
    assert stored(house, phone.device) == []
    assert {line["status"] for line in phone.sync(*lines)["lines"]} == {"stored"}


def test_a_sealed_batch_is_signed_like_any_other(house: House) -> None:
    phone = house.phone()
    body = sealed_body(phone, seal_key(phone).key, phone.first_line(), signature="AAAA")
    answer = phone.post(body, Content_Encoding="identity")
    assert (answer.status_code, answer.json()["code"]) == (403, "bad_signature")
    assert stored(house, phone.device) == []


def test_a_carried_file_holds_no_lines_that_are_sealed_twice(house: House) -> None:
    phone = house.phone()
    inner = sealed_body(phone, seal_key(phone).key, phone.first_line())
    headers = {"Content-Type": "application/x-ndjson", **phone.bearer}
    answer = house.as_nobody().post("/api/carried", content=carried_file(phone, inner), headers=headers)
    assert (answer.status_code, answer.json()["where"]) == (400, "file.parts[1].header.sealed")
    assert stored(house, phone.device) == []


def test_each_server_tells_its_own_key_a_hub_as_well(satellite: Satellite) -> None:
    a_day(satellite.phone)
    satellite.relay()
    said, enrolment = seal_key(satellite.phone), satellite.phone.enrolment
    assert said.server == enrolment["server"]
    assert is_carrying_key(said, enrolment["server_key"])
    # not the hospital's, which the hub could not open
    carrying = satellite.client.get("/api/carrying-key", headers=satellite.phone.bearer).json()
    assert carrying["key"] != said.key
    answer = satellite.phone.post(
        sealed_body(satellite.phone, said.key, satellite.phone.write(comfort(), str(uuid.uuid4()))),
        Content_Encoding="identity",
    )
    assert answer.json()["lines"][0]["status"] == "stored"


# escrow
def escrow_of(phone: Phone, owner: str, info: bytes = ESCROW_INFO, key: str = "") -> str:
    text = f"{owner}\t{DATA_KEY}".encode()
    return base64.b64encode(seal(key or seal_key(phone).key, info, text)).decode()


def again(phone: Phone, code: str, escrow: str) -> Any:
    return phone.client.post("/api/enrol", json={**phone.asked(code), "escrow": escrow})


def given_back(house: House) -> list[str]:
    rows = house.as_lead().get("/api/export/lines").content.splitlines()
    told = [row.split(b"\t")[1] for row in rows if b'"type":"data_key.given_back"' in row]
    return [json.loads(body)["device"] for body in told]


def test_a_phone_gets_its_data_key_back_by_a_new_code_and_that_is_logged(house: House) -> None:
    phone = house.phone()
    assert phone.enrolment["data_key"] == ""
    answer = again(phone, house.code(), escrow_of(phone, phone.device))
    assert (answer.status_code, answer.json()["data_key"]) == (200, DATA_KEY)
    assert given_back(house) == [phone.device]


def test_without_a_code_nothing_comes_back(house: House) -> None:
    phone = house.phone()
    answer = again(phone, "AAAA-AAAA", escrow_of(phone, phone.device))
    assert (answer.status_code, DATA_KEY in answer.text) == (404, False)
    assert given_back(house) == []


def test_nobody_gets_another_phones_data_key_and_the_code_is_not_spent(house: House) -> None:
    phone, other = house.phone(), house.phone()
    code = house.code()
    bad = {
        "another's": (403, "wrong_device", escrow_of(phone, other.device)),
        "another server's": (400, "cannot_open", escrow_of(phone, phone.device, key=public_of(new_key()))),
        "a line": (400, "cannot_open", escrow_of(phone, phone.device, LINE_INFO)),
        "no base64": (400, "cannot_open", "漢!"),
    }
    for status, fault, escrow in bad.values():
        answer = again(phone, code, escrow)
        assert (answer.status_code, answer.json()["code"]) == (status, fault)
        assert (answer.json()["where"], DATA_KEY in answer.text) == ("escrow", False)
    assert given_back(house) == []
    assert again(phone, code, escrow_of(phone, phone.device)).status_code == 200


def test_what_the_phones_own_code_seals_the_server_opens(house: House) -> None:
    """The front-end sources, run by Node: lines for the server, and the escrow."""
    phone = house.phone()
    lines = [phone.first_line(), phone.write(near_miss("faint \u6f22"), str(uuid.uuid4()))]
    told = ask_lock(
        {
            "device": phone.device,
            "sealKey": seal_key(phone).key,
            "name": "AB",
            "pin": "246813",
            "lines": [
                {
                    "seq": line.envelope.seq,
                    "id": line.envelope.id,
                    "case": line.envelope.case,
                    "sha256": line.envelope_sha256,
                    "raw": line.raw.decode(),
                }
                for line in lines
            ],
        }
    )
    head = phone.body(*lines, sealed=True).split(b"\n")[0]
    rows = [head, *(row["out"].encode() for row in told["rows"]), b""]
    answer = phone.post(b"\n".join(rows), Content_Encoding="identity")
    assert [line["status"] for line in answer.json()["lines"]] == ["stored", "stored"]
    assert stored(house, phone.device) == [line.raw for line in lines]
    given = again(phone, house.code(), told["keys"]["escrow"])
    assert len(base64.b64decode(given.json()["data_key"])) == 32
