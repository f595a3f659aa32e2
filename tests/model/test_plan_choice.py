"""Which optic to take: every figure in its row, dominated rows found, the trade named."""

from typing import Any

import pytest
from model_demo import AVERAGE, FACES, LIMITS, OPTICS
from msgspec import structs

from chinrest.model.choice import Choice, ChoiceAsked, ChoiceRow, choose
from chinrest.model.errors import InputError
from chinrest.model.fields.plan import FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach
from chinrest.model.retina.regions import region_of

PATIENT = Patient(measures=AVERAGE, age_band="60-79")
POLE = region_of("posterior_pole")


@pytest.fixture(scope="module")
def plans() -> list[FieldPlan]:
    return [plan(POLE, PlanAsked(), optic, "right", PATIENT, FACES, LIMITS, seconds=30.0) for optic in OPTICS]


def table(plans: list[FieldPlan], **asked: Any) -> Choice:
    return choose(ChoiceAsked(**asked), OPTICS, plans, "right", "posterior_pole")


def row(found: Choice, optic: str) -> ChoiceRow:
    return next(each for each in found.rows if each.optic == optic)


def test_a_row_has_the_figures_of_its_plan(plans: list[FieldPlan]) -> None:
    found = table(plans)
    assert [each.optic for each in found.rows] == [optic.id for optic in OPTICS]
    for each, made, optic in zip(found.rows, plans, OPTICS, strict=True):
        assert (each.fields, each.seconds, each.coverage) == (made.count, made.seconds, made.region_fraction)
        assert each.detail_px_per_deg == optic.pixels_per_deg
        assert each.head_turn_deg == max(abs(pose.yaw_deg) for pose in made.poses)
        assert each.working_distance_mm == min(pose.working_distance_mm for pose in made.poses)


def test_without_minutes_the_quickest_and_with_them_the_farthest_in_time(plans: list[FieldPlan]) -> None:
    """One field of the wide optic shows the pole; the narrow one needs four, from farther off."""
    assert table(plans).suggested == "wide"
    assert table(plans, minutes=5.0).suggested == "narrow"
    hurried = table(plans, minutes=0.1)
    assert hurried.suggested == "wide"
    assert row(hurried, "narrow").within_minutes is False


def test_the_reason_names_the_trade(plans: list[FieldPlan]) -> None:
    reason = table(plans).reason
    assert reason.startswith("Wide: 1 field in about 4 s, from 30 mm, no head turn, 30 pixels per degree")
    assert (
        "Narrow would give 20 mm farther from the eye, 22 pixels per degree more and cross-sections" in reason
    )
    assert "but 3 fields more" in reason
    late = table(plans, minutes=0.1, cross_sections=True)
    assert late.suggested == "narrow"
    assert "no optic keeps to 0.1 minutes, and this is the quickest" in late.reason


def test_what_an_optic_does_not_do_is_said_and_nothing_is_hidden(plans: list[FieldPlan]) -> None:
    found = table(plans, modalities=["colour"], cross_sections=True, detail_px_per_deg=40.0)
    assert len(found.rows) == len(OPTICS)
    assert found.suggested == "narrow"
    assert row(found, "ultrawide").why_not[:2] == ["It does not take colour.", "It takes no cross-sections."]
    assert row(found, "wide").why_not[-1] == "It shows 30 pixels per degree; 40 are asked."
    none = table(plans, detail_px_per_deg=1000.0)
    assert none.suggested is None
    assert "None" in none.reason


def test_an_optic_that_is_worse_in_all_is_dominated_and_never_suggested(plans: list[FieldPlan]) -> None:
    """A copy of the wide optic that is nearer, slower and coarser."""
    worse = structs.replace(OPTICS[1], id="worse", name="Worse", pixels_per_deg=20.0)
    pose = structs.replace(plans[1].poses[0], working_distance_mm=20.0)
    its = structs.replace(plans[1], optic="worse", poses=[pose], seconds=plans[1].seconds + 5.0)
    found = choose(ChoiceAsked(), [worse, *OPTICS], [its, *plans], "right", "posterior_pole")
    assert "wide" in row(found, "worse").dominated_by
    assert found.suggested == "wide"
    for each in found.rows:
        assert each.optic not in each.dominated_by
        for other in each.dominated_by:
            assert each.optic not in row(found, other).dominated_by


def test_a_region_beyond_reach_is_not_possible_and_says_how_much_is() -> None:
    limited = Patient(measures=structs.replace(AVERAGE, neck="limited"))
    region = region_of("midperiphery")
    reaches = [Reach(limited, optic, "right", FACES, LIMITS) for optic in OPTICS]
    made = [
        plan(
            region,
            PlanAsked(),
            reach.optic,
            "right",
            limited,
            FACES,
            LIMITS,
            others=reaches,
            reach=reach,
            seconds=2.0,
        )
        for reach in reaches
    ]
    found = choose(ChoiceAsked(), OPTICS, made, "right", "midperiphery")
    narrow = row(found, "narrow")
    assert not narrow.possible
    assert narrow.reachable < 0.95
    assert "can be reached" in narrow.why_not[0]


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"minutes": 0.0}, "0.1 to 600"),
        ({"minutes": float("nan")}, "0.1 to 600"),
        ({"detail_px_per_deg": -1.0}, "0.1 to 10000"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_the_range(
    plans: list[FieldPlan], asked: dict[str, float], why: str
) -> None:
    with pytest.raises(InputError, match=why):
        table(plans, **asked)
