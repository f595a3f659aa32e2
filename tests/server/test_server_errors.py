"""Every failure has one shape, whatever fails and wherever: code, where, why."""

import gzip
import json
from typing import Any

import msgspec
import pytest
from callers import OWN_PAGE, House
from carrying import NDJSON, Phone

from chinrest.server.wire import Fault
from chinrest.store import Store, StoreError

JSON = {"Content-Type": "application/json"}


def fault_of(answer: Any) -> Fault:
    assert answer.status_code >= 400, answer.text
    assert answer.headers["content-type"].split(";")[0] == "application/json"
    assert set(answer.json()) == {"code", "where", "why"}, answer.text
    fault = msgspec.json.decode(answer.content, type=Fault)
    assert fault.code
    assert fault.where
    assert fault.why
    return fault


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/nothing-here", 404),
        ("GET", "/nothing/at/all", 404),
        ("GET", "/api/nothing", 404),
        ("GET", "/api/schema/nothing", 404),
        ("GET", "/assets/missing-12345678.js", 404),
        ("GET", "/assets/../../pyproject.toml", 404),
        ("GET", "/assets/%2e%2e/%2e%2e/pyproject.toml", 404),
        ("GET", "/icons/missing.png", 404),
        ("GET", "/authority.crt", 404),
        ("DELETE", "/api/health", 405),
        ("PUT", "/", 405),
        ("POST", "/", 405),
    ],
)
def test_addresses_and_methods(house: House, method: str, path: str, status: int) -> None:
    answer = house.client.request(method, path)
    assert answer.status_code == status
    fault_of(answer)


@pytest.mark.parametrize(
    ("body", "headers", "status", "code", "where"),
    [
        (b"{", JSON, 400, "malformed", "body"),
        (b"[]", JSON, 400, "invalid", "data"),
        (b"{}", JSON, 400, "invalid", None),
        (b'{"name": 3, "password": "x"}', JSON, 400, "invalid", "name"),
        (b'{"name": "\xff", "password": "x"}', JSON, 400, "malformed", "body"),
        (b'{"x": ' + b"[" * 30_000 + b"]" * 30_000 + b"}", JSON, 400, "malformed", "body"),
        (b"name=x", {"Content-Type": "application/x-www-form-urlencoded"}, 415, "wrong_media_type", None),
        (b"{}", {}, 415, "wrong_media_type", "Content-Type"),
        (b" " * 100_000, JSON, 413, "too_large", None),
    ],
)
def test_bodies(
    house: House, body: bytes, headers: dict[str, str], status: int, code: str | None, where: str | None
) -> None:
    answer = house.client.post("/api/session", content=body, headers={**headers, **OWN_PAGE})
    fault = fault_of(answer)
    assert answer.status_code == status, answer.text
    assert code in (None, fault.code), answer.text
    assert where in (None, fault.where), answer.text


@pytest.mark.parametrize(
    "query",
    [
        "kind=accident",
        "harm=huge",
        "practice=2",
        "practice=x",
        "limit=0",
        "limit=x",
        "offset=-1",
        f"offset={2**64}",
    ],
)
def test_query_values_are_refused_at_the_field(house: House, query: str) -> None:
    answer = house.as_officer().get(f"/api/incidents?{query}")
    assert answer.status_code == 400, answer.text
    assert fault_of(answer).where == query.split("=")[0]


def test_a_hash_that_is_none_is_refused_at_the_field(house: House) -> None:
    answer = house.as_lead().get("/api/packs/nonsense")
    assert answer.status_code == 400
    assert fault_of(answer).where == "sha256"


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("/api/packs/" + "0" * 64 + "/approve", {"sites": ["harbour"], "note": ""}, 404, "pack_unknown"),
        ("/api/packs/" + "0" * 64 + "/approve", {"sites": [], "note": ""}, 400, "invalid"),
        ("/api/packs/" + "0" * 64 + "/recall", {"why": "x"}, 404, "pack_unknown"),
        ("/api/packs/" + "0" * 64 + "/recall", {"why": "  "}, 400, "invalid"),
        ("/api/packs/" + "0" * 64 + "/approve", {"sites": ["harbour"], "note": "x" * 2001}, 400, "invalid"),
        ("/api/packs", {"format": 1}, 400, "bad_pack"),
        ("/api/packs", {"format": 99}, 400, "bad_pack"),
        ("/api/devices/none/withdraw", {"why": "lost"}, 404, "device_unknown"),
        ("/api/enrolment-codes", {"site": "moon", "label": "x"}, 404, "site_unknown"),
        ("/api/enrolment-codes", {"site": "harbour", "label": ""}, 400, "invalid"),
    ],
)
def test_what_a_lead_gets_wrong(house: House, path: str, body: Any, status: int, code: str) -> None:
    answer = house.as_lead().post(path, json=body, headers=OWN_PAGE)
    assert (answer.status_code, fault_of(answer).code) == (status, code), answer.text


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"device": "not-a-uuid"}, "device"),
        ({"label": ""}, "label"),
        ({"label": "x" * 81}, "label"),
        ({"public_key": "***"}, "public_key"),
        ({"public_key": "AAAA"}, "public_key"),
    ],
)
def test_a_wrong_enrolment_is_refused_at_the_field(house: House, change: dict[str, str], where: str) -> None:
    phone = Phone(house.client)
    right = {"code": house.code(), "device": phone.device, "public_key": phone.key, "label": "x"}
    answer = house.client.post("/api/enrol", json={**right, **change})
    assert answer.status_code == 400
    assert fault_of(answer).where == where


def batch(phone: Phone, kind: str) -> tuple[bytes, dict[str, str]]:
    """A broken sync body and its headers."""
    good = phone.body(phone.first_line())
    packed = gzip.compress(good)
    header = json.loads(good.split(b"\n")[0])
    table: dict[str, tuple[bytes, dict[str, str]]] = {
        "not gzip": (good, {}),
        "damaged": (packed[:20] + b"xx" + packed[22:], {}),
        "cut": (packed[:-6], {}),
        "followed": (packed + b"more", {}),
        "header not UTF-8": (gzip.compress(b'{"device": "\xff"}\n'), {}),
        "header too deep": (gzip.compress(b'{"x": ' + b"[" * 90_000 + b"]" * 90_000 + b"}\n"), {}),
        "empty": (gzip.compress(b""), {}),
        "no header": (gzip.compress(b"nonsense\n"), {}),
        "header cut": (gzip.compress(b"{}"), {}),
        "no line feed": (gzip.compress(good[:-1]), {}),
        "header of the wrong kind": (gzip.compress(json.dumps({**header, "now": "x"}).encode() + b"\n"), {}),
        "header with a negative": (gzip.compress(json.dumps({**header, "waiting": -1}).encode() + b"\n"), {}),
        "other type": (packed, {"Content_Type": "text/plain"}),
        "other encoding": (packed, {"Content_Encoding": "br"}),
        "bomb": (gzip.compress(b"0" * 300_000_000), {}),
        "many lines": (gzip.compress(good.split(b"\n")[0] + b"\n" * 4098), {}),
        "head of another time": (
            gzip.compress(json.dumps({**header, "now": 2**53 - 1}).encode() + b"\n"),
            {},
        ),
        "a novel for a name": (gzip.compress(json.dumps({**header, "app": "x" * 101}).encode() + b"\n"), {}),
        "large": (b"x" * 2_000_000, {"Content_Encoding": "identity"}),
        "other device": (gzip.compress(json.dumps({**header, "device": "x"}).encode() + b"\n"), {}),
    }
    return table[kind]


@pytest.mark.parametrize(
    ("kind", "status", "code"),
    [
        ("not gzip", 400, "bad_gzip"),
        ("damaged", 400, "bad_gzip"),
        ("cut", 400, "bad_gzip"),
        ("followed", 400, "bad_gzip"),
        ("empty", 400, "malformed"),
        ("no header", 400, "malformed"),
        ("header cut", 400, "malformed"),
        ("header not UTF-8", 400, "malformed"),
        ("header too deep", 400, "malformed"),
        ("no line feed", 400, "cut_short"),
        ("header of the wrong kind", 400, "malformed"),
        ("header with a negative", 400, "value"),
        ("other type", 415, "wrong_media_type"),
        ("other encoding", 415, "wrong_encoding"),
        ("bomb", 413, "too_large"),
        ("many lines", 413, "too_large"),
        ("head of another time", 400, "value"),
        ("a novel for a name", 400, "value"),
        ("large", 413, "too_large"),
        ("other device", 403, "wrong_device"),
    ],
)
def test_sync_bodies(house: House, kind: str, status: int, code: str) -> None:
    phone = house.phone()
    content, headers = batch(phone, kind)
    answer = phone.post(content, **headers)
    assert (answer.status_code, fault_of(answer).code) == (status, code), answer.text
    assert phone.sync()["holds"] == [], "nothing of a broken body may be kept"


def test_a_failure_inside_is_told_without_its_details(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    async def fails(_: Store) -> None:
        raise RuntimeError("a secret of the inside")

    monkeypatch.setattr(Store, "identity", fails)
    answer = house.client.get("/api/health")
    assert answer.status_code == 500
    assert fault_of(answer).code == "server_error"
    assert "secret" not in answer.text


def test_a_database_that_cannot_be_used_is_told_and_its_place_is_not(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def full(_: Store) -> None:
        raise StoreError("file", "/home/clinic/chinrest.db", "database or disk is full")

    monkeypatch.setattr(Store, "identity", full)
    answer = house.client.get("/api/health")
    assert answer.status_code == 503
    assert fault_of(answer).code == "unavailable"
    assert "disk is full" in answer.text
    assert "/home" not in answer.text


def test_content_type_of_a_sync_is_said(house: House) -> None:
    phone = house.phone()
    fault = fault_of(phone.post(b"", Content_Type="application/json"))
    assert NDJSON in fault.why
