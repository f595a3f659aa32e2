"""Known patterns beside a plan, and sweeps: where their frames are, what they show, how they compare."""

from functools import cache

import pytest
from model_demo import AVERAGE, FACES, LIMITS, OPTIC

from chinrest.model.fields.coverage import coverage
from chinrest.model.fields.patterns import Pattern, layouts, patterns
from chinrest.model.fields.plan import FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach
from chinrest.model.fields.sweep import Sweep, sweep
from chinrest.model.retina.regions import region_of, seven_standard_fields
from chinrest.model.series.pace import PACE

PATIENT = Patient(measures=AVERAGE, age_band="60-79")
POLE = region_of("posterior_pole")


@cache
def reach_of(optic: str) -> Reach:
    return Reach(PATIENT, OPTIC[optic], "right", FACES, LIMITS)


@cache
def planned(optic: str) -> FieldPlan:
    return plan(
        POLE, PlanAsked(), OPTIC[optic], "right", PATIENT, FACES, LIMITS, reach=reach_of(optic), seconds=30.0
    )


@cache
def beside(optic: str) -> dict[str, Pattern]:
    found = patterns(planned(optic), POLE, OPTIC[optic], reach_of(optic), PACE)
    return {pattern.id: pattern for pattern in found}


@cache
def swept(optic: str) -> Sweep:
    return sweep(reach_of(optic), 0.2)


def test_every_known_pattern_is_there_with_its_frames() -> None:
    counts = {layout.id: len(layout.gazes) for layout in layouts(32.0)}
    assert counts == {
        "single": 1,
        "two_fields": 2,
        "seven_standard_fields": 7,
        "grid_3x3": 9,
        "ring_of_four": 5,
        "ring_of_eight": 9,
    }
    assert set(beside("narrow")) == set(counts)


@pytest.mark.parametrize("optic", ["narrow", "ultrawide"])
def test_the_seven_fields_stand_where_their_definition_puts_them(optic: str) -> None:
    """Frames of 30 degrees; a wider optic is counted for no more."""
    found = beside(optic)["seven_standard_fields"]
    assert [(field, h, v) for h, v, field in found.fields] == [
        pytest.approx(cone) for cone in seven_standard_fields()
    ]
    assert found.as_defined
    assert found.pulled_in == found.left_out == 0


def test_the_seven_fields_show_all_of_their_own_region_and_a_single_ultrawide_one_does_too() -> None:
    """The seven standard fields' union is the region; their gazes lie off the planner's grid."""
    region = region_of("seven_fields")
    found = patterns(planned("wide"), region, OPTIC["wide"], reach_of("wide"), PACE)
    by_id = {pattern.id: pattern for pattern in found}
    assert by_id["seven_standard_fields"].region_fraction == pytest.approx(1.0, abs=1e-6)
    single = plan(region, PlanAsked(coverage=1.0), OPTIC["ultrawide"], "right", PATIENT, FACES, LIMITS)
    assert (single.count, single.proved) == (1, True)


@pytest.mark.parametrize("optic", ["narrow", "wide", "ultrawide"])
def test_figures_of_a_pattern_are_those_of_its_fields(optic: str) -> None:
    for pattern in beside(optic).values():
        measured = coverage([(field, h, v) for h, v, field in pattern.fields], POLE)
        assert pattern.region_fraction == pytest.approx(measured.region_fraction)
        assert pattern.least_join_overlap == pytest.approx(measured.least_join_overlap, abs=1e-3)
        assert pattern.frames == len(pattern.fields) == len(pattern.poses)
        assert all(reach_of(optic).at((h, v)) for h, v, _ in pattern.fields)
        assert pattern.seconds >= pattern.frames * PACE.frame_s


def test_the_sentence_says_what_is_worse_than_the_plan() -> None:
    """The narrow optic's plan of the posterior pole needs four fields."""
    found, made = beside("narrow"), planned("narrow")
    assert not found["single"].meets
    assert found["single"].sentence.startswith("Shows less than is asked")
    assert "joined by as little as" in found["seven_standard_fields"].sentence
    assert not found["seven_standard_fields"].meets
    for pattern in found.values():
        if pattern.meets:
            assert pattern.frames >= made.count, "the plan was proved the fewest"
            assert pattern.region_fraction >= made.asked.coverage
        assert f"plan's {made.count} frames" in pattern.sentence
    assert beside("wide")["single"].sentence.startswith("As good as the plan")


def test_a_wide_pattern_is_pulled_in_to_what_the_patient_reaches() -> None:
    ring = beside("ultrawide")["ring_of_eight"]
    asked = {layout.id: layout.gazes for layout in layouts(OPTIC["ultrawide"].field_deg)}["ring_of_eight"]
    assert ring.pulled_in > 0
    assert not ring.as_defined
    for (h, v, _), (asked_h, asked_v) in zip(ring.fields, asked, strict=True):
        assert abs(h) <= abs(asked_h) + 1e-9
        assert abs(v) <= abs(asked_v) + 1e-9


@pytest.mark.parametrize("optic", ["narrow", "wide", "ultrawide"])
def test_a_sweep_goes_frame_overlapping_frame_from_the_centre(optic: str) -> None:
    found = swept(optic)
    assert found.fields[0][:2] == (0.0, 0.0)
    cones = [(field, h, v) for h, v, field in found.fields]
    for i in range(1, len(cones)):
        overlap = coverage([cones[i - 1], cones[i]]).overlap
        share = overlap[0][1] / min(overlap[0][0], overlap[1][1])
        assert (share >= found.overlap - 1e-9) is found.joined[i]
    assert all(found.joined)


@pytest.mark.parametrize("optic", ["narrow", "wide", "ultrawide"])
def test_a_sweeps_sectors_are_the_retina_by_hours(optic: str) -> None:
    found = swept(optic)
    assert [sector.id for sector in found.sectors[:2]] == ["centre", "mid-12"]
    assert len(found.sectors) == 1 + 2 * 12
    for sector in found.sectors:
        assert all(0 <= frame < len(found.fields) for frame in sector.frames)
        assert 0.0 <= sector.shown <= 1.0
        assert sector.shown >= 0.5 or not sector.frames
    # nasal lies at 3 in a right eye: what looks farthest nasal shows that sector best
    nasal = max(range(len(found.fields)), key=lambda i: found.fields[i][0])
    mid = next(sector for sector in found.sectors if sector.id == "mid-3")
    assert found.fields[mid.frames[0]][0] > 0.0 if mid.frames else found.fields[nasal][0] > 0.0
