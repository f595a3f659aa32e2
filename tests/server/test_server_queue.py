"""The queue in numbers agrees with the queue itself, and a period holds its days and no others."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone, near_miss, opened

JUDGED = {"harm": "none", "preventable": "yes", "factors": []}


def incident(phone: Phone, note: str) -> str:
    case = str(uuid.uuid4())
    phone.sync(phone.write(opened(), case))
    event = phone.write(near_miss(note), case)
    phone.sync(event)
    return event.envelope.id


def asked(house: House, path: str, **wanted: Any) -> Any:
    answer = house.as_officer().get(path, params=wanted)
    assert answer.status_code == 200, answer.text
    return answer.json()


def decide(house: House, line: str, what: str, **fields: Any) -> None:
    desk = house.as_officer()
    count = desk.get(f"/api/incidents/{line}").json()["review"]["count"]
    answer = desk.post(f"/api/incidents/{line}/{what}", json={"seen": count, **fields}, headers=OWN_PAGE)
    assert answer.status_code == 200, answer.text


def test_counts_are_those_of_the_lists_themselves(house: House) -> None:
    phone = house.phone()
    lines = [incident(phone, f"note {n}") for n in range(5)]
    decide(house, lines[0], "classification", **JUDGED)
    for line, due in ((lines[1], "2020-01-01"), (lines[2], "2999-01-01")):
        decide(house, line, "actions", text="Replace the latch", owner="Workshop", due=due)
    counts = asked(house, "/api/incident-counts")
    states = {"new": 2, "in_review": 1, "actions_open": 2, "closed": 0}
    unread = {"unread_cases": 0, "unread_devices": 0}
    assert counts == {**states, "overdue": 1, **unread}
    for state in ("new", "in_review", "actions_open", "closed"):
        assert asked(house, "/api/incidents", review=state)["total"] == counts[state]
    assert asked(house, "/api/incidents", overdue=1)["total"] == counts["overdue"]
    one = asked(house, "/api/incident-counts", q="note 1")
    assert one == {"new": 0, "in_review": 0, "actions_open": 1, "closed": 0, "overdue": 1, **unread}


def test_a_period_holds_its_days_and_no_others(house: House) -> None:
    phone = house.phone()
    line = incident(phone, "within")
    decide(house, line, "actions", text="Replace the latch", owner="Workshop", due="2999-01-01")
    at = asked(house, "/api/incidents")["rows"][0]["at"]
    day = datetime.fromtimestamp(at / 1000, UTC).date()
    before, after = (str(day + timedelta(days=n)) for n in (-1, 1))
    for path in ("/api/incidents", "/api/period-report"):
        assert asked(house, path, since=str(day), until=str(day))["total"] == 1
        assert asked(house, path, since=after)["total"] == 0
        assert asked(house, path, until=before)["total"] == 0
    report = asked(house, "/api/period-report", since=str(day), until=str(day))
    (found,) = report["rows"]
    assert [action["text"] for action in found["review"]["actions"]] == ["Replace the latch"]
    csv = house.as_officer().get("/api/export/incidents.csv", params={"since": after}).text
    assert len(csv.splitlines()) == 1  # its head alone


@pytest.mark.parametrize(
    ("wanted", "where"),
    [({"since": "yesterday"}, "since"), ({"since": "2026-02-02", "until": "2026-02-01"}, "until")],
)
def test_a_period_that_is_none_is_refused_in_words(house: House, wanted: dict[str, str], where: str) -> None:
    answer = house.as_officer().get("/api/period-report", params=wanted)
    assert (answer.status_code, answer.json()["where"]) == (400, where)
