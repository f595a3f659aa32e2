"""Who may call what: every operation of the OpenAPI document, by everyone."""

from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import NDJSON, Phone

from chinrest.server.openapi import document

ANYONE = {"nobody", "phone", "withdrawn", "officer", "lead"}
STAFF = {"officer", "lead"}
SHA = "0" * 64

# (method, path) -> who may, and what to send
OPERATIONS: dict[tuple[str, str], tuple[set[str], Any]] = {
    ("get", "/api/health"): (ANYONE, None),
    ("post", "/api/enrol"): (ANYONE, {"code": "", "device": "", "public_key": "", "label": ""}),
    ("post", "/api/sync"): ({"phone"}, b""),
    ("get", "/api/packs/{sha256}"): ({"phone", "officer", "lead"}, None),
    ("post", "/api/session"): (ANYONE, {"name": "", "password": ""}),
    ("get", "/api/session"): (STAFF, None),
    ("get", "/api/incidents"): (STAFF, None),
    ("get", "/api/cases/{case}"): (STAFF, None),
    ("get", "/api/refused-lines"): (STAFF, None),
    ("get", "/api/sites"): (STAFF, None),
    ("get", "/api/devices"): (STAFF, None),
    ("post", "/api/devices/{device}/withdraw"): ({"lead"}, {"why": "lost"}),
    ("post", "/api/enrolment-codes"): ({"lead"}, {"site": "harbour", "label": "Room 1"}),
    ("get", "/api/packs"): (STAFF, None),
    ("post", "/api/packs"): ({"lead"}, {}),
    ("post", "/api/packs/{sha256}/approve"): ({"lead"}, {"sites": ["harbour"], "note": ""}),
    ("post", "/api/packs/{sha256}/recall"): ({"lead"}, {"why": "wrong margin"}),
    (
        "post",
        "/api/plans",
    ): (STAFF, {"pack": SHA, "optic": "wide", "eye": "right", "region": "posterior_pole"}),
    ("delete", "/api/session"): (ANYONE, None),  # last: the session is spent then
}
OPEN_REFUSALS = {"wrong_sign_in"}  # an answer to the sign-in itself, not to the caller


@pytest.fixture
def callers(house: House) -> dict[str, Any]:
    """Caller -> (how to become it, headers)."""
    phone, lost = house.phone(), house.phone()
    done = house.as_lead().post(
        f"/api/devices/{lost.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.status_code == 200, done.text
    return {
        "nobody": (house.as_nobody, {}),
        "phone": (house.as_nobody, phone.bearer),
        "withdrawn": (house.as_nobody, lost.bearer),
        "officer": (house.as_officer, {}),
        "lead": (house.as_lead, {}),
    }


def call(client: Any, method: str, path: str, body: Any, headers: dict[str, str]) -> Any:
    at = path.format(sha256=SHA, case="no-such-case", device="no-such-device")
    if isinstance(body, bytes):
        headers = {**headers, "Content-Type": NDJSON}
        return client.request(method.upper(), at, content=body, headers=headers)
    return client.request(method.upper(), at, json=body, headers=headers)


def test_the_table_names_every_operation() -> None:
    found = {(method, path) for path, item in document()["paths"].items() for method in item}
    assert found == set(OPERATIONS)


@pytest.mark.parametrize("who", sorted(ANYONE))
def test_only_those_who_may_come_in(callers: dict[str, Any], who: str) -> None:
    become, headers = callers[who]
    for (method, path), (allowed, body) in OPERATIONS.items():
        answer = call(become(), method, path, body, {**headers, **OWN_PAGE})
        text = f"{who} {method} {path}: {answer.status_code} {answer.text}"
        stopped = answer.status_code in (401, 403) and answer.json()["code"] not in OPEN_REFUSALS
        assert stopped == (who not in allowed), text
        if stopped:
            assert set(answer.json()) == {"code", "where", "why"}, text


def test_a_withdrawn_phone_is_told_so_and_what_to_do(callers: dict[str, Any]) -> None:
    become, headers = callers["withdrawn"]
    answer = call(become(), "post", "/api/sync", b"", headers)
    assert answer.status_code == 403
    assert answer.json()["code"] == "device_withdrawn"
    assert "keeps its log" in answer.json()["why"]


def test_an_unknown_token_is_not_enrolled(house: House) -> None:
    answer = house.client.post("/api/sync", headers={"Authorization": "Bearer nonsense"})
    assert (answer.status_code, answer.json()["code"]) == (401, "not_enrolled")


@pytest.mark.parametrize(
    ("method", "path"), [key for key, (who, _) in OPERATIONS.items() if key[0] != "get" and who <= STAFF]
)
def test_another_sites_page_can_change_nothing(house: House, method: str, path: str) -> None:
    """Without our own header even the lead's cookie opens nothing."""
    answer = call(house.as_lead(), method, path, OPERATIONS[method, path][1], {})
    assert (answer.status_code, answer.json()["code"]) == (403, "not_own_page")


def test_signing_in_and_out_needs_our_own_page(house: House) -> None:
    for method in ("POST", "DELETE"):
        answer = house.client.request(method, "/api/session", json={"name": "x", "password": "y"})
        assert (answer.status_code, answer.json()["code"]) == (403, "not_own_page")


def test_a_stranger_learns_nothing_from_a_wrong_body(house: House) -> None:
    """Rights are checked before the body is read."""
    answer = house.as_nobody().post("/api/enrolment-codes", json={"nonsense": 1}, headers=OWN_PAGE)
    assert answer.status_code == 401


def test_a_token_does_not_open_the_desk(house: House) -> None:
    phone: Phone = house.phone()
    answer = house.as_nobody().get("/api/incidents", headers=phone.bearer)
    assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")
