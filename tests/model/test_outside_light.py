"""The outside light: its place by SciPy's rotations, and what hides it by brute force along the line."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from model_demo import FACES, LIMITS, OPTIC, OPTICS, request
from scipy.spatial.transform import Rotation

from chinrest.model.answer import fit_request
from chinrest.model.clearance import body_of
from chinrest.model.light import gap_to_line_mm, offset_cm, refusal, sight_line_mm
from chinrest.model.pose import head_to_instrument
from chinrest.model.shape import FaceShape


@given(st.floats(-35, 35), st.floats(-25, 25), st.floats(30, 300))
def test_offset_is_where_the_turned_eye_meets_the_plane(h: float, v: float, target: float) -> None:
    """Both eyes turn alike: the ray of the turned eye, cut by a plane straight before the face."""
    x, y, z = Rotation.from_euler("YX", [h, -v], degrees=True).apply([0.0, 0.0, 1.0])
    right, up = offset_cm(h, v, target, right_eye=False)
    assert (right, up) == pytest.approx((target * x / z, target * y / z), abs=1e-9)
    assert offset_cm(h, v, target, right_eye=True)[0] == pytest.approx(-right, abs=1e-9)


def test_worked_example_of_the_signs() -> None:
    """Yaw 14, gaze 0,0: both eyes look 14 deg to the imaged eye's temple, a right eye to the right."""
    for eye, sign in (("right", 1.0), ("left", -1.0)):
        answer = fit_request(request("narrow", eye=eye, at_deg=(14.0, 0.0)), OPTICS, FACES, LIMITS)
        assert answer.outside_light_cm == pytest.approx(
            (sign * 100.0 * np.tan(np.radians(14.0)), 0.0), abs=1e-9
        )


def test_straight_ahead_needs_no_offset_and_target_scales() -> None:
    straight = fit_request(request("narrow", at_deg=(0.0, 0.0)), OPTICS, FACES, LIMITS)
    assert straight.outside_light_cm == (0.0, 0.0)
    near = fit_request(request("narrow", at_deg=(10.0, 0.0), target_cm=50.0), OPTICS, FACES, LIMITS)
    far = fit_request(request("narrow", at_deg=(10.0, 0.0), target_cm=200.0), OPTICS, FACES, LIMITS)
    assert near.outside_light_cm is not None
    assert far.outside_light_cm is not None
    assert far.outside_light_cm[0] == pytest.approx(4.0 * near.outside_light_cm[0])


def test_a_blind_fellow_eye_gets_no_outside_light() -> None:
    answer = fit_request(request("narrow", fellow_eye_sees=False), OPTICS, FACES, LIMITS)
    assert answer.outside_light_cm is None
    assert answer.outside_light_refused is not None
    assert answer.outside_light_refused.code == "fellow_eye_does_not_see"


def brute_gap(row: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Least gap between balls along a capsule and points along the line, both thick with samples."""
    t = np.linspace(0.0, 1.0, 200)[:, None]
    centres = row[0:3] + t * (row[4:7] - row[0:3])
    radii = row[3] + t[:, 0] * (row[7] - row[3])
    # The face is within 150 mm of the eye; the rest of the line is beyond it.
    near_end = start + (end - start) * min(1.0, 150.0 / float(np.linalg.norm(end - start)))
    line = start + np.linspace(0.0, 1.0, 1500)[:, None] * (near_end - start)
    gaps = np.linalg.norm(centres[:, None] - line[None], axis=2) - radii[:, None]
    return float(gaps.min())


@settings(deadline=None, max_examples=40)
@given(st.floats(-50, 50), st.floats(-35, 35))
def test_gap_to_the_line_is_careful_and_close(h: float, v: float) -> None:
    """Never wider than by brute force, and narrower by no more than the radii of one capsule differ."""
    shape = FaceShape(FACES, FACES.nominal)
    capsules = shape.capsules_mm(np.zeros(4))
    start, end = sight_line_mm(LIMITS.eye, 63.0, h, v, 100.0)
    for row, gap in zip(capsules, gap_to_line_mm(capsules, start, end), strict=True):
        truth = brute_gap(row, start, end)
        assert gap <= truth + 1e-9
        assert gap >= truth - abs(row[3] - row[7]) - 0.05


def refused(h: float, v: float, yaw: float = 0.0, optic: str = "narrow", **pose: Any) -> str | None:
    shape = FaceShape(FACES, FACES.nominal)
    chosen = OPTIC[optic]
    rotation, shift = head_to_instrument(
        LIMITS.eye, np.array([yaw]), np.zeros(1), pose.get("distance", chosen.working_distance_mm), (0.0, 0.0)
    )
    found = refusal(
        shape.capsules_mm(np.zeros(4)),
        shape.names,
        body_of(chosen.profile),
        rotation[0],
        shift[0],
        sight_line_mm(LIMITS.eye, 63.0, h, v, 100.0),
        63.0,
        LIMITS.sight_line_radius_mm,
        (h, v),
    )
    return found.code if found else None


def test_nose_hides_a_light_far_to_the_imaged_eyes_temple() -> None:
    """The fellow eye then looks across the nose: its bridge lies about 53 deg across and 20 deg down."""
    assert refused(-52.0, -18.0, distance=300.0) == "hidden_by_nose"
    assert refused(-20.0, 0.0, distance=300.0) is None


def test_instrument_hides_a_light_straight_along_its_axis_when_it_is_wide() -> None:
    """With the head turned back toward the optic, the fellow eye's line runs into its barrel."""
    assert refused(-25.0, 0.0, yaw=0.0, optic="ultrawide") == "hidden_by_instrument"
    assert refused(25.0, 0.0, yaw=0.0, optic="ultrawide") is None


def test_refused_light_has_no_offset() -> None:
    answer = fit_request(request("wide", gaze_deg=(-30.0, 0.0)), OPTICS, FACES, LIMITS)
    assert answer.outside_light_refused is not None
    assert answer.outside_light_cm is None
