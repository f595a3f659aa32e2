"""What a person's site limits, exhaustively: every route that people may call, by somebody of each role who
has a site, about their own site's things and about another's. A new route without an expectation in
`site_table` fails, and so does a new parameter of which nobody said whether it names something of a site."""

import asyncio
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from typing import Any

import msgspec
import pytest
from access_table import ANYONE, NONE_SUCH, QUERY, REFUSALS, STAFF, TABLE
from callers import DAY_MS, OFFICER, OWN_PAGE, PEOPLE, House
from carrying import comfort, near_miss, opened
from site_table import AWAY, EXPECTED, HOME, HOUSE, OF_NO_SITE, OF_SITES, SAME_NAME_OF_NO_SITE, SITE, UNKNOWN
from town import Town

from chinrest.server.context import now_ms
from chinrest.store import Store


def test_every_route_that_people_may_call_has_an_expectation(house: House) -> None:
    """As the application itself has them; a route that is not even in TABLE fails here too."""
    found = {
        (str(method), route.path_format)
        for route in house.client.app.routes
        for method in getattr(route, "methods", ())
        if method != "OPTIONS"
    }
    for_people = {key for key in found if TABLE[key].may & STAFF and TABLE[key].may != ANYONE}
    assert set(EXPECTED) == for_people


def fields_of(document: dict[str, Any], schema: dict[str, Any]) -> set[str]:
    """The names of a body, through references."""
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    return set(schema.get("properties", {}))


def parameters(document: dict[str, Any], method: str, path: str) -> dict[str, set[str]]:
    """By where they stand: path, query, body."""
    operation = document["paths"][path][method.lower()]
    found: dict[str, set[str]] = {"path": set(), "query": set(), "body": set()}
    for parameter in operation.get("parameters", ()):
        found[parameter["in"]].add(parameter["name"])
    for kind, content in operation.get("requestBody", {}).get("content", {}).items():
        if kind == "application/json":
            found["body"] |= fields_of(document, content["schema"])
    return found


class Elsewhere(Town):
    """A town with somebody of each role at HOME, and things of AWAY that have ids to smuggle."""

    def __init__(self, house: House) -> None:
        super().__init__(house)
        asyncio.run(self._add_people_of_sites())
        for phone in self.phones.values():
            phone.sync(b"nonsense")  # refused, and kept aside
        self.document = house.as_nobody().get("/api/schema").json()
        asked = {"seen": 0, "text": "of the lighthouse", "owner": "x", "due": "2026-12-01"}
        made = house.as_officer().post(
            f"/api/incidents/{self.lines[AWAY]}/actions", json=asked, headers=OWN_PAGE
        )
        assert made.status_code == 200, made.text
        self.ids = {
            "own": self._ids(HOME, self.people[HOME], "no-such-action"),
            "other": self._ids(AWAY, self.people[AWAY], made.json()["actions"][0]["action"]),
        }
        away = self.ids["other"]
        self.secrets = [AWAY, away["device"], away["line"], away["staff"], away["action"]]

    def _ids(self, site: str, staff: str, action: str) -> dict[str, str]:
        line = self.lines[site]
        return {
            "site": site,
            "device": self.phones[site].device,
            "line": line,
            "case": f"case-of-{site}",
            "action": action,
            "staff": staff,
            "other": line,
            "reaction": line,
        }

    async def _add_people_of_sites(self) -> None:
        """By invitation, which hashes nothing; those who ask have the officer's password and a session."""
        store, now, until = await Store.open(self.house.settings.database), now_ms(), now_ms() + DAY_MS
        self.people: dict[str, str] = {}
        for site in (HOME, AWAY):
            made = await store.invite(f"Sam of {site}", "officer", site, "command", now, until)
            self.people[site] = made.staff
        for role in PEOPLE.values():
            made = await store.invite(f"{role} of {HOME}", role, HOME, "command", now, until)
            self.house.sessions[f"{role} at home"] = await store.start_session(made.staff, now, until)
        pack = await store.put_pack(b'{"version":"1","clinic":"x"}', now)
        for sites, note in (([HOME, AWAY], "for both"), ([AWAY], f"for {AWAY}")):
            await store.approve_pack(pack, made.staff, sites, note, now)
        await store.close()
        with closing(sqlite3.connect(self.house.settings.database)) as database, database:
            database.execute(
                "UPDATE staff SET password_hash = (SELECT password_hash FROM staff WHERE name = ?) "
                "WHERE name LIKE ?",
                (OFFICER, f"% of {HOME}"),
            )

    def _caller(self, who: str) -> Any:
        if who.endswith(" at home"):
            return (lambda: self.house._as(who)), {}, self.phones[HOME]
        return super()._caller(who)

    def asks(self, who: str, method: str, path: str, where: str = "", name: str = "", value: str = "") -> Any:
        """With ids of their own site but for the one given."""
        given = {name: value} if where in ("path", "body") else {}
        query = {name: value} if where == "query" else {}
        more = given if where == "body" else {}
        ids = {**self.ids["own"], **given}
        at = path.format(**ids, sha256=NONE_SUCH, older=NONE_SUCH, draft="0" * 36)
        body = TABLE[method, path].body
        if isinstance(body, dict):
            if "seen" in body:
                body = {**body, "seen": 0}
            body = {name: ids.get(name, value) for name, value in {**body, **more}.items()}
        content, kind = self._content(who, body, self.phones[HOME], HOME)
        sent = {**OWN_PAGE, **({"Content-Type": kind} if kind else {})}
        params = dict(pair.split("=") for pair in QUERY.get(path, "").split("&") if pair)
        client = self.house._as(who)
        return client.request(method, at, params={**params, **query}, content=content, headers=sent)

    def smuggled(self, who: str, method: str, path: str) -> Iterator[tuple[str, Any, Any]]:
        """Each parameter that names something of a site: the answer about another site's, and about none."""
        for where, names in parameters(self.document, method, path).items():
            for name in sorted(names & OF_SITES):
                if (path, name) not in SAME_NAME_OF_NO_SITE:
                    values = (self.ids["other"][name], UNKNOWN[name])
                    other, none = (self.asks(who, method, path, where, name, value) for value in values)
                    yield f"{where} {name}", other, none

    def told(self, text: str) -> list[str]:
        """What of the other site stands in an answer."""
        return [secret for secret in self.secrets if secret in text.lower()]


@pytest.fixture
def town(house: House) -> Elsewhere:
    return Elsewhere(house)


def refusal(answer: Any) -> tuple[int, dict[str, Any]]:
    return answer.status_code, answer.json()


@pytest.mark.parametrize("role", sorted(STAFF))
def test_other_sites_things_are_as_if_they_were_not_there(town: Elsewhere, role: str) -> None:
    who, before = f"{role} at home", town.kept()
    for (method, path), expected in EXPECTED.items():
        row = TABLE[method, path]
        if role not in row.may:
            answer = town.asks(who, method, path)
            assert (answer.status_code, answer.json()["code"]) in REFUSALS, (method, path, answer.text)
            continue
        if expected == HOUSE:
            answer = town.asks(who, method, path)
            assert (answer.status_code, answer.json()["code"]) == (403, "whole_house"), (method, path)
            assert "needs somebody whose account has no site" in answer.json()["why"]
            continue
        found = parameters(town.document, method, path)
        names = set().union(*found.values())
        assert names <= OF_SITES | OF_NO_SITE, (method, path, names - OF_SITES - OF_NO_SITE)
        assert expected == SITE or not names & OF_SITES, (method, path, "names something of a site")
        for what, other, none in town.smuggled(who, method, path):
            text = f"{method} {path} with {what}: {other.status_code} {other.text[:300]}"
            # an emergency is asked for within one's own incident, which has none
            allowed = {409} if what == "body reaction" else {403, 404}
            assert other.status_code in allowed, text
            assert refusal(other) == refusal(none), text
            assert town.told(other.text) == [], text
    assert town.kept() == before


@pytest.mark.parametrize("role", sorted(STAFF))
def test_ones_own_sites_things_are_given_and_nothing_else_is(town: Elsewhere, role: str) -> None:
    who = f"{role} at home"
    town.staff = town.people[HOME]
    for (method, path), expected in EXPECTED.items():
        row = TABLE[method, path]
        if role not in row.may or expected == HOUSE:
            continue
        for answer in (
            town.call(who, method, path, HOME),
            *([town.asks(who, method, path)] if method == "GET" else []),
        ):
            text = f"{method} {path}: {answer.status_code} {answer.text[:300]}"
            assert answer.status_code in row.said, text
            assert town.told(answer.text) == [], text


def test_what_a_person_without_a_site_sees_is_all(town: Elsewhere) -> None:
    """Else the tests above would pass on an empty house."""
    for path in (
        *("/api/incidents", "/api/devices", "/api/packs", "/api/rollout", "/api/refused-lines"),
        *("/api/export/incidents.csv", "/api/period-report", f"/api/incidents/{town.lines[HOME]}"),
    ):
        assert town.told(town.house.as_lead().get(path).text), path
    assert town.told(town.house.as_admin().get("/api/people").text)
    listed = town.house.as_lead().get("/api/incidents").json()
    assert {row["site"] for row in listed["rows"]} == {HOME, AWAY}
    scoped = town.house._as("lead at home").get("/api/incidents").json()
    assert {row["site"] for row in scoped["rows"]} == {HOME}
    assert (listed["total"], scoped["total"]) == (2, 1)


def test_an_admin_of_a_site_manages_nobody_without_one_and_raises_nobody(town: Elsewhere) -> None:
    admin, before = town.house._as("admin at home"), town.kept()
    rows = admin.get("/api/people").json()
    assert {row["site"] for row in rows} == {HOME}
    (own,) = [row["id"] for row in rows if row["role"] == "admin"]
    everywhere = town.staff  # an officer without a site
    for path, body, said in (
        ("/api/people", {"name": "Nia New", "role": "officer", "site": None}, (403, "other_site")),
        (f"/api/people/{town.people[HOME]}", {"role": "lead", "site": None}, (403, "other_site")),
        (f"/api/people/{own}", {"role": "lead", "site": None}, (409, "own_account")),
        (f"/api/people/{everywhere}", {"role": "officer", "site": HOME}, (404, "staff_unknown")),
        (f"/api/people/{everywhere}/withdraw", {"why": "x"}, (404, "staff_unknown")),
        (f"/api/people/{everywhere}/invitation", {"why": "x"}, (404, "staff_unknown")),
        (f"/api/people/{everywhere}/second-factor-off", {"why": "x"}, (404, "staff_unknown")),
    ):
        answer = admin.post(path, json=body, headers=OWN_PAGE)
        assert (answer.status_code, answer.json()["code"]) == said, (path, answer.text)
    assert town.kept() == before


def test_a_name_in_use_says_neither_where_nor_whose(town: Elsewhere) -> None:
    """Names are unique over the whole server: that one is not free is all that can't be hidden."""
    withdrawn = f"/api/people/{town.people[AWAY]}/withdraw"
    names = [f"Sam of {HOME}", f"sam of {AWAY.upper()}", OFFICER]

    def refused() -> set[tuple[int, str]]:
        asked = [{"name": name, "role": "officer", "site": HOME} for name in names]
        admin = town.house._as("admin at home")
        answers = [admin.post("/api/people", json=body, headers=OWN_PAGE) for body in asked]
        return {(answer.status_code, answer.text) for answer in answers}

    before = town.kept()
    [(status, said)] = refused()
    assert status == 409
    assert not [name for name in (*names, HOME, AWAY) if name.casefold() in said.casefold()]
    assert town.kept() == before
    left = town.house.as_admin().post(withdrawn, json={"why": "left"}, headers=OWN_PAGE)
    assert left.status_code == 200
    assert refused() == {(status, said)}


def test_a_changed_site_counts_at_once_and_is_a_line_of_the_log(town: Elsewhere) -> None:
    """The very session that was open goes on, and sees no more."""
    house = town.house
    officer = house.as_officer().get("/api/session").json()
    assert officer["site"] is None
    assert house.as_officer().get(f"/api/cases/case-of-{AWAY}").status_code == 200
    moved = house.as_admin().post(
        f"/api/people/{officer['id']}", json={"role": "officer", "site": HOME}, headers=OWN_PAGE
    )
    assert moved.status_code == 200, moved.text
    now = house.as_officer().get("/api/session").json()
    assert (now["site"], now["site_name"]) == (HOME, "Harbour")
    assert house.as_officer().get(f"/api/cases/case-of-{AWAY}").status_code == 404
    assert house.as_officer().get(f"/api/cases/case-of-{HOME}").status_code == 200
    with closing(sqlite3.connect(house.settings.database)) as database:
        asked = "SELECT body FROM lines WHERE type = 'staff.changed' ORDER BY position DESC LIMIT 1"
        said = json.loads(database.execute(asked).fetchone()[0])
    assert (said["staff"], said["what"], said["site"]) == (officer["id"], "changed", HOME)


def test_a_case_that_phones_of_two_sites_wrote_in_is_read_by_both(town: Elsewhere) -> None:
    """Whole: what was done to a patient at one place has to be known at the other. The list has what a site's
    phones reported, and what was reported in its cases."""
    who, case, event = "officer at home", f"case-of-{AWAY}", near_miss("seen on our side")
    assert town.house._as(who).get(f"/api/cases/{case}").status_code == 404
    phone = town.phones[HOME]
    line = phone.write(event, case)
    phone.sync(line)
    read = town.house._as(who).get(f"/api/cases/{case}")
    assert read.status_code == 200, read.text
    sites = {entry["device"] for entry in read.json()["entries"]} & {
        town.phones[HOME].device,
        town.phones[AWAY].device,
    }
    assert len(sites) == 2
    assert town.house._as(who).get(f"/api/incidents/{town.lines[AWAY]}").status_code == 200
    listed = town.house._as(who).get("/api/incidents").json()["rows"]
    assert {row["line"] for row in listed} == {town.lines[HOME], line.envelope.id}
    # and at the other site, in whose case it was reported
    asked = {"role": "officer", "site": AWAY}
    at = f"/api/people/{town.house.as_officer().get('/api/session').json()['id']}"
    assert town.house.as_admin().post(at, json=asked, headers=OWN_PAGE).status_code == 200
    listed = town.house.as_officer().get("/api/incidents").json()["rows"]
    assert {row["line"] for row in listed} == {town.lines[AWAY], line.envelope.id}


def test_a_reading_within_a_site_is_logged_as_any_other(town: Elsewhere) -> None:
    read = town.house._as("officer at home").get(f"/api/cases/case-of-{HOME}")
    again = town.house._as("officer at home").get(f"/api/cases/case-of-{HOME}").json()
    assert read.status_code == 200
    assert [entry["actor"] for entry in again["entries"] if entry["type"] == "case.read"] == [
        f"officer of {HOME}"
    ]


def test_a_refused_reading_is_no_line_and_names_nobody(town: Elsewhere) -> None:
    """`seen` would be a way to learn that a case changes, were it answered before the case is."""
    officer = town.house._as("officer at home")
    for path in (f"/api/cases/case-of-{AWAY}", f"/api/incidents/{town.lines[AWAY]}"):
        unknown = re.sub(r"[^/]+$", "no-such", path)
        for seen in (0, 10**6):
            answers = [officer.get(at, params={"seen": seen}) for at in (path, unknown)]
            assert refusal(answers[0]) == refusal(answers[1])
            assert answers[0].status_code == 404


def test_charts_say_why_there_is_no_funnel(town: Elsewhere) -> None:
    report = town.house._as("lead at home").get("/api/charts?of=near_miss").json()
    assert report["funnel"] is None
    assert "you see harbour alone" in report["none"]["funnel"]
    assert report["site"] == HOME


def test_counts_within_a_site_are_as_if_the_other_were_not_there(town: Elsewhere) -> None:
    """Whatever is added at the other site changes no figure of this one."""

    def figures() -> list[Any]:
        lead, found = town.house._as("lead at home"), []
        for path in ("/api/rates?of=near_miss", "/api/charts?of=near_miss", "/api/craft", "/api/calibration"):
            report = lead.get(path).json()
            report.pop("position")
            found.append(report)
        return [*found, lead.get("/api/incident-counts").json()]

    before, phone = figures(), town.phones[AWAY]
    lines = [phone.write(opened(f"LH-{n}"), f"more-{n}") for n in range(2)]
    lines += [phone.write(near_miss("x"), "more-0"), phone.write(comfort(), "more-1")]
    lines += [phone.write(near_miss("of no case"))]
    phone.sync(*lines)
    assert msgspec.json.encode(figures()) == msgspec.json.encode(before)
