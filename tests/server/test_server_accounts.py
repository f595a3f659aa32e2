"""The admin's people, invitations, one's own password and second factor, as they go over the wire."""

import base64
import io
import json
import logging
from typing import Any

import pytest
from callers import ADMIN, LEAD, OFFICER, OWN_PAGE, PASSWORD, House
from cryptography.hazmat.primitives.hashes import SHA1
from cryptography.hazmat.primitives.twofactor.totp import TOTP
from litestar.testing import TestClient

from chinrest.server import logs, own_account, people
from chinrest.server.accounts import INVITATION_LIVES_MS
from chinrest.server.context import now_ms
from chinrest.server.guards import COOKIE

NEW = "a newer one of the test"
STEP_MS = 30_000


def post(client: TestClient[Any], path: str, **body: Any) -> Any:
    return client.post(path, json=body, headers=OWN_PAGE)


def sign_in(house: House, name: str, password: str = PASSWORD, **more: str) -> Any:
    return post(house.as_nobody(), "/api/session", name=name, password=password, **more)


def refused(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json()["code"]


def invite(house: House, name: str = "Nia New", role: str = "officer") -> tuple[str, str]:
    """Their id, and their link's token."""
    made = post(house.as_admin(), "/api/people", name=name, role=role, site="harbour")
    assert made.status_code == 200, made.text
    origin, token = made.json()["url"].split("/desk#/invitation/")
    assert origin == house.settings.origin
    return made.json()["staff"], token


def row_of(house: House, name: str) -> dict[str, Any]:
    (row,) = [row for row in house.as_admin().get("/api/people").json() if row["name"] == name]
    found: dict[str, Any] = row
    return found


def test_from_the_invitation_to_the_first_sign_in(house: House) -> None:
    before = now_ms()
    _, token = invite(house)
    row = row_of(house, "Nia New")
    assert (row["role"], row["site"], row["joined"], row["last_sign_in_at"]) == (
        "officer",
        "harbour",
        False,
        None,
    )
    assert 0 <= row["invited_until"] - before - INVITATION_LIVES_MS < 60_000
    nobody = house.as_nobody()
    looked = post(nobody, "/api/invitations/look", token=token)
    assert looked.json() == {"name": "Nia New", "role": "officer", "expires_at": row["invited_until"]}
    assert refused(post(nobody, "/api/invitations/take", token=token, password="short")) == (
        400,
        "short_password",
    )
    taken = post(nobody, "/api/invitations/take", token=token, password=NEW)
    assert (taken.status_code, COOKIE in nobody.cookies) == (200, False)
    assert refused(post(nobody, "/api/invitations/take", token=token, password=NEW)) == (
        404,
        "invitation_unknown",
    )
    assert sign_in(house, "Nia New", NEW).json()["role"] == "officer"
    row = row_of(house, "Nia New")
    assert (row["joined"], row["invited_until"]) == (True, None)
    assert row["last_sign_in_at"] >= before


def test_an_invitation_runs_out(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    _, token = invite(house)
    real = now_ms()
    monkeypatch.setattr(own_account, "now_ms", lambda: real + INVITATION_LIVES_MS + 1000)
    nobody = house.as_nobody()
    for path, more in (("look", {}), ("take", {"password": NEW})):
        said = post(nobody, f"/api/invitations/{path}", token=token, **more)
        assert refused(said) == (410, "invitation_expired")


def test_links_cannot_be_guessed_by_patience(house: House) -> None:
    _, token = invite(house)
    nobody = house.as_nobody()
    for n in range(20):
        assert post(nobody, "/api/invitations/look", token=f"guess {n}").status_code == 404
    stopped = post(nobody, "/api/invitations/look", token=token)
    assert refused(stopped) == (429, "too_many_tries")
    assert int(stopped.headers["retry-after"]) > 0
    assert post(nobody, "/api/invitations/take", token=token, password=NEW).status_code == 429


def test_a_name_is_somebodys_once(house: House) -> None:
    said = post(house.as_admin(), "/api/people", name=OFFICER.upper(), role="lead", site=None)
    assert refused(said) == (409, "name_taken")


def test_ones_own_password(house: House) -> None:
    there = sign_in(house, OFFICER).cookies[COOKIE]
    client = house.as_officer()
    path = "/api/account/password"
    assert refused(post(client, path, old="wrong", new=NEW)) == (403, "wrong_password")
    assert refused(post(client, path, old=PASSWORD, new="short")) == (400, "short_password")
    assert post(client, path, old=PASSWORD, new=NEW).status_code == 204
    assert house.as_officer().get("/api/session").status_code == 200, "this session goes on"
    client.cookies.clear()
    client.cookies.set(COOKIE, there)
    assert client.get("/api/session").status_code == 401, "the others end"
    assert house.as_lead().get("/api/session").status_code == 200
    assert sign_in(house, OFFICER).status_code == 401
    assert sign_in(house, OFFICER, NEW).status_code == 200


def test_whoever_sits_at_an_open_desk_cannot_guess_the_password(house: House) -> None:
    client = house.as_officer()
    for _ in range(5):
        said = post(client, "/api/account/password", old="wrong", new=NEW)
        assert refused(said) == (403, "wrong_password")
    assert post(client, "/api/account/second-factor", password=PASSWORD).status_code == 429


class Authenticator:
    """Somebody's, by the registry's own TOTP; its clock can be set."""

    def __init__(self, secret: str) -> None:
        self._totp = TOTP(base64.b32decode(secret), 6, SHA1(), 30)

    def code(self, at: int) -> str:
        return self._totp.generate(at // 1000).decode()


def with_second_factor(house: House) -> tuple[Authenticator, list[str]]:
    client = house.as_officer()
    assert refused(post(client, "/api/account/second-factor", password="wrong")) == (403, "wrong_password")
    made = post(client, "/api/account/second-factor", password=PASSWORD).json()
    assert made["secret"] in made["address"]
    assert client.get("/api/account").json() == {"second_factor": False, "recovery_left": 0}
    shows = Authenticator(made["secret"])
    confirmed = post(client, "/api/account/second-factor/confirm", code=shows.code(now_ms()))
    assert confirmed.status_code == 200, confirmed.text
    codes: list[str] = confirmed.json()["codes"]
    assert client.get("/api/account").json() == {"second_factor": True, "recovery_left": len(codes)}
    return shows, codes


def test_signing_in_with_a_second_factor(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    shows, codes = with_second_factor(house)
    assert row_of(house, OFFICER)["second_factor"]
    later = now_ms() + 3 * STEP_MS
    monkeypatch.setattr(people, "now_ms", lambda: later)
    asked = sign_in(house, OFFICER)
    assert refused(asked) == (401, "code_wanted")
    assert "set-cookie" not in asked.headers
    assert refused(sign_in(house, OFFICER, "wrong", code=shows.code(later))) == (401, "wrong_sign_in")
    stale = shows.code(later - 2 * STEP_MS)
    for wrong in (stale, "x", codes[0][:-1]):
        assert refused(sign_in(house, OFFICER, code=wrong)) == (403, "wrong_code")
    assert sign_in(house, OFFICER, code=shows.code(later)).status_code == 200
    assert refused(sign_in(house, OFFICER, code=shows.code(later))) == (403, "wrong_code"), "used"
    assert sign_in(house, OFFICER, code=codes[3]).status_code == 200
    assert refused(sign_in(house, OFFICER, code=codes[3])) == (403, "wrong_code"), "used"
    assert sign_in(house, LEAD).status_code == 200, "nobody else is asked"


def test_codes_cannot_be_guessed_from_many_addresses(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten wrong ones, and that person's codes wait, wherever the next comes from."""
    shows, _ = with_second_factor(house)
    later = now_ms() + 3 * STEP_MS
    monkeypatch.setattr(people, "now_ms", lambda: later)
    monkeypatch.setattr(people, "address_of", lambda _: f"192.0.2.{next(hosts)}")
    hosts = iter(range(256))
    for _ in range(10):
        assert refused(sign_in(house, OFFICER, code="000000")) == (403, "wrong_code")
    assert refused(sign_in(house, OFFICER, code=shows.code(later))) == (429, "too_many_tries")
    assert sign_in(house, LEAD).status_code == 200


def test_asking_for_the_code_is_no_failure_and_forgives_none(house: House) -> None:
    with_second_factor(house)
    for _ in range(4):
        assert sign_in(house, OFFICER, "wrong").status_code == 401
    for _ in range(3):
        assert refused(sign_in(house, OFFICER)) == (401, "code_wanted")
    assert sign_in(house, OFFICER, "wrong").status_code == 401
    assert refused(sign_in(house, OFFICER)) == (429, "too_many_tries")


def test_turning_it_off_asks_for_both(house: House) -> None:
    _, codes = with_second_factor(house)
    client, path = house.as_officer(), "/api/account/second-factor/off"
    assert refused(post(client, path, password="wrong", code=codes[0])) == (403, "wrong_password")
    assert refused(post(client, path, password=PASSWORD, code="000000")) == (403, "wrong_code")
    assert post(client, path, password=PASSWORD, code=codes[0]).status_code == 204
    assert sign_in(house, OFFICER).status_code == 200
    again = post(house.as_officer(), path, password=PASSWORD, code="")
    assert refused(again) == (409, "second_factor_unknown")


def test_an_admin_turns_it_off_for_who_lost_everything(house: House) -> None:
    with_second_factor(house)
    path = f"/api/people/{row_of(house, OFFICER)['id']}/second-factor-off"
    assert refused(post(house.as_admin(), path, why=" ")) == (400, "invalid")
    done = post(house.as_admin(), path, why="phone lost")
    assert (done.status_code, done.json()["second_factor"]) == (200, False)
    assert sign_in(house, OFFICER).status_code == 200


def test_withdrawn_at_the_next_contact(house: House) -> None:
    officer = row_of(house, OFFICER)["id"]
    assert house.as_officer().get("/api/incidents").status_code == 200
    done = post(house.as_admin(), f"/api/people/{officer}/withdraw", why="left the house")
    assert done.json()["withdrawn_at"] >= done.json()["made_at"]
    said = house.as_officer().get("/api/incidents")
    assert refused(said) == (401, "staff_withdrawn")
    assert "admin" in said.json()["why"]
    assert refused(sign_in(house, OFFICER)) == (403, "staff_withdrawn")
    assert refused(sign_in(house, OFFICER, "wrong")) == (401, "wrong_sign_in"), "said to them alone"
    assert post(house.as_admin(), f"/api/people/{officer}/readmit", why="back").status_code == 200
    assert sign_in(house, OFFICER).status_code == 200


def test_another_role_at_the_next_contact(house: House) -> None:
    lead = row_of(house, LEAD)["id"]
    done = post(house.as_admin(), f"/api/people/{lead}", role="photographer", site="lighthouse")
    assert (done.json()["role"], done.json()["site"]) == ("photographer", "lighthouse")
    assert refused(house.as_lead().get("/api/rollout")) == (403, "lead_only")
    assert refused(house.as_lead().get("/api/incidents")) == (403, "reviewer_only")


@pytest.mark.parametrize(
    ("act", "body"),
    [
        ("", {"role": "lead", "site": None}),
        ("/withdraw", {"why": "x"}),
        ("/invitation", {"why": "x"}),
        ("/second-factor-off", {"why": "x"}),
    ],
)
def test_an_admin_does_not_act_on_themselves(house: House, act: str, body: dict[str, Any]) -> None:
    """So there is always one left."""
    own = row_of(house, ADMIN)["id"]
    assert refused(post(house.as_admin(), f"/api/people/{own}{act}", **body)) == (409, "own_account")


@pytest.mark.parametrize("act", ["", "/withdraw", "/readmit", "/invitation", "/second-factor-off"])
def test_nobody_of_that_name(house: House, act: str) -> None:
    body = {"why": "x"} if act else {"role": "lead", "site": None}
    said = post(house.as_admin(), f"/api/people/no-such-person{act}", **body)
    assert refused(said) == (404, "staff_unknown")


def test_nothing_of_it_in_the_log(house: House) -> None:
    logs.set_up("debug")
    out = io.StringIO()
    (handler,) = logging.getLogger().handlers
    assert isinstance(handler, logging.StreamHandler)
    handler.setStream(out)
    staff, token = invite(house)
    post(house.as_nobody(), "/api/invitations/look", token=token)
    post(house.as_nobody(), "/api/invitations/take", token=token, password=NEW)
    sign_in(house, "Nia New", NEW)
    _, codes = with_second_factor(house)
    sign_in(house, OFFICER, code=codes[0])
    post(house.as_admin(), f"/api/people/{staff}/withdraw", why="secret why")
    text = out.getvalue()
    routes = {json.loads(line).get("route") for line in text.splitlines()}
    assert {"/api/invitations/take", "/api/people/{staff}/withdraw"} <= routes
    for secret in (token, NEW, PASSWORD, codes[0], staff, "Nia", "secret why"):
        assert secret not in text, secret
