"""A region that optic and face cannot show as asked: the same answer however much time there is, how much can
be shown, what is missing, and which optic can."""

import numpy as np
import pytest
from click.testing import CliRunner
from model_demo import AVERAGE, FACES, LIMITS, OPTIC, OPTICS
from msgspec import structs

from chinrest.cli import main
from chinrest.commands.retina_drawing import LEFT, MISSING, SHOWN, drawn
from chinrest.model.fields.cover import Question, fewest, joined_cover
from chinrest.model.fields.coverage import coverage
from chinrest.model.fields.plan import NEARLY_ALL, FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach
from chinrest.model.retina.regions import region_of

STIFF = Patient(measures=structs.replace(AVERAGE, neck="fixed"), age_band="60-79")
REACH = Reach(STIFF, OPTIC["narrow"], "right", FACES, LIMITS)
REGION = region_of("midperiphery")


def planned(asked: PlanAsked, seconds: float, others: list[Reach] | None = None) -> FieldPlan:
    return plan(
        REGION,
        asked,
        OPTIC["narrow"],
        "right",
        STIFF,
        FACES,
        LIMITS,
        others=others or [],
        reach=REACH,
        seconds=seconds,
    )


def test_fields_beyond_reach_do_not_hang_on_the_time_there_is() -> None:
    others = [Reach(STIFF, optic, "right", FACES, LIMITS) for optic in OPTICS]
    hurried, patient = (planned(PlanAsked(), seconds, others) for seconds in (0.0, 60.0))
    assert hurried == patient
    assert hurried.reason is not None
    assert hurried.reason.code == "region_beyond_reach"
    assert "These can show it as asked: wide." in hurried.reason.sentence
    assert hurried.region_fraction >= NEARLY_ALL * hurried.reachable_fraction - 1e-6
    assert hurried.count >= hurried.lower_bound > 1
    overlap = coverage([(field_deg, h, v) for h, v, field_deg in hurried.fields]).overlap
    for i in range(1, hurried.count):
        assert max(overlap[i][j] / min(overlap[i][i], overlap[j][j]) for j in range(i)) >= 0.2


def test_as_much_as_can_be_reached_and_no_more_is_still_planned() -> None:
    """The last of it are slivers, which cells miss: on the outlines fields are added until it is enough."""
    most = planned(PlanAsked(), 0.0).reachable_fraction
    found = planned(PlanAsked(coverage=most - 1e-5), 2.0)
    assert found.feasible
    assert found.region_fraction >= most - 2e-5


def test_fields_that_cannot_be_joined_say_so_and_not_that_the_region_is_beyond_reach() -> None:
    """Gazes of the planner's grid are 8 degrees apart: no two of these fields share nine tenths."""
    asked = PlanAsked(coverage=0.2, overlap=0.9)
    hurried, patient = (planned(asked, seconds) for seconds in (0.0, 20.0))
    assert hurried == patient
    assert not hurried.feasible
    assert hurried.reason is not None
    assert hurried.reason.code == "fields_do_not_join"
    assert hurried.count == 1
    assert "Ask for less overlap" in hurried.reason.sentence


@pytest.mark.parametrize("seconds", [0.0, 10.0])
def test_a_cover_is_found_beyond_a_candidate_that_adds_nothing(seconds: float) -> None:
    """Two that are needed, joined only over a third that covers what the first covers already."""
    cover = np.array([[1, 1, 0], [1, 0, 0], [0, 0, 1]], dtype=bool)
    join = np.array([[1, 1, 0], [1, 1, 1], [0, 1, 1]], dtype=bool)
    question = Question(cover, np.ones(3), join, np.zeros(3), 3.0)
    for found in (fewest(question, seconds), joined_cover(question)):
        assert found is not None
        assert found.chosen == [0, 1, 2]
    assert joined_cover(question._replace(join=np.eye(3, dtype=bool))) is None


def test_a_person_reads_how_much_and_sees_what_is_missing() -> None:
    result = CliRunner().invoke(
        main, ["plan", "--optic", "narrow", "--eye", "right", "--region", "midperiphery", "--neck", "fixed"]
    )
    assert result.exit_code == 0
    assert "at most 64.2 % can be reached" in result.output
    assert "These can show it as asked: wide." in result.output
    assert "Beyond reach: 144.5 mm²" in result.output
    assert "x beyond reach; nasal is right" in result.output


def test_the_drawing_has_as_much_missing_as_was_measured_and_mirrors_the_left_eye() -> None:
    found = planned(PlanAsked(), 0.0)
    *right, legend = drawn(REGION, found.fields, found.gaps, "right")
    *left, _ = drawn(REGION, found.fields, found.gaps, "left")
    text = "".join(right)
    letters = sum(text.count(letter) for letter in (SHOWN, LEFT, MISSING))
    assert text.count(MISSING) / letters == pytest.approx(1.0 - found.reachable_fraction, abs=0.03)
    assert text.count(SHOWN) / letters == pytest.approx(found.region_fraction, abs=0.03)
    wide = max(len(line) for line in right) + 2
    assert [line[2:].ljust(wide)[:48][::-1].rstrip() for line in right] == [line[2:] for line in left]
    assert "nasal is right" in legend
