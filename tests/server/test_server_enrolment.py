"""Enrolment codes: once, for a quarter of an hour, for one phone."""

import asyncio

import pytest
from callers import OWN_PAGE, House
from carrying import Phone

from chinrest.log.signing import new_key, sign
from chinrest.server import lead, phones
from chinrest.server.context import now_ms
from chinrest.store import Store


def test_a_code_enrols_one_phone_and_only_one(house: House) -> None:
    code = house.code()
    first = Phone(house.client).enrol(code)
    assert first.status_code == 200
    said = first.json()
    assert (said["site"], said["site_name"], said["demo"]) == ("harbour", "Harbour", False)
    health = house.client.get("/api/health").json()
    assert (said["server"], said["epoch"]) == (health["server"], health["epoch"])
    # a stranger learns who the server is, and not how much is written there
    assert health.keys() == {"ok", "server", "epoch", "app"}
    second = Phone(house.client).enrol(code)
    assert (second.status_code, second.json()["code"]) == (409, "code_used")


def test_a_phone_whose_answer_was_lost_may_ask_again(house: House) -> None:
    phone, code = Phone(house.client), house.code()
    assert phone.enrol(code).status_code == 200
    lost = phone.token
    assert phone.enrol(code).status_code == 200
    assert phone.token != lost
    assert phone.sync()["holds"] == []
    phone.token = lost
    assert phone.post(b"").status_code == 401


@pytest.mark.parametrize("typed", [str.lower, lambda code: code.replace("-", " "), str.strip])
def test_a_code_may_be_typed_loosely(house: House, typed: object) -> None:
    assert callable(typed)
    assert Phone(house.client).enrol(typed(house.code())).status_code == 200


def test_a_code_runs_out_after_a_quarter_of_an_hour(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    code = house.code()
    real = now_ms()
    assert lead.CODE_LIVES_MS == 15 * 60 * 1000
    monkeypatch.setattr(phones, "now_ms", lambda: real + lead.CODE_LIVES_MS + 1000)
    answer = Phone(house.client).enrol(code)
    assert (answer.status_code, answer.json()["code"]) == (410, "code_expired")
    monkeypatch.setattr(phones, "now_ms", lambda: real + lead.CODE_LIVES_MS - 5000)
    assert Phone(house.client).enrol(code).status_code == 200


def test_the_code_and_its_link(house: House) -> None:
    made = house.as_lead().post(
        "/api/enrolment-codes", json={"site": "harbour", "label": "Room 1"}, headers=OWN_PAGE
    )
    said = made.json()
    assert said["url"] == f"http://hub.test:8480/#enrol={said['code']}"
    left, right = said["code"].split("-")
    letters = set("0123456789ABCDEFGHJKMNPQRSTVWXYZ")  # Crockford's base32
    assert len(left) == len(right) == 4
    assert set(left + right) <= letters


def test_codes_cannot_be_guessed_by_patience(house: House) -> None:
    for _ in range(20):
        assert Phone(house.client).enrol("0000-0000").status_code == 404
    answer = Phone(house.client).enrol(house.code())
    assert (answer.status_code, answer.json()["code"]) == (429, "too_many_tries")
    assert int(answer.headers["retry-after"]) > 0


def test_neither_code_nor_token_stands_in_the_database(house: House) -> None:
    code = house.code()
    phone = Phone(house.client)
    assert phone.enrol(code).status_code == 200
    house.as_officer()
    session = house.client.cookies["chinrest_session"]
    files = [path.read_bytes() for path in house.settings.data.glob("chinrest.db*")]
    assert files
    for secret in (code, code.replace("-", ""), phone.token, session):
        assert not any(secret.encode() in content for content in files), secret


def test_a_withdrawn_phone_can_enrol_anew_with_a_new_code(house: House) -> None:
    phone = house.phone()
    house.as_lead().post(f"/api/devices/{phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE)
    assert phone.post(b"").json()["code"] == "device_withdrawn"
    assert phone.enrol(house.code()).status_code == 200
    assert phone.sync()["holds"] == []


@pytest.mark.parametrize("by", ["nobody", "another key", "another code"])
def test_a_phone_that_is_known_is_enrolled_anew_by_nobody_else(house: House, by: str) -> None:
    """Its id and its public key stand in every export; only the phone has the other half."""
    phone, code = house.phone(), house.code()
    asked = phone.asked(code)
    if by == "nobody":
        del asked["proof"]
    elif by == "another key":
        asked["proof"] = sign(new_key(), f"chinrest enrol {code} {phone.device}")
    else:
        asked["proof"] = phone.asked(house.code())["proof"]
    answer = house.client.post("/api/enrol", json=asked)
    assert (answer.status_code, answer.json()["code"], answer.json()["where"]) == (403, "not_proved", "proof")
    assert phone.sync()["holds"] == []  # its token still opens
    assert phone.enrol(code).status_code == 200  # and the code was not spent


def test_a_code_made_beside_the_running_server_is_good(house: House) -> None:
    """As the command does it: by another connection to the same file."""

    async def made() -> str:
        store = await Store.open(house.settings.database)
        try:
            now = now_ms()
            return (await store.add_code("harbour", "x", now, now + 60_000)).code
        finally:
            await store.close()

    assert Phone(house.client).enrol(asyncio.run(made())).status_code == 200
