"""A plan of fields on the retina: it covers what it says, joined, within reach, in order."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from model_demo import AVERAGE, FACES, LIMITS, OPTIC, OPTICS
from msgspec import structs

from chinrest.model.answer import fit_request
from chinrest.model.errors import InputError
from chinrest.model.fields.cells import cells, seen_by
from chinrest.model.fields.cover import Question, fewest
from chinrest.model.fields.coverage import coverage
from chinrest.model.fields.plan import FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach, Reached, candidates, request_of
from chinrest.model.fields.shown import shown_by
from chinrest.model.retina.projection import direction
from chinrest.model.retina.regions import region_of

PATIENT = Patient(measures=AVERAGE, age_band="60-79")
CASES = [
    ("narrow", "posterior_pole"),
    ("wide", "posterior_pole"),
    ("wide", "seven_fields"),
    ("wide", "midperiphery"),
    ("ultrawide", "seven_fields"),
    ("ultrawide", "midperiphery"),
]


@cache
def reach_of(optic: str, patient: Patient = PATIENT) -> Reach:
    return Reach(patient, OPTIC[optic], "right", FACES, LIMITS)


@cache
def planned(
    optic: str, region: str, least: float = 0.95, seconds: float = 60.0, patient: Patient = PATIENT
) -> FieldPlan:
    return plan(
        region_of(region),
        PlanAsked(coverage=least),
        OPTIC[optic],
        "right",
        patient,
        FACES,
        LIMITS,
        others=[reach_of(other.id, patient) for other in OPTICS],
        reach=reach_of(optic, patient),
        seconds=seconds,
    )


@pytest.mark.parametrize(("optic", "region"), CASES)
def test_a_plan_covers_what_it_says(optic: str, region: str) -> None:
    """Counted in finer cells than the planner's, and against what was asked."""
    found = planned(optic, region)
    fine = cells(0.2)
    inside = fine.mask(region_of(region))
    seen = seen_by(fine, [(field_deg, h, v) for h, v, field_deg in found.fields])[:, inside]
    counted = float(np.mean(seen.any(axis=0)))
    assert found.feasible
    assert found.region_fraction == pytest.approx(counted, abs=0.005)
    assert found.region_fraction >= found.asked.coverage - 1e-6
    assert found.proved
    assert found.count == found.lower_bound == len(found.fields) == len(found.poses)


@pytest.mark.parametrize(("optic", "region"), CASES)
def test_its_fields_are_joined_and_in_an_order_that_keeps_them_joined(optic: str, region: str) -> None:
    """By a walk of its own over the exact overlaps: each field is joined to one that was taken before it."""
    found = planned(optic, region)
    overlap = coverage([(field_deg, h, v) for h, v, field_deg in found.fields]).overlap
    for i in range(1, found.count):
        shares = [overlap[i][j] / min(overlap[i][i], overlap[j][j]) for j in range(i)]
        assert max(shares) >= found.asked.overlap
    if found.count > 1:
        assert found.least_join_overlap is not None
        assert found.least_join_overlap >= found.asked.overlap
    away = [float(np.arccos(direction(h, v) @ direction(0.0, 0.0))) for h, v, _ in found.fields]
    assert away[0] == pytest.approx(min(away))


@pytest.mark.parametrize(("optic", "region"), CASES[2:4])
def test_every_field_is_within_this_patients_reach(optic: str, region: str) -> None:
    """The fit model, asked for each gaze by itself, gives the pose and the field that the plan counted on."""
    found = planned(optic, region)
    request = request_of(PATIENT, OPTIC[optic], "right", FACES)
    for (h, v, field_deg), pose in zip(found.fields, found.poses, strict=True):
        answer = fit_request(structs.replace(request, gaze_deg=(h, v)), OPTICS, FACES, LIMITS)
        assert answer.feasible
        assert answer.yaw_deg == pytest.approx(pose.yaw_deg, abs=0.06)
        assert answer.pitch_deg == pytest.approx(pose.pitch_deg, abs=0.06)
        assert answer.field_deg == pytest.approx(field_deg, abs=0.01)


def test_left_and_right_eye_have_the_same_plan() -> None:
    left = plan(region_of("posterior_pole"), PlanAsked(), OPTIC["narrow"], "left", PATIENT, FACES, LIMITS)
    assert left.fields == planned("narrow", "posterior_pole").fields


def test_a_region_beyond_reach_says_how_much_can_be_and_names_the_optics_that_can() -> None:
    limited = structs.replace(PATIENT, measures=structs.replace(AVERAGE, neck="limited"))
    found = planned("narrow", "midperiphery", seconds=4.0, patient=limited)
    assert not found.feasible
    assert found.reason is not None
    assert found.reason.code == "region_beyond_reach"
    assert found.other_optics == ["ultrawide"] or set(found.other_optics) == {"wide", "ultrawide"}
    for other in OPTICS:
        if other.id in found.other_optics:
            assert planned(other.id, "midperiphery", patient=limited).feasible
        assert other.id in found.reason.sentence or other.id not in found.other_optics
    # what no gaze shows, as outlines: with all that can be shown it makes up the region
    gaps = sum(gap.area_mm2 for gap in found.gaps)
    region = region_of("midperiphery")
    assert found.reachable_fraction < found.asked.coverage
    assert gaps / region.area_mm2 == pytest.approx(1.0 - found.reachable_fraction, abs=0.005)
    assert found.region_fraction <= found.reachable_fraction + 1e-9


def test_a_child_has_no_computed_plan() -> None:
    child = Patient(measures=AVERAGE, age_band="child")
    found = plan(region_of("posterior_pole"), PlanAsked(), OPTIC["wide"], "right", child, FACES, LIMITS)
    assert not found.feasible
    assert found.reason is not None
    assert found.reason.code == "child_no_computed_turn"
    assert found.fields == []


def test_a_narrow_pupil_takes_gazes_away() -> None:
    """Seen along a gaze the pupil is narrower; beyond that the optic gets no light."""
    wide, narrow = Patient(measures=AVERAGE, pupil_mm=8.0), Patient(measures=AVERAGE, pupil_mm=4.2)
    grid = candidates()
    more, fewer = (reach_of("wide", patient).all(grid) for patient in (wide, narrow))
    assert {(g.h, g.v) for g in fewer} < {(g.h, g.v) for g in more}
    assert (
        Reach(Patient(measures=AVERAGE, pupil_mm=3.9), OPTIC["wide"], "right", FACES, LIMITS).all(grid) == []
    )


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (PlanAsked(coverage=0.0), "above 0 to 1"),
        (PlanAsked(coverage=1.01), "above 0 to 1"),
        (PlanAsked(coverage=float("nan")), "above 0 to 1"),
        (PlanAsked(overlap=-0.01), "0 to 0.9"),
        (PlanAsked(overlap=0.95), "0 to 0.9"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_the_range(asked: PlanAsked, why: str) -> None:
    with pytest.raises(InputError, match=why):
        plan(region_of("posterior_pole"), asked, OPTIC["wide"], "right", PATIENT, FACES, LIMITS)


def test_a_pupil_that_nobody_has_is_refused_with_the_range() -> None:
    with pytest.raises(InputError, match=r"0\.5 to 10 mm"):
        Reach(Patient(pupil_mm=0.2), OPTIC["wide"], "right", FACES, LIMITS)


# Every gaze of a coarse grid within reach at no cost: counts follow from field, coverage and overlap alone.
GRID = [(float(h), float(v)) for h in range(-48, 49, 12) for v in range(-24, 25, 12)]


def count_of(region: str, field_deg: float, least: float, overlap: float) -> int | None:
    """Fewest fields on the free grid; None where none do or the proof is not whole."""
    reached = [Reached(h, v, field_deg, 0.0, 0.0, 0.0, (0.0, 0.0), 0.0) for h, v in GRID]
    shown = shown_by(reached, region_of(region), overlap)
    weight, cost = np.ones(len(shown.cover)), np.zeros(len(shown.reached))
    found = fewest(Question(shown.cover, weight, shown.join, cost, least * shown.cells), 30.0)
    return len(found.chosen) if found and found.proved else None


REGIONS = st.sampled_from(["posterior_pole", "seven_fields", "midperiphery"])


@settings(deadline=None, max_examples=12)
@given(region=REGIONS, field=st.floats(40.0, 110.0), least=st.floats(0.5, 0.9), more=st.floats(0.01, 0.09))
def test_more_coverage_never_needs_fewer_fields(region: str, field: float, least: float, more: float) -> None:
    few, many = count_of(region, field, least, 0.2), count_of(region, field, least + more, 0.2)
    if few is not None and many is not None:
        assert many >= few


@settings(deadline=None, max_examples=12)
@given(region=REGIONS, field=st.floats(40.0, 110.0), wider=st.floats(2.0, 40.0), least=st.floats(0.5, 0.98))
def test_a_wider_field_never_needs_more(region: str, field: float, wider: float, least: float) -> None:
    narrow, wide = count_of(region, field, least, 0.2), count_of(region, field + wider, least, 0.2)
    if narrow is not None and wide is not None:
        assert wide <= narrow
