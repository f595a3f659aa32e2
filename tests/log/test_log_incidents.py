"""Incidents and the timeline. Near miss: it did not reach the patient, whatever the harm might have been.

Source of the near miss's meaning: WHO, Conceptual framework for the international classification for patient
safety (2009), 'near miss: an incident that did not reach the patient' (from memory).
"""

import pytest
from invented import START, Phone, fields_of, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import TOUCHED, IncidentFact, fold_incidents
from chinrest.log.timeline import Timeline, build_timeline


def incidents(*phones: Phone) -> list[IncidentFact]:
    return fold_incidents(stand(kept(line) for phone in phones for line in phone.lines))


def timeline(*phones: Phone) -> Timeline:
    lines = [kept(line) for phone in phones for line in phone.lines]
    labels = {phone.device: phone.name for phone in phones}
    return build_timeline("c1", stand(lines), device_labels=labels, site_names={"north": "North"}, position=9)


@pytest.mark.parametrize(("reached", "near_miss"), [(True, False), (False, True), (None, False)])
def test_a_near_miss_did_not_reach_the_patient(reached: bool | None, near_miss: bool) -> None:
    phone = Phone()
    phone.write("case.opened", "c1", code="T-7")
    line = phone.write("safety.noted", "c1", what="faint", reached_patient=reached, harm="mild", note="pale")
    [found] = incidents(phone)
    assert (found.line, found.near_miss, found.harm) == (line.envelope.id, near_miss, "mild")
    assert (found.case_code, found.site, found.note, found.withdrawn) == ("T-7", "north", "pale", False)


def test_an_incident_stands_as_amended_and_a_withdrawn_one_stays_in_the_list() -> None:
    phone = Phone()
    first, second = phone.write("safety.noted", "c1"), phone.write("safety.noted", "c1")
    assert first.body is not None
    phone.write(
        "line.amended", "c1", line=first.envelope.id, body={**fields_of(first.body), "reached_patient": False}
    )
    phone.write("line.amended", "c1", line=second.envelope.id, body=None)
    found = incidents(phone)
    assert [(row.near_miss, row.amended, row.withdrawn) for row in found] == [
        (True, True, False),
        (False, True, True),
    ]


def test_a_touch_that_nobody_reported_is_an_incident() -> None:
    phone = Phone()
    line = phone.write("pose.found", "c1", touched=True, eye="left", optic="ultra")
    [found] = incidents(phone)
    assert (found.line, found.what, found.optic) == (line.envelope.id, TOUCHED, "ultra")
    assert (found.reached_patient, found.near_miss, found.harm) == (True, False, None)


def test_a_touch_that_was_reported_is_one_incident_and_not_two() -> None:
    phone = Phone()
    phone.write("pose.found", "c1", touched=True)
    event = phone.write("safety.noted", "c1", what=TOUCHED, eye="right", optic="wide")
    assert [row.line for row in incidents(phone)] == [event.envelope.id]


def test_two_touches_and_one_report_are_two_incidents() -> None:
    phone = Phone()
    phone.write("pose.found", "c1", touched=True)
    event = phone.write("safety.noted", "c1", what=TOUCHED)
    second = phone.write("pose.found", "c1", touched=True)
    assert [row.line for row in incidents(phone)] == [event.envelope.id, second.envelope.id]


def test_a_report_of_the_other_eye_does_not_cover_the_touch() -> None:
    phone = Phone()
    phone.write("pose.found", "c1", touched=True, eye="right")
    phone.write("safety.noted", "c1", what=TOUCHED, eye="left")
    assert len(incidents(phone)) == 2


def test_a_withdrawn_report_does_not_cover_the_touch() -> None:
    phone = Phone()
    pose = phone.write("pose.found", "c1", touched=True)
    event = phone.write("safety.noted", "c1", what=TOUCHED)
    phone.write("line.amended", "c1", line=event.envelope.id, body=None)
    assert [(row.line, row.withdrawn) for row in incidents(phone)] == [
        (pose.envelope.id, False),
        (event.envelope.id, True),
    ]


def test_a_touch_taken_back_stays_in_the_list_as_withdrawn() -> None:
    phone = Phone()
    pose = phone.write("pose.found", "c1", touched=True)
    assert pose.body is not None
    new = {**fields_of(pose.body), "touched": False}
    phone.write("line.amended", "c1", line=pose.envelope.id, body=new)
    [found] = incidents(phone)
    assert (found.amended, found.withdrawn) == (True, True)


def test_a_pose_that_did_not_touch_is_none() -> None:
    phone = Phone()
    phone.write("pose.found", "c1")
    assert incidents(phone) == []


def test_practice_is_marked() -> None:
    phone = Phone()
    phone.write("safety.noted", "c1", practice=True)
    assert incidents(phone)[0].practice


def test_an_erased_safety_event_is_not_made_up() -> None:
    line = kept(Phone().write("safety.noted", "c1"))
    erased = type(line)(envelope=line.envelope, body=None, received_at=0, offset_ms=None, site="north")
    assert fold_incidents(stand([erased])) == []


def test_a_case_is_open_until_it_is_closed_and_again_when_that_is_withdrawn() -> None:
    phone = Phone()
    phone.write("case.opened", "c1", code="T-3")

    def state() -> tuple[str, str | None]:
        fact = fold_case("c1", stand(map(kept, phone.lines)))
        return fact.state, fact.outcome

    assert state() == ("open", None)
    closing = phone.write("case.closed", "c1", outcome="stopped")
    assert state() == ("closed", "stopped")
    phone.write("line.amended", "c1", line=closing.envelope.id, body=None)
    assert state() == ("open", None)


def test_the_cases_site_is_that_of_the_device_that_opened_it() -> None:
    opener, other = Phone("opener", START), Phone("other", START - 10**6)
    early = kept(other.write("step.done", "c1"), site="south")
    assert fold_case("c1", stand([early])).site == "south"
    opening = kept(opener.write("case.opened", "c1", code="T-2"), site="north")
    fact = fold_case("c1", stand([early, opening]))
    assert (fact.site, fact.code, fact.opened) == ("north", "T-2", True)


def test_the_timeline_shows_the_advice_beside_what_was_found() -> None:
    phone = Phone()
    phone.write("case.opened", "c1", code="T-5")
    other_gaze = phone.write("pose.advised", "c1", gaze_deg=[15.0, 0.0], yaw_deg=3.0)
    advised = phone.write("pose.advised", "c1", yaw_deg=14.0)
    phone.write("pose.advised", "c1", eye="left", yaw_deg=20.0)
    phone.write("pose.found", "c1", outcome="more", by_deg=4.0)
    phone.write("pose.found", "c1", gaze_deg=[15.0, 0.0])
    phone.write("pose.found", "c1", optic="narrow")
    line = timeline(phone)
    advice = [entry.advice for entry in line.entries if entry.type == "pose.found"]
    assert [None if a is None else (a["line"], a["yaw_deg"]) for a in advice] == [
        (advised.envelope.id, 14.0),
        (other_gaze.envelope.id, 3.0),
        None,
    ]
    assert (line.code, line.site_name, line.state, line.position) == ("T-5", "North", "open", 9)


def test_advice_for_another_gaze_is_shown_where_there_is_no_nearer_one() -> None:
    phone = Phone()
    advised = phone.write("pose.advised", "c1", gaze_deg=[15.0, 0.0])
    phone.write("pose.found", "c1", gaze_deg=[10.0, 0.0])
    advice = timeline(phone).entries[-1].advice
    assert advice is not None
    assert advice["line"] == advised.envelope.id
    assert advice["gaze_deg"] == (15.0, 0.0)


def test_the_timeline_shows_what_was_written_and_names_what_replaced_it() -> None:
    phone = Phone()
    line = phone.write("comfort.noted", "c1", score=2, bothers=[])
    unknown = phone.write_raw("balloon.released", b'{"salt":"s"}', "c1")
    by = phone.write("line.amended", "c1", line=line.envelope.id, body={"score": 7, "bothers": []})
    first, second, third = timeline(phone).entries
    assert first.body == {"score": 2, "bothers": [], "note": ""}
    assert first.amended_by == by.envelope.id
    assert (second.id, second.known, second.body) == (unknown.envelope.id, False, None)
    assert third.body is not None
    assert third.body["body"] == {"score": 7, "bothers": []}
