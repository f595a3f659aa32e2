"""Comfort and craft at the desk: counted from the log, with what it cannot tell beside it."""

import statistics
from typing import Any

import pytest
from callers import House
from carrying import Phone
from scipy import stats
from test_server_rates import visit

from chinrest.log.case_events import ComfortNoted, FrameTaken, PoseAdvised, PoseFound, StepSkipped
from chinrest.log.write import new_salt
from chinrest.model.rates.summary import rate_of


def asked(house: House, **wanted: Any) -> Any:
    answer = house.as_officer().get("/api/craft", params=wanted)
    assert answer.status_code == 200, answer.text
    return answer.json()


def comfort(score: int) -> ComfortNoted:
    return ComfortNoted(salt=new_salt(), score=score, bothers=[])


def advised(words: Any, optic: str = "ultrawide") -> PoseAdvised:
    return PoseAdvised(
        salt=new_salt(),
        eye="right",
        optic=optic,
        gaze_deg=(0.0, 0.0),
        reason=None,
        yaw_deg=12.0,
        pitch_deg=0.0,
        working_distance_mm=10.0,
        clearance_mm=3.0,
        nearest="bridge",
        field_deg=100.0,
        words=words,
    )


def found(
    outcome: Any, by_deg: float | None = None, *, optic: str = "ultrawide", touched: bool = False
) -> PoseFound:
    return PoseFound(
        salt=new_salt(),
        eye="right",
        optic=optic,
        gaze_deg=(0.0, 0.0),
        outcome=outcome,
        by_deg=by_deg,
        touched=touched,
    )


def again(reason: str) -> FrameTaken:
    return FrameTaken(
        salt=new_salt(),
        eye="right",
        optic="ultrawide",
        modality="colour",
        field="disc",
        gaze_deg=(0.0, 0.0),
        outcome="again",
        reason=reason,
    )


SCORES = (0, 1, 1, 2, 3, 3, 4, 7)


@pytest.fixture
def served(house: House) -> House:
    harbour, lighthouse = house.phone(), house.phone("lighthouse")
    for phone in (harbour, lighthouse):
        phone.sync(phone.first_line())
    visit(harbour, *map(comfort, SCORES), optic="ultrawide")
    for outcome, by_deg in (("more", 4.0), ("more", 2.0), ("as_advised", None), ("less", 3.0)):
        visit(harbour, advised("close"), found(outcome, by_deg), optic="ultrawide")
    visit(harbour, advised("likely_clear"), found("as_advised", touched=True), optic="ultrawide")
    visit(harbour, found("not_reached", optic="wide"))
    visit(lighthouse, again("blink"), again("blink"), again("dark"), optic="ultrawide")
    visit(lighthouse, StepSkipped(salt=new_salt(), step="hearing_aid", reason="not_needed"))
    return house


def test_comfort_by_optic_is_the_scores_that_were_noted(served: House) -> None:
    report = asked(served)
    (row,) = report["comfort"]
    assert (row["key"], row["noted"]) == ("ultrawide", len(SCORES))
    assert row["counts"] == [SCORES.count(score) for score in range(11)]
    assert row["mean"] == pytest.approx(statistics.mean(SCORES))
    # the least score that at least a quarter, half, three quarters lie at or below
    assert row["quartiles"] == [1, 2, 3]
    assert report["by_turn"] == []  # no pose was found in that case
    assert [(row["key"], row["noted"]) for row in report["by_minutes"]] == [("0_15", len(SCORES))]


def test_the_words_shown_stand_against_what_was_needed(served: House) -> None:
    rows = {(row["optic"], row["words"]): row for row in asked(served)["advice"]}
    close = rows["ultrawide", "close"]
    counts = ("poses", "asked_more", "asked_less", "as_advised", "not_reached", "touched")
    assert [close[name] for name in counts] == [4, 2, 1, 1, 0, 0]
    assert close["more"]["exact95"] == pytest.approx(rate_of(2, 4).exact95)
    clear = rows["ultrawide", "likely_clear"]
    assert [clear[name] for name in counts] == [1, 0, 0, 1, 0, 1]
    assert clear["touch"]["per_1000"] == 1000
    assert rows["wide", "unsaid"]["not_reached"] == 1


def test_the_mean_correction_has_students_interval(served: House) -> None:
    """Against scipy.stats.ttest_1samp's own confidence interval."""
    (row,) = asked(served)["adjusted"]
    said = [4, 2, -3]
    theirs = stats.ttest_1samp(said, 0).confidence_interval(0.95)
    assert (row["optic"], row["said"]) == ("ultrawide", 3)
    assert row["mean_deg"] == pytest.approx(statistics.mean(said))
    assert row["mean95"] == pytest.approx([theirs.low, theirs.high])
    assert row["counts"] == [[-3, 1], [2, 1], [4, 1]]


def test_what_was_taken_again_and_left_out_most_often_comes_first(served: House) -> None:
    report = asked(served)
    assert [(row["key"], row["sub"], row["n"]) for row in report["again"]] == [
        ("blink", "ultrawide", 2),
        ("dark", "ultrawide", 1),
    ]
    assert [(row["key"], row["sub"], row["n"]) for row in report["skipped"]] == [
        ("hearing_aid", "not_needed", 1)
    ]


def test_it_says_what_it_cannot_tell(served: House) -> None:
    report = asked(served)
    said = " ".join(report["rules"])
    assert "no evidence that it was right" in said
    assert "Touches alone cannot tell" in said
    assert report["position"] > 0


def test_period_and_site_narrow_all_of_it(served: House) -> None:
    only = asked(served, site="lighthouse")
    assert (only["visits"], only["comfort"], only["advice"]) == (2, [], [])
    assert only["again"]
    nothing = asked(served, last="2001-01")
    assert (nothing["visits"], nothing["again"], nothing["stages"]) == (0, [], [])


def test_one_correction_has_no_interval(house: House) -> None:
    phone: Phone = house.phone()
    phone.sync(phone.first_line())
    visit(phone, advised("close"), found("more", 4.0), optic="ultrawide")
    (row,) = asked(house)["adjusted"]
    assert (row["said"], row["mean_deg"], row["mean95"]) == (1, 4.0, None)


def test_strangers_learn_nothing(served: House) -> None:
    assert served.as_nobody().get("/api/craft").status_code == 401
    assert served.as_officer().get("/api/craft", params={"first": "2026-13"}).status_code == 400
