"""Answers for the demo's invented optics, and what the model refuses."""

from typing import Any

import pytest
from model_demo import FACES, LIMITS, OPTIC, OPTICS, request
from msgspec import structs

from chinrest.model.answer import fit_request
from chinrest.model.errors import InputError
from chinrest.model.fit import FitResult
from chinrest.model.optic import Optic, optic_faults


def ask(optic: str, **given: Any) -> FitResult:
    return fit_request(request(optic, **given), OPTICS, FACES, LIMITS)


def test_demo_scenario() -> None:
    """None with the narrow optic, a modest turn with the ultra-wide one, clearly more for a deep-set eye."""
    assert (ask("narrow").yaw_deg, ask("narrow").pitch_deg) == (0.0, 0.0)
    average, deep = ask("ultrawide"), ask("ultrawide", exophthalmometry="deep-set")
    assert average.yaw_deg is not None
    assert deep.yaw_deg is not None
    assert 8.0 <= average.yaw_deg <= 20.0
    assert deep.yaw_deg >= average.yaw_deg + 6.0
    assert average.working_distance_mm == deep.working_distance_mm == OPTIC["ultrawide"].working_distance_mm


def test_a_fixed_neck_is_told_what_would_fit() -> None:
    answer = ask("ultrawide", neck="fixed")
    assert not answer.feasible
    assert answer.reason is not None
    assert answer.reason.code == "no_pose_clears_face"
    assert answer.other_optics == ["narrow", "wide"]
    assert "narrow, wide" in answer.reason.sentence
    for key in ("yaw_deg", "pitch_deg", "working_distance_mm", "clearance_mm", "nearest", "eye_in_head_deg"):
        assert getattr(answer, key) is None
    assert answer.head_to_instrument is None
    assert len(answer.capsules) == len(FACES.capsules)
    assert answer.optic_profile == OPTIC["ultrawide"].profile


def test_a_gaze_beyond_every_turn_says_so() -> None:
    answer = ask("narrow", neck="fixed", gaze_deg=(40.0, 0.0))
    assert answer.reason is not None
    assert answer.reason.code == "eye_cannot_reach_gaze"


def test_upward_gaze_is_shorter_with_age() -> None:
    """With a fixed neck a young eye reaches this gaze, an old one does not; no age counts as oldest."""
    gaze = (0.0, 21.0)
    assert ask("narrow", neck="fixed", gaze_deg=gaze, age_band="18-39").feasible
    assert not ask("narrow", neck="fixed", gaze_deg=gaze, age_band="60-79").feasible
    assert not ask("narrow", neck="fixed", gaze_deg=gaze, age_band=None).feasible


def test_backing_off_is_taken_only_when_needed_and_costs_field() -> None:
    answer = ask("ultrawide", exophthalmometry=8.0)
    optic = OPTIC["ultrawide"]
    assert answer.working_distance_mm is not None
    assert answer.field_deg is not None
    assert (
        optic.working_distance_mm
        < answer.working_distance_mm
        <= optic.working_distance_mm + optic.tolerance_mm
    )
    assert answer.field_deg < optic.field_deg
    assert "backed_off" in [warning.code for warning in answer.warnings]


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"age_band": "child"}, "child_no_computed_turn"),
        ({"unusual_face": True}, "unusual_face_no_computed_turn"),
    ],
)
def test_no_turn_is_computed_where_the_tables_do_not_reach(given: dict[str, Any], code: str) -> None:
    for at in (None, (10.0, 0.0)):
        answer = ask("wide", at_deg=at, **given)
        assert not answer.feasible
        assert answer.reason is not None
        assert answer.reason.code == code
        assert "from the side" in answer.reason.sentence
        assert answer.yaw_deg is None


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"at_deg": (0.0, 0.0)}, "clearance_below_margin"),
        ({"at_deg": (45.0, 0.0), "at_distance_mm": 13.0}, "neck_beyond_limit"),
        ({"at_deg": (14.0, 0.0), "at_distance_mm": 30.0}, "distance_outside_tolerance"),
        ({"at_deg": (20.0, 0.0), "gaze_deg": (-20.0, 0.0)}, "eye_beyond_limit"),
    ],
)
def test_given_pose_is_judged_and_still_shown(given: dict[str, Any], code: str) -> None:
    answer = ask("ultrawide", exophthalmometry="prominent", nose="low", **given)
    assert not answer.feasible
    assert answer.reason is not None
    assert answer.reason.code == code
    assert answer.clearance_mm is not None
    assert answer.head_to_instrument is not None


def test_narrowed_pupil_is_warned_of() -> None:
    """5.6 mm seen 30 deg off: 0.918 of its width, 5.1 mm, for nasal gaze; 0.844, 4.7 mm, for temporal."""
    nasal, temporal = (ask("ultrawide", pupil_mm=5.6, gaze_deg=(h, 0.0)) for h in (30.0, -30.0))
    assert nasal.pupil_ratio == pytest.approx(0.9177, abs=1e-4)
    assert temporal.pupil_ratio == pytest.approx(0.8442, abs=1e-4)
    codes = [[warning.code for warning in answer.warnings] for answer in (nasal, temporal)]
    assert ["pupil_narrow" in some for some in codes] == [False, True]


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"pd_mm": 44.0}, "pd_mm"),
        ({"pd_mm": float("nan")}, "pd_mm"),
        ({"exophthalmometry": 27.0}, "exophthalmometry"),
        ({"gaze_deg": (61.0, 0.0)}, "gaze_deg"),
        ({"gaze_deg": (0.0, float("nan"))}, "gaze_deg"),
        ({"pupil_mm": 0.0}, "pupil_mm"),
        ({"target_cm": 5.0}, "target_cm"),
        ({"at_deg": (0.0, 91.0)}, "at_deg"),
        ({"at_deg": (0.0, 0.0), "at_distance_mm": -1.0}, "at_distance_mm"),
    ],
)
def test_out_of_range_is_refused_at_its_field_with_the_range(given: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError, match=r"outside .* to ") as refused:
        ask("wide", **given)
    assert refused.value.field == field


def test_unknown_optic_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="narrow, wide, ultrawide"):
        ask("other")


def test_demo_optics_are_sound() -> None:
    for optic in OPTICS:
        assert optic_faults(optic, LIMITS.eye.pupil_depth_mm) == []


@pytest.mark.parametrize(
    ("change", "key", "why"),
    [
        ({"clear_radius_mm": 12.0}, "clear_radius_mm", "needs at least"),
        ({"clear_radius_mm": 30.0}, "profile", "less than clear_radius_mm"),
        ({"profile": [(0.0, 26.0)]}, "profile", "at least two points"),
        ({"profile": [(1.0, 26.0), (40.0, 50.0)]}, "profile", "start at the rim"),
        ({"profile": [(0.0, 26.0), (20.0, 28.0), (40.0, 56.0)]}, "profile", "bends inward at point 2"),
        ({"profile": [(0.0, 26.0), (20.0, 30.0), (20.0, 56.0)]}, "profile", "above the point before"),
        ({"profile": [(0.0, 26.0), (20.0, 0.0)]}, "profile", "must be above 0"),
        ({"field_deg": 190.0}, "field_deg", "from 1 to 179"),
        ({"field_settings_deg": [120.0]}, "field_settings_deg", "below field_deg"),
        ({"modalities": []}, "modalities", "is empty"),
    ],
)
def test_an_optic_that_contradicts_itself_is_named(change: dict[str, Any], key: str, why: str) -> None:
    spoilt: Optic = structs.replace(OPTIC["ultrawide"], **change)
    faults = optic_faults(spoilt, LIMITS.eye.pupil_depth_mm)
    assert any(fault.key == key and why in fault.reason for fault in faults), faults
