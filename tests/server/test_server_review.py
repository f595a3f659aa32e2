"""Officers decide, and nothing that they decide overwrites anything."""

import uuid
from typing import Any

import pytest
from callers import LEAD, OFFICER, OWN_PAGE, House
from carrying import Phone, near_miss, opened
from litestar.testing import TestClient

from chinrest.log.case_events import SafetyNoted
from chinrest.log.reaction_events import ReactionStarted
from chinrest.log.write import new_salt

JUDGED = {"harm": "none", "preventable": "yes", "factors": ["latch"], "note": "latch worn"}
ACTION = {"text": "Replace the latch", "owner": "Workshop", "due": "2026-12-01"}


class Desk:
    """One incident, and what two people decide about it."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.phone: Phone = house.phone()
        self.case = str(uuid.uuid4())
        event = self.phone.write(near_miss("latch not heard"), self.case)
        self.line = event.envelope.id
        self.phone.sync(event)
        # the first line of this phone is the event: the case is opened late, as on a bad day
        self.phone.sync(self.phone.write(opened(), self.case))

    def page(self, who: str = OFFICER) -> Any:
        answer = self._as(who).get(f"/api/incidents/{self.line}")
        assert answer.status_code == 200, answer.text
        return answer.json()

    def _as(self, who: str) -> TestClient[Any]:
        return self.house.as_lead() if who == LEAD else self.house.as_officer()

    def post(self, what: str, who: str = OFFICER, **fields: Any) -> Any:
        fields = {"seen": self.page(who)["review"]["count"], **fields}
        return self._as(who).post(f"/api/incidents/{self.line}/{what}", json=fields, headers=OWN_PAGE)

    def did(self, what: str, who: str = OFFICER, **fields: Any) -> Any:
        answer = self.post(what, who, **fields)
        assert answer.status_code == 200, answer.text
        return answer.json()


@pytest.fixture
def desk(house: House) -> Desk:
    return Desk(house)


def queue(house: House, **wanted: Any) -> list[str]:
    answer = house.as_officer().get("/api/incidents", params=wanted)
    assert answer.status_code == 200, answer.text
    return [row["state"] for row in answer.json()["rows"]]


def test_an_incidents_way_through_the_queue(desk: Desk) -> None:
    house = desk.house
    assert queue(house) == ["new"]
    desk.did("classification", **JUDGED)
    assert queue(house, review="in_review") == ["in_review"]
    assert queue(house, review="new") == []
    added = desk.did("actions", **ACTION)
    assert added["state"] == "actions_open"
    assert queue(house, overdue="1") == []  # not yet due on the day of this test, or long past it
    action = added["actions"][0]["action"]
    moved = desk.did(f"actions/{action}", owner="Lead", due="2020-01-01", why="urgent")
    assert (moved["actions"][0]["owner"], moved["actions"][0]["due"]) == ("Lead", "2020-01-01")
    assert queue(house, overdue="1") == ["actions_open"]
    assert desk.post("closing", note="done?").json()["where"] == "actions"
    desk.did(f"actions/{action}/end", done=True, note="replaced")
    desk.did("closing", note="latch replaced")
    own = desk.post("close")
    assert (own.status_code, own.json()["where"]) == (409, "by")
    closed = desk.did("close", LEAD)
    assert closed["state"] == "closed"
    assert queue(house, review="closed") == ["closed"]
    refused = desk.post("classification", **JUDGED)
    assert (refused.status_code, refused.json()["code"]) == (409, "not_allowed")
    row = desk.page()["row"]
    assert (row["state"], row["officer_harm"], row["harm"]) == ("closed", "none", "none")


def test_a_late_line_opens_the_question_again(desk: Desk) -> None:
    desk.did("classification", **JUDGED)
    desk.did("closing", note="nothing more")
    desk.did("close", LEAD)
    late = desk.phone.write(near_miss("and it slipped again"), desk.case)
    desk.phone.sync(late)
    page = desk.page()
    assert (page["row"]["state"], page["row"]["late"]) == ("in_review", True)
    assert page["review"]["late"] is True
    desk.did("closing", note="looked at the new line too")
    assert desk.did("close", LEAD)["state"] == "closed"


def test_two_people_at_once_never_overwrite_each_other(desk: Desk) -> None:
    seen = desk.page()["review"]["count"]
    first = desk.post("classification", seen=seen, **JUDGED)
    second = desk.post("classification", LEAD, seen=seen, **{**JUDGED, "harm": "mild"})
    assert first.status_code == 200
    assert (second.status_code, second.json()["code"]) == (409, "changed_meanwhile")
    assert desk.page()["review"]["judged"]["classified"]["harm"] == "none"
    # a comment decides nothing, so it needs no knowledge of what stands
    assert desk.post("comments", LEAD, seen=0, text="I would say mild").status_code == 200


def test_every_decision_is_a_line_of_the_servers_chain(desk: Desk) -> None:
    desk.did("classification", **JUDGED)
    desk.did("comments", text="called the site")
    entries = desk.house.as_officer().get(f"/api/cases/{desk.case}").json()["entries"]
    decided = [entry for entry in entries if entry["type"].startswith("incident.")]
    assert [(entry["type"], entry["actor"]) for entry in decided] == [
        ("incident.classified", OFFICER),
        ("incident.commented", OFFICER),
    ]
    assert [entry for entry in entries if entry["type"] == "case.read"], "looking at it is logged too"


def test_likes_are_offered_and_linked(desk: Desk) -> None:
    other = Desk(desk.house)
    assert [row["line"] for row in desk.page()["like"]] == [other.line]
    assert desk.did("links", other=other.line, why="same latch")["links"][0]["other"] == other.line
    assert desk.did("links", other=other.line, why="", linked=False)["links"] == []
    unknown = desk.post("links", other=str(uuid.uuid4()), why="?")
    assert (unknown.status_code, unknown.json()["where"]) == (404, "other")


def test_an_emergency_counted_with_an_event_is_parted_by_the_officer_and_joined_again(house: House) -> None:
    phone, case = house.phone(), str(uuid.uuid4())
    event = SafetyNoted(
        salt=new_salt(), what="dye_reaction", reached_patient=True, harm=None, signs=[], done=[], told=[]
    )
    noted = phone.write(event, case)
    phone.sync(phone.write(opened(), case))
    started = phone.write(ReactionStarted(salt=new_salt()), case)
    phone.sync(noted, started)
    officer = house.as_officer()
    line = noted.envelope.id

    def listed() -> set[str]:
        return {row["line"] for row in officer.get("/api/incidents").json()["rows"]}

    def post(**fields: Any) -> Any:
        seen = officer.get(f"/api/incidents/{line}").json()["review"]["count"]
        data = {"seen": seen, "reaction": started.envelope.id, **fields}
        return officer.post(f"/api/incidents/{line}/parting", json=data, headers=OWN_PAGE)

    assert listed() == {line}
    (join,) = officer.get(f"/api/cases/{case}").json()["joins"]
    assert (join["how"], join["parted"]) == ("rule", False)
    assert post(why="the first had passed").status_code == 200
    assert listed() == {line, started.envelope.id}
    (join,) = officer.get(f"/api/cases/{case}").json()["joins"]
    assert (join["parted"], join["parted_by"], join["why"]) == (True, OFFICER, "the first had passed")
    assert post(why="", parted=False).status_code == 200
    assert listed() == {line}
    assert post(reaction=str(uuid.uuid4()), why="?").json()["where"] == "reaction"
    assert post(why=" ").status_code == 400


@pytest.mark.parametrize(
    ("what", "fields", "where"),
    [
        ("classification", {**JUDGED, "harm": "awful"}, "harm"),
        ("classification", {**JUDGED, "factors": ["x"] * 31}, "factors"),
        ("comments", {"text": "  "}, "text"),
        ("comments", {"text": "x" * 4001}, "text"),
        ("actions", {**ACTION, "due": "soon"}, "due"),
        ("actions", {**ACTION, "owner": ""}, "owner"),
        ("reopen", {"why": ""}, "why"),
    ],
)
def test_what_cannot_be_read_later_is_refused(desk: Desk, what: str, fields: Any, where: str) -> None:
    answer = desk.post(what, **fields)
    assert answer.status_code == 400
    assert where in answer.json()["where"]
    assert desk.page()["review"]["count"] == 0


def test_what_is_not_there_is_said(desk: Desk) -> None:
    nobody = desk.house.as_officer().get(f"/api/incidents/{uuid.uuid4()}")
    assert (nobody.status_code, nobody.json()["code"]) == (404, "incident_unknown")
    action = desk.post("actions/none/end", done=True)
    assert (action.status_code, action.json()["code"]) == (404, "action_unknown")
    assert desk.post("reopen", why="why not").json()["code"] == "not_allowed"
    assert desk.post("close", LEAD).json()["code"] == "not_allowed"


def test_a_stranger_decides_nothing(desk: Desk) -> None:
    assert desk.house.as_nobody().get(f"/api/incidents/{desk.line}").status_code == 401
    for what in ("classification", "comments", "links", "parting", "actions", "closing", "close", "reopen"):
        answer = desk.house.as_nobody().post(f"/api/incidents/{desk.line}/{what}", json={}, headers=OWN_PAGE)
        assert answer.status_code == 401, what
        answer = desk.house.as_officer().post(f"/api/incidents/{desk.line}/{what}", json={})
        assert answer.status_code == 403, "another site's page cannot send our header"
