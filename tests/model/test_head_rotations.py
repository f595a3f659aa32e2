"""Rotations and signs against SciPy's rotations, and the signs as worked examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from model_demo import FACES, LIMITS, OPTICS, request
from scipy.spatial.transform import Rotation

from chinrest.model.answer import fit_request
from chinrest.model.eye import Eye, entrance_pupil_mm
from chinrest.model.pose import (
    eye_in_head_deg,
    eye_turn_deg,
    gaze_direction,
    head_rotation,
    head_to_instrument,
)

angles = st.floats(-60.0, 60.0)
gazes = st.tuples(st.floats(-45.0, 45.0), st.floats(-30.0, 30.0))


@given(angles, angles)
def test_head_rotation_is_scipys_yaw_then_pitch(yaw: float, pitch: float) -> None:
    """SciPy: intrinsic rotations about Y, then about the new X; chin up is minus X."""
    ours = head_rotation(yaw, pitch)
    assert ours == pytest.approx(
        Rotation.from_euler("YX", [yaw, -pitch], degrees=True).as_matrix(), abs=1e-12
    )


@given(angles, angles, gazes)
def test_eye_in_head_is_the_gaze_seen_from_the_head(
    yaw: float, pitch: float, gaze: tuple[float, float]
) -> None:
    head = Rotation.from_euler("YX", [yaw, -pitch], degrees=True)
    direction = head.inv().apply(
        Rotation.from_euler("YX", [gaze[0], -gaze[1]], degrees=True).apply([0.0, 0.0, 1.0])
    )
    h, v = eye_in_head_deg(head_rotation(yaw, pitch), gaze)
    assert gaze_direction(float(h), float(v)) == pytest.approx(direction, abs=1e-12)


@given(angles, angles, gazes)
def test_eye_turn_is_the_whole_angle(yaw: float, pitch: float, gaze: tuple[float, float]) -> None:
    h, v = eye_in_head_deg(head_rotation(yaw, pitch), gaze)
    whole = np.degrees(np.arccos(np.clip(gaze_direction(float(h), float(v))[2], -1.0, 1.0)))
    assert float(eye_turn_deg(np.array(yaw), np.array(pitch), gaze)) == pytest.approx(whole, abs=2e-5)


def test_turning_the_face_away_turns_the_eye_to_the_temple() -> None:
    """Yaw 14, gaze straight into the optic: the eye in its head turns 14 deg toward the temple."""
    answer = fit_request(request(at_deg=(14.0, 0.0)), OPTICS, FACES, LIMITS)
    assert answer.eye_in_head_deg == pytest.approx((-14.0, 0.0), abs=1e-12)


def test_signs_of_yaw_and_pitch() -> None:
    """Yaw + carries the face's forward direction to the nasal side, and the nose away from the optic."""
    face_forward, nose = np.array([0.0, 0.0, 1.0]), np.array([31.5, 0.0, 20.0])
    assert (head_rotation(20.0, 0.0) @ face_forward)[0] > 0.0
    assert (head_rotation(20.0, 0.0) @ nose)[2] < nose[2]
    assert (head_rotation(0.0, 10.0) @ face_forward)[1] > 0.0, "chin up lifts the face's forward direction"
    h, v = eye_in_head_deg(head_rotation(0.0, 10.0), (0.0, 0.0))
    assert (float(h), float(v)) == pytest.approx((0.0, -10.0)), "chin up: the eye looks down in its head"
    h, _ = eye_in_head_deg(head_rotation(0.0, 0.0), (15.0, 0.0))
    assert float(h) == pytest.approx(15.0), "nasal gaze is +"


def test_turns_are_composed_not_added() -> None:
    """With the chin up, the eye does not turn as far as the head did: adding would say -30, -20."""
    h, v = eye_in_head_deg(head_rotation(30.0, 20.0), (0.0, 0.0))
    expected = Rotation.from_euler("YX", [30.0, -20.0], degrees=True).inv().apply([0.0, 0.0, 1.0])
    assert gaze_direction(float(h), float(v)) == pytest.approx(expected)
    assert abs(float(h) + 30.0) > 1.0
    assert abs(float(v) + 20.0) > 1.0


@given(angles, angles, gazes, st.floats(5.0, 60.0))
def test_entrance_pupil_stays_on_the_axis(
    yaw: float, pitch: float, gaze: tuple[float, float], distance: float
) -> None:
    """However head and eye turn, it is the working distance and its own depth before the rim."""
    eye = Eye()
    rotation, shift = head_to_instrument(eye, np.array([yaw]), np.array([pitch]), distance, gaze)
    h, v = eye_in_head_deg(rotation, gaze)
    pupil = rotation[0] @ entrance_pupil_mm(eye, h, v)[0] + shift[0]
    assert pupil == pytest.approx([0.0, 0.0, -(distance + eye.pupil_depth_mm)], abs=1e-9)


@given(st.floats(-45.0, 45.0), st.floats(-45.0, 45.0))
def test_pupil_turns_about_two_centres(h: float, v: float) -> None:
    """Vertical turn about its own centre first, then both about the horizontal centre (SciPy rotations)."""
    eye = Eye()
    low = np.array([0.0, eye.vertical_centre_up_mm, -eye.vertical_centre_depth_mm])
    wide = np.array([eye.horizontal_centre_nasal_mm, 0.0, -eye.horizontal_centre_depth_mm])
    tipped = Rotation.from_euler("x", -v, degrees=True).apply([0.0, 0.0, -eye.pupil_depth_mm] - low) + low
    turned = Rotation.from_euler("y", h, degrees=True).apply(tipped - wide) + wide
    assert entrance_pupil_mm(eye, h, v) == pytest.approx(turned, abs=1e-12)


def test_straight_gaze_leaves_the_pupil_behind_the_apex() -> None:
    assert entrance_pupil_mm(Eye(), 0.0, 0.0) == pytest.approx([0.0, 0.0, -3.04])
