"""Lines in short form over HTTP: stored byte for byte as if they had come whole, or none of them is taken and
the phone is told to send them whole."""

import gzip
import uuid
from hashlib import sha256
from typing import Any

import pytest
from callers import House
from carried_file import carried_file
from carrying import NDJSON, Phone, comfort, opened

from chinrest.log.line import Line
from chinrest.log.signing import new_key, sign
from chinrest.server.inflate import SYNC_LIMIT_BYTES
from chinrest.server.phones import BATCH_LIMIT_LINES
from short_form import shorten

CASE = str(uuid.uuid4())


def written(phone: Phone, more: int = 3) -> list[Line]:
    lines = [phone.first_line(), phone.write(opened("HR-0042 é 眼"), CASE)]
    return [*lines, *(phone.write(comfort(n % 11), CASE) for n in range(more))]


def raws(lines: list[Line]) -> list[bytes]:
    return [line.raw for line in lines]


def short_of(lines: list[bytes]) -> list[bytes]:
    short = shorten(lines)
    assert short is not None
    return short


def body(phone: Phone, head: str, short: list[bytes], **header: Any) -> bytes:
    signed = {"head_sha256": head, "signature": sign(phone.signing_key, head), "short": True}
    return phone.body(*short, **{**signed, **header})


def post(phone: Phone, head: str, short: list[bytes], **header: Any) -> Any:
    return phone.post(gzip.compress(body(phone, head, short, **header)))


def send(phone: Phone, lines: list[Line], **header: Any) -> Any:
    answer = post(phone, lines[-1].envelope_sha256, short_of(raws(lines)), **header)
    assert answer.status_code == 200, answer.text
    return answer.json()


def pulled(house: House) -> list[bytes]:
    return [line.encode() for line in house.phone().sync()["pulled"]]


def test_every_answer_says_that_the_short_form_is_taken(house: House) -> None:
    phone = house.phone()
    assert phone.sync()["takes_short"] is True
    said = phone.sync(phone.first_line())
    assert (said["takes_short"], said["taken"], len(said["lines"])) == (True, None, 1)


def test_lines_are_kept_byte_for_byte_and_all_named_by_their_head(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    said = send(phone, lines)
    assert (said["lines"], said["taken"]) == ([], lines[-1].envelope_sha256)
    assert said["holds"] == [[1, len(lines)]]
    assert pulled(house) == raws(lines[1:])
    assert said["receipt"]["head_sha256"] == lines[-1].envelope_sha256


def test_twice_in_either_form_is_once(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    phone.sync(*lines[:3])
    assert send(phone, lines[1:])["taken"] == lines[-1].envelope_sha256
    assert send(phone, lines)["taken"] == lines[-1].envelope_sha256
    again = phone.sync(*lines)
    assert {line["status"] for line in again["lines"]} == {"repeat"}
    assert again["holds"] == [[1, len(lines)]]
    assert pulled(house) == raws(lines[1:])


def test_what_waits_for_its_predecessor_is_taken_too(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    said = send(phone, lines[2:])
    assert said["taken"] == lines[-1].envelope_sha256
    assert said["receipt"] is None
    assert send(phone, lines[:2])["holds"] == [[1, len(lines)]]


def test_where_one_is_refused_each_is_named(house: House) -> None:
    phone = house.phone()
    *sound, last = written(phone)
    # a name that is none, in the last line, so that nothing after it hangs on its hash
    envelope = last.envelope_bytes.replace(b'"actor":"AB"', b'"actor":""')
    short = short_of([*raws(sound), envelope + b"\t" + last.body_bytes])
    said = post(phone, sha256(envelope).hexdigest(), short).json()
    assert said["taken"] is None
    assert [(line["id"], line["status"], line["code"]) for line in said["lines"]] == [
        *((line.envelope.id, "stored", None) for line in sound),
        (last.envelope.id, "refused", "malformed"),
    ]


def test_a_line_damaged_on_the_phone_is_refused_by_itself_once_it_comes_whole(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    head = lines[-1].envelope_sha256
    damaged = [*raws(lines[:2]), lines[2].raw.replace(b'"score":0', b'"score":1'), *raws(lines[3:])]
    answer = post(phone, head, short_of(damaged))
    assert answer.status_code == 400
    assert (answer.json()["code"], answer.json()["where"]) == ("not_short", "header.head_sha256")
    assert phone.sync()["holds"] == []
    said = phone.sync(*damaged)
    assert [(line["status"], line["code"]) for line in said["lines"]] == [
        ("stored", None), ("stored", None), ("refused", "body_hash"), ("stored", None), ("stored", None),
    ]  # fmt: skip


def test_the_head_is_signed_as_ever(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    head = lines[-1].envelope_sha256
    forged = post(phone, head, short_of(raws(lines)), signature=sign(new_key(), head))
    assert (forged.status_code, forged.json()["code"]) == (403, "bad_signature")
    assert phone.sync()["holds"] == []


def test_another_devices_lines_are_not_taken_for_its_own(house: House) -> None:
    phone, other = house.phone(), house.phone()
    said = send(phone, written(other))
    assert {line["code"] for line in said["lines"]} == {"wrong_device"}
    assert said["holds"] == []


@pytest.mark.parametrize(
    "field", [b'"seq":9', b'"prev":"%b"' % (b"0" * 64), b'"body_sha256":"%b"' % (b"0" * 64)]
)
def test_a_field_given_twice_is_read_as_in_a_whole_line(house: House, field: bytes) -> None:
    """What is put back is the very line: the answer is the same, whatever it makes of such a line."""
    answers = []
    for short in (True, False):
        phone = house.phone()
        first, second = phone.first_line().raw, phone.write(comfort(), CASE).raw
        odd = second.replace(b'"at":', field + b',"at":', 1)
        head = sha256(odd.partition(b"\t")[0]).hexdigest()
        prefix = len(second) - len(short_of([first, second])[1])
        cut = odd[7:43] + odd[prefix + 36 :]
        said = post(phone, head, [first, cut]).json() if short else phone.sync(first, odd)
        refused = [(line["code"], line["reason"]) for line in said["lines"] if line["status"] == "refused"]
        answers.append((said["holds"], refused))
    assert answers[0] == answers[1]
    assert answers[0][0] != []


HOSTILE: dict[str, tuple[Any, str]] = {
    "whole lines": (lambda whole, short: whole, "lines[1]"),
    "no line before": (lambda whole, short: short[1:], "lines[0]"),
    "nonsense": (lambda whole, short: [short[0], b"nonsense"], "lines[1]"),
    "an empty line": (lambda whole, short: [*short, b""], "lines[5]"),
    "no tab": (lambda whole, short: [*short[:2], short[2].replace(b"\t", b" "), *short[3:]], "lines[2]"),
    "a line left out": (lambda whole, short: [*short[:2], *short[3:]], "header.head_sha256"),
    "lines in another order": (lambda whole, short: [short[0], *short[:0:-1]], "header.head_sha256"),
    "a sequence beyond all": (
        lambda whole, short: [short[0].replace(b'"seq":1', b'"seq":' + b"9" * 300, 1), *short[1:]],
        "lines[0]",
    ),
    "not UTF-8": (lambda whole, short: [*short, b"\xff" * 50], "lines[5]"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_what_can_not_be_put_back_is_said_and_nothing_is_kept(house: House, what: str) -> None:
    spoil, where = HOSTILE[what]
    phone = house.phone()
    lines = written(phone)
    sent = spoil(raws(lines), short_of(raws(lines)))
    answer = post(phone, lines[-1].envelope_sha256, sent)
    assert (answer.status_code, answer.json()["code"], answer.json()["where"]) == (400, "not_short", where)
    assert answer.json()["why"]
    assert phone.sync()["holds"] == []
    assert send(phone, lines)["holds"] == [[1, len(lines)]]


def test_sealed_lines_have_no_short_form(house: House) -> None:
    phone = house.phone()
    lines = written(phone)
    answer = post(phone, lines[-1].envelope_sha256, short_of(raws(lines)), sealed=True)
    assert (answer.status_code, answer.json()["where"]) == (400, "header.short")


def test_no_more_is_put_back_than_is_taken_whole(house: House) -> None:
    phone = house.phone()
    line = phone.first_line().raw
    short = [line, *[b"0" * 36 + b"\t" for _ in range(BATCH_LIMIT_LINES - 1)]]
    assert sum(map(len, short)) < SYNC_LIMIT_BYTES / 4
    answer = post(phone, "0" * 64, short)
    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


def test_a_carried_file_holds_whole_lines(house: House) -> None:
    phone, carrier = house.phone(), house.phone()
    lines = written(phone)
    file = carried_file(phone, body(phone, lines[-1].envelope_sha256, short_of(raws(lines))))
    headers = {"Content-Type": NDJSON, **carrier.bearer}
    answer = house.as_nobody().post("/api/carried", content=file, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (400, "damaged")
    assert answer.json()["where"] == "file.parts[1].header.short"
    assert phone.sync()["holds"] == []


def test_an_empty_batch_may_say_that_it_is_short(house: House) -> None:
    answer = house.phone().sync(short=True)
    assert (answer["taken"], answer["lines"]) == (None, [])
