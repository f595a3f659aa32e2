"""What a body, an address or a header can hold to do harm: each is refused in our own shape, or taken as the
plain text that it is; never a failure inside, and nothing half kept."""

import gzip
import json
import resource
import time
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import NDJSON, Phone, comfort, near_miss, opened
from hub_calling import Hub

from chinrest.log.signing import new_key, public_of
from chinrest.server.inflate import SYNC_LIMIT_BYTES
from chinrest.store.devices import LONGEST_LABEL

JSON = {"Content-Type": "application/json", **OWN_PAGE}
# Unicode's own traps: bidirectional controls (Unicode Technical Report 36), non-characters, combining runs,
# a byte order mark, tags, the replacement character, line separators, an emoji of several code points
ODD = [
    "\u202ecod.exe\u202c",
    "\u2066isolate\u2069",
    "\ufffe\uffff",
    "e" + "\u0301" * 200,
    "\ufeffmark",
    "\U000e0041\U000e0042",
    "\u2028\u2029",
    "\U0001f469\u200d\U0001f52c",
    "\x07\x1b[31mred",
    "%00%2e%2e",
    "'; DROP TABLE lines; --",
    "%_\\",
    "${jndi:ldap://x}{{7*7}}",
    "../../etc/passwd",
]


def sound(answer: Any) -> Any:
    """Refused in our shape, or taken."""
    assert answer.status_code < 500, answer.text
    if answer.status_code >= 400:
        assert set(answer.json()) == {"code", "where", "why"}, answer.text
    return answer


def refused(answer: Any, status: int = 400) -> str:
    assert sound(answer).status_code == status, answer.text
    code: str = answer.json()["code"]
    return code


# name -> a body for an address that takes JSON
BROKEN: dict[str, bytes] = {
    "nothing": b"",
    "a space": b" ",
    "null": b"null",
    "a list": b"[]",
    "a number": b"1e999",
    "a text": b'"x"',
    "cut": b'{"site": "harbour", "la',
    "two": b'{"site": "harbour", "label": "x"}{"site": "harbour", "label": "x"}',
    "deep lists": b"[" * 30_000 + b"]" * 30_000,
    "deep objects": b'{"a":' * 9_000 + b"1" + b"}" * 9_000,
    "deep in a field": b'{"site": "harbour", "label": ' + b"[" * 30_000 + b"]" * 30_000 + b"}",
    "deep in an unknown field": b'{"site": "a", "label": "x", "z": ' + b"[" * 30_000 + b"]" * 30_000 + b"}",
    "UTF-16": '{"site": "harbour", "label": "x"}'.encode("utf-16"),
    "UTF-32": '{"site": "harbour", "label": "x"}'.encode("utf-32"),
    "Latin-1": b'{"site": "harbour", "label": "\xe9"}',
    "overlong": b'{"site": "harbour", "label": "\xc0\xaf"}',
    "a surrogate as UTF-8": b'{"site": "harbour", "label": "\xed\xa0\x80"}',
    "half a surrogate": b'{"site": "harbour", "label": "\\ud83d"}',
    "NUL raw": b'{"site": "harbour", "label": "a\x00b"}',
    "NUL escaped": b'{"site": "harbour", "label": "a\\u0000b"}',
    "NUL in a name": b'{"site": "harbour", "label": "x", "a\\u0000": 1}',
    "NaN": b'{"site": "harbour", "label": NaN}',
    "a mark first": b'\xef\xbb\xbf{"site": "harbour", "label": "x"}',
    "a gzip of it": gzip.compress(b'{"site": "harbour", "label": "x"}'),
    "wrong kinds": b'{"site": {"$gt": ""}, "label": true}',
    "too large": b" " * 70_000 + b"{}",
}


@pytest.mark.parametrize("kind", sorted(BROKEN))
def test_a_broken_body_is_the_senders_fault(house: House, kind: str) -> None:
    for path in (
        "/api/enrolment-codes",
        "/api/devices/x/withdraw",
        "/api/packs",
        "/api/plans",
        "/api/session",
    ):
        for headers in ({}, {"Content-Encoding": "gzip"}, {"Transfer-Encoding": "chunked"}):
            sent = {**JSON, **headers}
            content: Any = iter([BROKEN[kind]]) if "Transfer-Encoding" in headers else BROKEN[kind]
            answer = sound(house.as_lead().post(path, content=content, headers=sent))
            assert answer.status_code in (400, 413), (path, headers, answer.status_code, answer.text)


def test_many_fields_and_the_same_field_twice(house: House) -> None:
    many = {f"field{number}": number for number in range(4000)}
    body = {"site": "harbour", "label": "x", **many}
    assert sound(house.as_lead().post("/api/enrolment-codes", json=body, headers=OWN_PAGE))
    twice = b'{"site": "harbour", "site": "nowhere", "label": "x"}'
    assert refused(house.as_lead().post("/api/enrolment-codes", content=twice, headers=JSON), 404)


@pytest.mark.parametrize("text", ODD)
def test_odd_text_is_kept_as_it_is_or_refused(house: House, text: str) -> None:
    """As a phone's name, in a reason, in a note, in a search, in an address."""
    lead = house.as_lead()
    phone = Phone(house.client)
    code = house.code()
    answer = sound(phone.enrol(code, text))
    if answer.status_code == 200:
        rows = house.as_lead().get("/api/devices").json()
        assert text.strip() in [row["label"] for row in rows]
        case = "case-1"
        event = phone.write(near_miss(text), case)
        said = phone.sync(phone.first_line(), phone.write(opened(text), case), event)
        assert said["receipt"] or said["lines"]
        house.as_lead().post(f"/api/devices/{phone.device}/withdraw", json={"why": text}, headers=OWN_PAGE)
    lead = house.as_lead()
    sound(lead.get("/api/incidents", params={"q": text, "site": text, "what": text}))
    sound(lead.get("/api/refused-lines", params={"device": text}))
    sound(lead.get("/api/export/incidents.csv", params={"q": text}))
    sound(lead.get("/api/export/incidents.fhir.json", params={"q": text}))
    sound(lead.get("/api/rates", params={"of": "near_miss", "site": text}))


@pytest.mark.parametrize("name", ["q", "site", "what", "since", "until"])
def test_a_nul_in_a_question_is_refused(house: House, name: str) -> None:
    """Some databases take no text with a NUL in it: it must not get that far."""
    for path in ("incidents", "incident-counts", "period-report", "export/incidents.csv"):
        refused(house.as_officer().get(f"/api/{path}?{name}=a%00b"))


@pytest.mark.parametrize(
    "path",
    [
        "/api/cases/a%00b",
        "/api/incidents/a%00b",
        "/api/packs/%00",
        "/api/cases/%ff%fe",
        "/api/cases/%ed%a0%80",
        "/api/cases/..%2f..%2fincidents",
        "/api/cases/%2e%2e",
        "/api/cases/" + "x" * 5000,
        "/api/incidents/" + "%2f" * 50,
        "/api//incidents",
        "/api/incidents/",
        "/api/incidents;x",
        "/api/%69ncidents%00",
    ],
)
def test_an_odd_address_of_the_interface(house: House, path: str) -> None:
    answer = sound(house.as_officer().get(path))
    assert answer.status_code in (200, 400, 404), answer.text
    if "%00" in path:
        assert answer.status_code in (400, 404)


TRICKS = [
    "../pyproject.toml",
    "..%2fpyproject.toml",
    "%2e%2e/pyproject.toml",
    "%2e%2e%2fpyproject.toml",
    "..%5cpyproject.toml",
    "..\\pyproject.toml",
    "%252e%252e%252fpyproject.toml",
    "%c0%ae%c0%ae/pyproject.toml",
    "....//pyproject.toml",
    "..;/pyproject.toml",
    "%2fetc%2fpasswd",
    "//etc/passwd",
    "/etc/passwd",
    "%00",
    "index.html%00.js",
    "x" * 4000,
    "%2e",
    "%2e%2e",
    ".",
    "C:%5cwindows%5cwin.ini",
    "file:%2f%2f%2fetc%2fpasswd",
    "..%2f..%2f..%2f..%2f..%2f..%2fetc%2fpasswd",
    "../index.html%3f.js",
    "%ef%bc%8e%ef%bc%8e%ef%bc%8fpyproject.toml",
    "icons",
    "assets",
]


@pytest.mark.parametrize("trick", TRICKS)
def test_no_file_outside_the_pages_is_given(house: House, trick: str) -> None:
    for folder in ("/", "/assets/", "/icons/", "/assets/x/"):
        for headers in ({}, {"Accept-Encoding": "gzip"}):
            answer = sound(house.as_nobody().get(folder + trick, headers=headers))
            text = answer.text
            assert answer.status_code in (400, 404) or "<title>Chinrest" in text, (folder, text[:200])
            assert "root:" not in text
            assert "[project]" not in text


def test_a_gzip_bomb_costs_neither_memory_nor_time(house: House) -> None:
    """300 MB in 300 kB, at both addresses that unpack; and one packed again."""
    phone, hub = house.phone(), Hub()
    hub.approve(house.settings)
    bomb = gzip.compress(b"0" * 300_000_000)
    before, began = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.monotonic()
    assert refused(phone.post(bomb), 413) == "too_large"
    assert refused(phone.post(gzip.compress(bomb)), 400)
    # behind a small first member, which is how a phone packs its header
    assert refused(phone.post(gzip.compress(phone.body()) + bomb), 413) == "too_large"
    headers = {"Content-Type": NDJSON, "Content-Encoding": "gzip"}
    assert refused(house.client.post("/api/relay", content=bomb, headers=headers), 413) == "too_large"
    grown_mb = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    assert grown_mb < 100, f"{grown_mb:.0f} MB more"
    assert time.monotonic() - began < 10


def test_two_packed_parts_are_one_body_and_more_are_refused(house: House) -> None:
    """Several members in one stream are legal gzip (RFC 1952, section 2.2): a phone sends its header and its
    lines as one each. Thousands of empty ones would take long, and each with a limit of its own is none."""
    phone = house.phone()
    good = phone.body(phone.first_line())
    header, feed, lines = good.partition(b"\n")
    first, second = gzip.compress(header + feed), gzip.compress(lines)
    empty = gzip.compress(b"")
    for parts in ([first, second, empty], [empty, first, second], [first] + [empty] * 5000):
        assert refused(phone.post(b"".join(parts))) == "bad_gzip"
    for damaged in (second[:-9], second[:9], second[:-8] + bytes(8), b"\x00" * 20, b"\x1f"):
        assert refused(phone.post(first + damaged)) == "bad_gzip"
    together = SYNC_LIMIT_BYTES - len(header + feed) + 1
    assert refused(phone.post(first + gzip.compress(b"0" * together)), 413) == "too_large"
    assert phone.sync()["holds"] == []
    assert sound(phone.post(first + second)).json()["holds"] == [[1, 1]]


NUMBERS = [-1, 2**53, 2**63 - 1, 2**63, 2**64, 10**400, 1.5, -0.0, 1e308, True, None, "1", [], {}]


@pytest.mark.parametrize("field", ["head_seq", "waiting", "now", "cursor"])
def test_numbers_out_of_range_in_a_sync(house: House, field: str) -> None:
    phone = house.phone()
    header = json.loads(phone.body().split(b"\n")[0])
    for value in NUMBERS:
        body = json.dumps({**header, field: value}).encode() + b"\n"
        sound(phone.post(gzip.compress(body)))
    assert phone.sync()["holds"] == []


@pytest.mark.parametrize("field", ["device", "head_sha256", "signature", "app", "epoch"])
def test_odd_text_in_a_syncs_header(house: House, field: str) -> None:
    phone = house.phone()
    header = json.loads(phone.body().split(b"\n")[0])
    for value in [*ODD, "", "a\x00b", "\ud83d", "x" * 100_000]:
        body = json.dumps({**header, field: value}).encode() + b"\n"
        sound(phone.post(gzip.compress(body)))
    assert phone.sync()["holds"] == []


@pytest.mark.parametrize("field", ["now", "enrolled_at", "head_seq"])
def test_numbers_out_of_range_in_a_relay(house: House, field: str) -> None:
    hub = Hub()
    hub.approve(house.settings)
    for value in [-1, 2**53, 2**63 - 1, 2**63, 2**64 - 1]:
        phone = Phone(house.client)
        body = hub.parcel(phone, "harbour", phone.first_line().raw, **{field: value})
        sound(hub.carry(house.client, body))
    sound(house.as_lead().get("/api/devices"))
    assert house.as_lead().get("/api/devices").status_code == 200


@pytest.mark.parametrize("field", ["device", "label", "site"])
def test_odd_text_in_a_relays_header(house: House, field: str) -> None:
    hub = Hub()
    hub.approve(house.settings)
    for value in [*ODD, "", "a\x00b", "x" * 100_000]:
        phone = Phone(house.client)
        sound(hub.carry(house.client, hub.parcel(phone, "harbour", **{field: value})))
        if field == "device" or (field == "label" and (value in ("", "a\x00b") or len(value) > 1000)):
            said = hub.carry(house.client, hub.parcel(phone, "harbour", **{field: value}))
            assert said.status_code in (400, 403), (field, value[:50], said.text)
    rows = house.as_lead().get("/api/devices").json()
    assert all(0 < len(row["label"]) <= LONGEST_LABEL for row in rows)


# ids of other sites' devices
def test_a_phone_cannot_write_or_read_as_another_sites(house: House) -> None:
    mine, other = house.phone("harbour"), house.phone("lighthouse")
    theirs = [other.first_line(), other.write(opened(), "their-case")]
    said = mine.post(gzip.compress(mine.body(*theirs, device=other.device)))
    assert refused(said, 403) == "wrong_device"
    answers = mine.sync(mine.first_line(), *theirs)["lines"]
    assert [line["status"] for line in answers[1:]] == ["refused", "refused"], answers
    assert other.sync()["holds"] == []
    said = other.sync(*theirs)
    assert [line["status"] for line in said["lines"]] == ["stored", "stored"]
    pulled = mine.sync(cursor=0, epoch=said["epoch"])["pulled"]
    assert not [line for line in pulled if "their-case" in line]


def test_a_code_of_one_site_does_not_take_over_anothers_phone(house: House) -> None:
    theirs = house.phone("lighthouse")
    thief = Phone(house.client)
    thief.device = theirs.device
    assert refused(thief.enrol(house.code("harbour")), 409) == "device_taken"
    assert theirs.sync(theirs.first_line())["holds"] == [[1, 1]]


def test_a_hub_cannot_carry_for_a_phone_that_it_is_not(house: House) -> None:
    """Neither with a key of its own for a known phone, nor by moving that phone to another site."""
    hub, phone = Hub(), house.phone("lighthouse")
    hub.approve(house.settings)
    first = phone.first_line()
    stranger = new_key()
    forged = hub.parcel(phone, "lighthouse", first.raw, signer=stranger, public_key=public_of(stranger))
    assert refused(hub.carry(house.client, forged), 409) == "device_taken"
    assert refused(hub.carry(house.client, hub.parcel(phone, "lighthouse", first.raw, signer=stranger)), 403)
    moved = hub.parcel(phone, "harbour", first.raw)
    assert sound(hub.carry(house.client, moved)).status_code == 200
    (row,) = [row for row in house.as_lead().get("/api/devices").json() if row["id"] == phone.device]
    assert row["site"] == "lighthouse"


def test_a_hub_cannot_write_as_the_server_itself(house: House) -> None:
    """The server's own lines have a device of their own; a parcel in its name is none of ours."""
    hub, phone = Hub(), Phone(house.client)
    hub.approve(house.settings)
    server = house.client.get("/api/health").json()["server"]
    house.phone().sync()
    said = hub.carry(house.client, hub.parcel(phone, "harbour", phone.first_line().raw, device=server))
    sound(said)
    assert said.status_code >= 400 or {line["status"] for line in said.json()["lines"]} == {"refused"}


def test_lines_full_of_odd_things_come_out_as_they_went_in(house: House) -> None:
    phone = house.phone()
    lines = [phone.first_line(), phone.write(opened(), "c1")]
    lines += [phone.write(near_miss(text), "c1") for text in [*ODD, "a\x00b", "x" * 10_000]]
    lines.append(phone.write(comfort(), "c1"))
    said = phone.sync(*lines)
    assert {line["status"] for line in said["lines"]} == {"stored"}
    other = house.phone()
    pulled = other.sync(cursor=0, epoch=said["epoch"])["pulled"]
    assert [line.raw.decode() for line in lines[1:]] == [line for line in pulled if '"c1"' in line]
    sound(house.as_officer().get("/api/cases/c1"))
    sound(house.as_officer().get("/api/incidents"))
    sound(house.as_officer().get("/api/export/incidents.csv"))
    sound(house.as_officer().get("/api/export/incidents.fhir.json"))
