"""Who is told what at the door. The whole matrix of callers and operations stands in test_hostile_access."""

import pytest
from callers import OWN_PAGE, House
from carrying import Phone


@pytest.fixture
def withdrawn(house: House) -> Phone:
    phone = house.phone()
    done = house.as_lead().post(
        f"/api/devices/{phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.status_code == 200, done.text
    return phone


def test_a_withdrawn_phone_is_told_so_and_what_to_do(house: House, withdrawn: Phone) -> None:
    answer = house.as_nobody().post("/api/sync", content=b"", headers=withdrawn.bearer)
    assert answer.status_code == 403
    assert answer.json()["code"] == "device_withdrawn"
    assert "keeps its log" in answer.json()["why"]


def test_an_unknown_token_is_not_enrolled(house: House) -> None:
    answer = house.client.post("/api/sync", headers={"Authorization": "Bearer nonsense"})
    assert (answer.status_code, answer.json()["code"]) == (401, "not_enrolled")


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
