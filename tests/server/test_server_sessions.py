"""Signing in, staying signed in, signing out."""

from concurrent.futures import ThreadPoolExecutor
from http.cookies import SimpleCookie
from typing import Any

import pytest
from callers import LEAD, OFFICER, OWN_PAGE, PASSWORD, House
from litestar.testing import TestClient

from chinrest.server import guards, people
from chinrest.server.app import create_app
from chinrest.server.context import now_ms
from chinrest.server.guards import COOKIE
from chinrest.server.settings import Settings
from chinrest.server.tries import Tries


def sign_in(client: TestClient[Any], name: str = OFFICER, password: str = PASSWORD) -> Any:
    return client.post("/api/session", json={"name": name, "password": password}, headers=OWN_PAGE)


def test_in_and_out(house: House) -> None:
    client = house.as_nobody()
    answer = sign_in(client)
    assert answer.status_code == 200
    assert (answer.json()["name"], answer.json()["role"]) == (OFFICER, "officer")
    assert client.get("/api/session").json() == answer.json()
    token = client.cookies[COOKIE]
    out = client.delete("/api/session", headers=OWN_PAGE)
    assert (out.status_code, out.content) == (204, b"")
    client.cookies.clear()
    client.cookies.set(COOKIE, token)
    assert client.get("/api/session").status_code == 401, "the server must have forgotten it too"


def test_the_cookie_is_out_of_reach(house: House) -> None:
    cookie = SimpleCookie(sign_in(house.as_nobody()).headers["set-cookie"])[COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"].lower() == "strict"
    assert cookie["path"] == "/"
    assert int(cookie["max-age"]) == people.SESSION_HOURS * 3600
    assert not cookie["secure"], "over plain HTTP on loopback a secure cookie would be lost"


def test_under_tls_the_cookie_is_secure(house: House) -> None:
    settings = Settings(data=house.settings.data, tls=True)
    with TestClient(create_app(settings), base_url="https://hub.test") as client:
        assert SimpleCookie(sign_in(client).headers["set-cookie"])[COOKIE]["secure"]


def test_a_session_ends_by_itself(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    client, real = house.as_nobody(), now_ms()
    sign_in(client)
    monkeypatch.setattr(guards, "now_ms", lambda: real + people.SESSION_HOURS * 3_600_000 + 60_000)
    assert client.get("/api/session").status_code == 401


@pytest.mark.parametrize(("name", "password"), [(OFFICER, "wrong"), ("Nobody", PASSWORD), (OFFICER, "")])
def test_a_wrong_sign_in_says_the_same_for_name_and_password(house: House, name: str, password: str) -> None:
    answer = sign_in(house.as_nobody(), name, password)
    assert answer.status_code == 401
    assert answer.json() == {
        "code": "wrong_sign_in",
        "where": "password",
        "why": "no such name, or not its password",
    }
    assert "set-cookie" not in answer.headers


def test_five_failures_and_the_name_waits_but_no_other(house: House) -> None:
    client = house.as_nobody()
    for _ in range(5):
        assert sign_in(client, password="wrong").status_code == 401
    stopped = sign_in(client)
    assert (stopped.status_code, stopped.json()["code"]) == (429, "too_many_tries")
    assert 0 < int(stopped.headers["retry-after"]) <= 300
    assert sign_in(client, name=LEAD).status_code == 200


def test_tries_are_forgiven_with_time() -> None:
    now = [0.0]
    tries = Tries(2, 60, clock=lambda: now[0])
    tries.begin("a", "password")
    now[0] = 30
    tries.begin("a", "password")
    with pytest.raises(Exception, match="wait 30 s"):
        tries.begin("a", "password")
    now[0] = 60.5
    tries.begin("a", "password")
    tries.uncount("a")
    tries.begin("a", "password")
    tries.forget("a")
    tries.begin("a", "password")
    tries.begin("never failed", "password")


def test_many_at_once_are_no_way_round(house: House) -> None:
    client = house.as_nobody()
    with ThreadPoolExecutor(12) as many:
        said = list(many.map(lambda _: sign_in(client, password="wrong").status_code, range(12)))
    assert sorted(said) == [401] * 5 + [429] * 7


def test_another_way_to_type_a_name_is_no_way_round(house: House) -> None:
    client = house.as_nobody()
    wide = "".join(chr(ord(letter) + 0xFEE0) if letter != " " else letter for letter in OFFICER)
    for name in (OFFICER, OFFICER.upper(), f" {OFFICER} ", wide, OFFICER):
        assert sign_in(client, name, "wrong").status_code == 401
    assert sign_in(client).status_code == 429


def test_a_forged_cookie_opens_nothing(house: House) -> None:
    client = house.as_nobody()
    client.cookies.set(COOKIE, "x" * 43)
    assert client.get("/api/incidents").status_code == 401
