"""Who may call what, exhaustively: every route that the application itself has, by every kind of caller,
about each of two sites. A new route without a row in `access_table` fails. What a person's own site limits:
`test_site_scope`."""

import pytest
from access_table import ANYONE, BY_WHAT_IS_SENT, CHANGES, NONE_SUCH, REFUSALS, TABLE
from callers import SITES, House
from town import Town


@pytest.fixture
def town(house: House) -> Town:
    return Town(house)


def test_the_table_has_a_row_for_every_route_of_the_application(house: House) -> None:
    found = set()
    for route in house.client.app.routes:
        for method in getattr(route, "methods", ()):
            if method != "OPTIONS":  # made by the framework: names the methods and gives nothing
                found.add((str(method), route.path_format))
    assert found == set(TABLE)


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("who", sorted(ANYONE))
def test_only_those_who_may_come_in_and_the_others_change_nothing(town: Town, who: str, site: str) -> None:
    for (method, path), row in TABLE.items():
        may = who in row.may
        before = [] if may else town.kept()
        answer = town.call(who, method, path, site)
        text = f"{who}: {method} {path}: {answer.status_code} {answer.text[:300]}"
        if may:
            assert answer.status_code in row.said, text
            continue
        assert (answer.status_code, answer.json().get("code")) in REFUSALS, text
        assert set(answer.json()) == {"code", "where", "why"}, text
        assert town.kept() == before, text


def _who_may(method: str, path: str) -> str:
    """Somebody whom nothing but the header or the content's type keeps out."""
    return "lead" if "lead" in TABLE[method, path].may else "admin"


@pytest.mark.parametrize("site", SITES)
def test_another_sites_page_can_change_nothing(town: Town, site: str) -> None:
    """A page of elsewhere has the cookie of who may, at most, and cannot send our header."""
    before = town.kept()
    for method, path in CHANGES:
        if path in BY_WHAT_IS_SENT:
            continue
        for value in ("", "0", "true", "1, 1"):
            answer = town.call(_who_may(method, path), method, path, site, **{"X-Chinrest": value})
            assert (answer.status_code, answer.json()["code"]) == (403, "not_own_page"), (path, value)
    assert town.kept() == before


def test_a_form_of_another_sites_page_cannot_be_sent(town: Town) -> None:
    """The three kinds of content that a form can send without asking first (Fetch standard, safelisted)."""
    before = town.kept()
    for method, path in CHANGES:
        if path == "/api/session" and method == "DELETE":
            continue  # takes no body
        for kind in ("application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain"):
            who = "phone of harbour" if path in ("/api/sync", "/api/tokens") else _who_may(method, path)
            answer = town.call(who, method, path, "harbour", **{"Content-Type": kind})
            assert (answer.status_code, answer.json()["code"]) == (415, "wrong_media_type"), (path, kind)
    assert town.kept() == before


def test_where_what_is_sent_counts_a_cookie_opens_nothing(town: Town) -> None:
    before = town.kept()
    for path in BY_WHAT_IS_SENT - {"/api/enrol"}:
        answer = town.call("lead", "POST", path, "harbour")
        assert (answer.status_code, answer.json()["code"]) in REFUSALS, (path, answer.text)
    code_unknown = town.call("lead", "POST", "/api/enrol", "harbour")
    assert (code_unknown.status_code, code_unknown.json()["code"]) == (404, "code_unknown")
    assert town.kept() == before


def test_a_guessed_or_mangled_token_is_nobodys(town: Town) -> None:
    phone = town.phones["harbour"]
    token = phone.token
    for said in (
        "",
        "Bearer",
        "Bearer ",
        f"Basic {token}",
        token,
        f"Bearer {token[:-1]}",
        f"Bearer {token}x",
        f"Bearer {token}, Bearer {town.phones['lighthouse'].token}",
        "Bearer %00",
        f"Bearer {'x' * 8000}",
    ):
        answer = town.house.as_nobody().get("/api/packs/" + NONE_SUCH, headers={"Authorization": said})
        assert answer.status_code == 401, (said, answer.text)
