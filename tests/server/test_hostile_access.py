"""Who may call what, exhaustively: every route that the application itself has, by every kind of caller,
about each of two sites. A new route without a row here fails."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from typing import Any, NamedTuple

import msgspec
import pytest
from callers import OFFICER, OWN_PAGE, PASSWORD, SITES, House
from carrying import NDJSON, Phone, near_miss, opened
from hub_calling import Hub
from send_tokens import hash_of, new_token, send_only, tokens_request

from chinrest.server.guards import COOKIE

NOBODY = "nobody"
GONE = "Gil Gone"
PHONES = {"phone of harbour", "phone of lighthouse"}
LOCKED = {"locked phone"}  # by the token that may only send
REVIEWERS = {"officer", "lead"}
LEAD = {"lead"}
ADMIN = {"admin"}
OVERSEERS = {*REVIEWERS, *ADMIN}
STAFF = {"photographer", *REVIEWERS, *ADMIN}
WITHDRAWN = {"withdrawn phone", "withdrawn locked phone", "withdrawn officer"}
HUB = {"hub"}
ANYONE = {NOBODY, *PHONES, *LOCKED, *WITHDRAWN, *STAFF, *HUB}
REFUSALS = {
    (401, "not_signed_in"),
    (401, "not_enrolled"),
    (401, "staff_withdrawn"),
    (403, "reviewer_only"),
    (403, "lead_only"),
    (403, "admin_only"),
    (403, "overseer_only"),
    (403, "device_withdrawn"),
    (403, "may_only_send"),
    (403, "hub_unknown"),
}
JUDGED = {"seen": 0, "harm": "none", "preventable": "no", "factors": [], "note": "x"}
ACTION = {"seen": 0, "text": "x", "owner": "x", "due": "2026-12-01"}
NONE_SUCH = "0" * 64


class Row(NamedTuple):
    """`said`: the statuses of a caller who may, with the body as it is here."""

    may: set[str]
    said: frozenset[int] | set[int] = frozenset({200})
    body: Any = None


INCIDENT = "/api/incidents/{line}"
ACTION_AT = INCIDENT + "/actions/{action}"
# conflicts are told only to those who may decide; an action that is none likewise
DECIDED = {200, 409}
TABLE: dict[tuple[str, str], Row] = {
    ("GET", "/api/health"): Row(ANYONE),
    ("POST", "/api/enrol"): Row(ANYONE, {404}, {"code": "x", "device": "", "public_key": "", "label": "x"}),
    ("POST", "/api/sync"): Row(PHONES | LOCKED, {200}, "sync"),
    ("GET", "/api/packs/{sha256}"): Row(PHONES | LOCKED | STAFF, {404}),
    ("GET", "/api/carrying-key"): Row(PHONES),
    ("GET", "/api/seal-key"): Row(PHONES),
    ("POST", "/api/tokens"): Row(PHONES, {204}, "tokens"),
    ("POST", "/api/carried"): Row(PHONES | STAFF, {400}, "carried"),
    ("POST", "/api/session"): Row(ANYONE, {200}, {"name": OFFICER, "password": PASSWORD}),
    ("GET", "/api/session"): Row(STAFF),
    ("GET", "/api/incidents"): Row(REVIEWERS),
    ("GET", "/api/incident-counts"): Row(REVIEWERS),
    ("GET", "/api/period-report"): Row(REVIEWERS),
    ("GET", "/api/cases/{case}"): Row(REVIEWERS),
    ("GET", "/api/changes"): Row(STAFF),
    ("GET", "/api/refused-lines"): Row(REVIEWERS),
    ("GET", INCIDENT): Row(REVIEWERS),
    ("POST", INCIDENT + "/classification"): Row(REVIEWERS, {200}, JUDGED),
    ("POST", INCIDENT + "/comments"): Row(REVIEWERS, {200}, {"text": "x"}),
    ("POST", INCIDENT + "/links"): Row(REVIEWERS, {404}, {"seen": 1, "other": "x", "why": "x"}),
    ("POST", INCIDENT + "/parting"): Row(REVIEWERS, {409}, {"seen": 1, "reaction": "x", "why": "x"}),
    ("POST", INCIDENT + "/actions"): Row(REVIEWERS, DECIDED, ACTION),
    ("POST", ACTION_AT): Row(
        REVIEWERS, {404, 409}, {"seen": 1, "owner": "x", "due": "2026-12-02", "why": "x"}
    ),
    ("POST", ACTION_AT + "/end"): Row(REVIEWERS, {404, 409}, {"seen": 1, "done": True}),
    ("POST", INCIDENT + "/closing"): Row(REVIEWERS, DECIDED, {"seen": 1, "note": "x"}),
    ("POST", INCIDENT + "/close"): Row(REVIEWERS, DECIDED, {"seen": 1}),
    ("POST", INCIDENT + "/reopen"): Row(REVIEWERS, DECIDED, {"seen": 1, "why": "x"}),
    ("GET", "/api/rates"): Row(REVIEWERS),
    ("GET", "/api/charts"): Row(REVIEWERS),
    ("GET", "/api/craft"): Row(REVIEWERS),
    ("GET", "/api/calibration"): Row(REVIEWERS),
    ("GET", "/api/export/incidents.csv"): Row(REVIEWERS),
    ("GET", "/api/export/columns"): Row(REVIEWERS),
    ("GET", "/api/export/incidents.fhir.json"): Row(REVIEWERS),
    ("GET", "/api/export/lines"): Row(LEAD),
    ("GET", "/api/backup"): Row(OVERSEERS),
    ("GET", "/api/retention"): Row(OVERSEERS),
    ("GET", "/api/retention/due"): Row(OVERSEERS),
    ("POST", "/api/relay"): Row(HUB, {200}, "relay"),
    ("POST", "/api/relay/pack"): Row(HUB, {404}, "relay pack"),
    ("POST", "/api/relay/hub"): Row(HUB, {204}, "relay hub"),
    ("POST", "/api/plans"): Row(
        STAFF, {404}, {"pack": NONE_SUCH, "optic": "wide", "eye": "right", "region": "posterior_pole"}
    ),
    ("GET", "/api/sites"): Row(STAFF),
    ("GET", "/api/devices"): Row(STAFF),
    ("GET", "/api/hubs"): Row(STAFF),
    ("POST", "/api/devices/{device}/withdraw"): Row(LEAD, {200}, {"why": "lost"}),
    ("POST", "/api/enrolment-codes"): Row(LEAD, {200}, {"site": "{site}", "label": "x"}),
    ("GET", "/api/packs"): Row(STAFF),
    ("POST", "/api/packs"): Row(LEAD, {400}, {"format": 99}),
    ("POST", "/api/packs/{sha256}/approve"): Row(LEAD, {404}, {"sites": ["{site}"], "note": ""}),
    ("POST", "/api/packs/{sha256}/recall"): Row(LEAD, {404}, {"why": "x"}),
    ("GET", "/api/packs/{sha256}/fits"): Row(LEAD, {404}),
    ("GET", "/api/packs/{sha256}/difference/{older}"): Row(LEAD, {404}),
    ("GET", "/api/rollout"): Row(LEAD),
    ("GET", "/api/drafts"): Row(LEAD),
    ("GET", "/api/draft-forms"): Row(LEAD),
    ("POST", "/api/drafts"): Row(LEAD, {404}, {"base": NONE_SUCH}),
    ("GET", "/api/drafts/{draft}"): Row(LEAD, {404}),
    ("POST", "/api/drafts/{draft}"): Row(LEAD, {404}, {"seen": 1, "file": "limits.toml", "value": {}}),
    ("GET", "/api/drafts/{draft}/difference"): Row(LEAD, {404}),
    ("POST", "/api/drafts/{draft}/compile"): Row(LEAD, {404}, {"seen": 1}),
    ("GET", "/api/account"): Row(STAFF),
    ("POST", "/api/account/password"): Row(STAFF, {204}, {"old": PASSWORD, "new": PASSWORD}),
    ("POST", "/api/account/second-factor"): Row(STAFF, {200}, {"password": PASSWORD}),
    ("POST", "/api/account/second-factor/confirm"): Row(STAFF, {403}, {"code": "x"}),
    ("POST", "/api/account/second-factor/off"): Row(STAFF, {204}, {"password": PASSWORD, "code": ""}),
    ("POST", "/api/invitations/look"): Row(ANYONE, {404}, {"token": "x"}),
    ("POST", "/api/invitations/take"): Row(ANYONE, {404}, {"token": "x", "password": PASSWORD}),
    ("GET", "/api/people"): Row(ADMIN),
    ("POST", "/api/people"): Row(ADMIN, {200}, {"name": "Nia New", "role": "officer", "site": "{site}"}),
    ("POST", "/api/people/{staff}"): Row(ADMIN, {200}, {"role": "officer", "site": "{site}"}),
    ("POST", "/api/people/{staff}/invitation"): Row(ADMIN, {200}, {"why": "x"}),
    ("POST", "/api/people/{staff}/second-factor-off"): Row(ADMIN, {409}, {"why": "x"}),
    ("POST", "/api/people/{staff}/withdraw"): Row(ADMIN, {200}, {"why": "x"}),
    ("POST", "/api/people/{staff}/readmit"): Row(ADMIN, {200}, {"why": "x"}),
    ("GET", "/api/schema"): Row(ANYONE),
    ("GET", "/api/schema/openapi.json"): Row(ANYONE),
    ("GET", "/authority.crt"): Row(ANYONE, {404}),
    ("GET", "/"): Row(ANYONE, {200, 503}),  # 503: a checkout whose pages nobody built
    ("GET", "/desk"): Row(ANYONE, {200, 503}),
    ("GET", "/{name}"): Row(ANYONE, {404}),
    ("GET", "/icons/{name}"): Row(ANYONE, {404}),
    ("GET", "/assets/{name}"): Row(ANYONE, {404}),
    ("DELETE", "/api/session"): Row(ANYONE, {204}),  # last: it ends the session that the others need
}
QUERY = {"/api/rates": "of=near_miss", "/api/charts": "of=near_miss", "/api/changes": "seconds=0"}
OF_A_SITE = {
    "/api/incidents",
    "/api/incident-counts",
    "/api/period-report",
    "/api/rates",
    "/api/charts",
    "/api/craft",
    "/api/export/incidents.csv",
    "/api/export/incidents.fhir.json",
}
# known by what they send and not by a cookie, which opens nothing there
BY_WHAT_IS_SENT = {
    "/api/enrol",
    "/api/sync",
    "/api/tokens",
    "/api/relay",
    "/api/relay/pack",
    "/api/relay/hub",
}
CHANGES = [key for key in TABLE if key[0] != "GET"]


class Town:
    """Two sites with a phone and a near miss each, a withdrawn phone, a withdrawn officer, a hub."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.phones = {site: house.phone(site) for site in SITES}
        self.lines: dict[str, str] = {}
        for site, phone in self.phones.items():
            made = [phone.first_line(), phone.write(opened(), f"case-of-{site}")]
            made.append(phone.write(near_miss(site), f"case-of-{site}"))
            phone.sync(*made)
            self.lines[site] = made[-1].envelope.id
        self.locked, self.lost = house.phone(), house.phone()
        self.send_tokens = {phone.device: send_only(phone) for phone in (self.locked, self.lost)}
        done = house.as_lead().post(
            f"/api/devices/{self.lost.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
        )
        assert done.status_code == 200, done.text
        self._add_people()
        self.hub, self.no_hub = Hub(), Hub()
        self.hub.approve(house.settings)

    def _invite(self, name: str) -> tuple[str, str]:
        """The id of somebody new, and the token of their link."""
        asked = {"name": name, "role": "officer", "site": None}
        made = self.house.as_admin().post("/api/people", json=asked, headers=OWN_PAGE)
        assert made.status_code == 200, made.text
        return made.json()["staff"], made.json()["url"].rsplit("/", 1)[1]

    def _add_people(self) -> None:
        """Another officer, about whom things are asked, and one who was withdrawn while signed in."""
        self.staff, _ = self._invite("Nora Newcomer")
        gone, token = self._invite(GONE)
        for become, path, body in (
            (self.house.as_nobody, "/api/invitations/take", {"token": token, "password": PASSWORD}),
            (self.house.as_nobody, "/api/session", {"name": GONE, "password": PASSWORD}),
            (self.house.as_admin, f"/api/people/{gone}/withdraw", {"why": "left"}),
        ):
            done = become().post(path, json=body, headers=OWN_PAGE)
            assert done.status_code == 200, done.text
            if path == "/api/session":
                self.house.sessions[GONE] = self.house.client.cookies[COOKIE]

    def _sending(self, phone: Phone) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.send_tokens[phone.device]}"}

    def _caller(self, who: str) -> tuple[Callable[[], Any], dict[str, str], Phone]:
        """How to become it, its headers, and the phone that it would write as."""
        harbour, lighthouse = self.phones["harbour"], self.phones["lighthouse"]
        nobody = self.house.as_nobody
        table: dict[str, tuple[Callable[[], Any], dict[str, str], Phone]] = {
            NOBODY: (nobody, {}, harbour),
            "phone of harbour": (nobody, harbour.bearer, harbour),
            "phone of lighthouse": (nobody, lighthouse.bearer, lighthouse),
            "locked phone": (nobody, self._sending(self.locked), self.locked),
            "withdrawn phone": (nobody, self.lost.bearer, self.lost),
            "withdrawn locked phone": (nobody, self._sending(self.lost), self.lost),
            "officer": (self.house.as_officer, {}, harbour),
            "lead": (self.house.as_lead, {}, harbour),
            "photographer": (self.house.as_photographer, {}, harbour),
            "admin": (self.house.as_admin, {}, harbour),
            "withdrawn officer": (lambda: self.house._as(GONE), {}, harbour),
            "hub": (nobody, {"Authorization": f"Bearer {self.hub.id}"}, harbour),
        }
        return table[who]

    def call(self, who: str, method: str, path: str, site: str, **more: str) -> Any:
        """Everything in the address is real and of that site, as far as it can be."""
        become, headers, phone = self._caller(who)
        at = path.format(
            sha256=NONE_SUCH,
            older=NONE_SUCH,
            case=f"case-of-{site}",
            device=self.phones[site].device,
            line=self.lines[site],
            staff=self.staff,
            action="no-such-action",
            draft="0" * 36,
            name="no-such-name.js",
        )
        asked = [QUERY[path]] if path in QUERY else []
        asked += [f"site={site}"] if path in OF_A_SITE else []
        content, kind = self._content(who, TABLE[method, path].body, phone, site)
        sent = {**headers, **OWN_PAGE, **({"Content-Type": kind} if kind else {}), **more}
        client = become()
        return client.request(method, f"{at}?{'&'.join(asked)}", content=content, headers=sent)

    def _content(self, who: str, body: Any, phone: Phone, site: str) -> tuple[bytes, str]:
        hub = self.hub if who == "hub" else self.no_hub
        if body is None:
            return b"", ""
        if body == "sync":
            return phone.body(), NDJSON
        if body == "tokens":
            return msgspec.json.encode(tokens_request(phone, hash_of(new_token()))), "application/json"
        if body == "carried":
            return b"a letter, not a carried file\n", NDJSON
        if body == "relay":
            return hub.parcel(self.phones[site], site), NDJSON
        if body == "relay pack":
            return hub.pack(NONE_SUCH), "application/json"
        if body == "relay hub":
            return hub.word(), "application/json"
        if "public_key" in body:
            fresh = Phone(self.house.client)
            body = {**body, "device": fresh.device, "public_key": fresh.key}
        return msgspec.json.encode(body).replace(b"{site}", site.encode()), "application/json"

    def kept(self) -> list[str]:
        """Everything that the database holds. `last_heard_at` and its like would show here too."""
        with closing(sqlite3.connect(self.house.settings.data / "chinrest.db")) as database:
            return list(database.iterdump())


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
