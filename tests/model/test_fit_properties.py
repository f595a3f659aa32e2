"""What must hold for every face, pose and optic (Hypothesis): properties of the model, no other source."""

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from model_demo import FACES, LIMITS, OPTICS, request
from msgspec import structs, to_builtins

from chinrest.model.answer import fit_request, pose_clearance, question_of
from chinrest.model.clearance import clearances_at
from chinrest.model.face import FaceTables
from chinrest.model.fit import FitRequest, Limits
from chinrest.model.pose import eye_in_head_deg, head_to_instrument
from chinrest.model.solve import solve

optics = st.sampled_from([optic.id for optic in OPTICS])
noses, brows = st.sampled_from(["low", "medium", "high"]), st.sampled_from(["flat", "medium", "heavy"])
depths, pds = st.floats(9.0, 24.0), st.floats(52.0, 74.0)
gazes = st.tuples(st.floats(-25.0, 25.0), st.floats(-15.0, 15.0))
neck = LIMITS.necks["free"]
poses = st.tuples(st.floats(-neck.yaw_deg, neck.yaw_deg), st.floats(-neck.pitch_deg, neck.pitch_deg))
faces = st.fixed_dictionaries({"pd_mm": pds, "exophthalmometry": depths, "nose": noses, "brow": brows})
GAP = LIMITS.solver


def clearance(question: FitRequest) -> float:
    return pose_clearance(question, OPTICS, FACES, LIMITS)


@settings(deadline=None, max_examples=150)
@given(optics, faces, gazes, poses, st.floats(0.0, 1.0), st.floats(0.1, 6.0))
def test_a_deeper_eye_never_has_more_room(
    optic: str,
    face: dict[str, Any],
    gaze: tuple[float, float],
    pose: tuple[float, float],
    back: float,
    deeper: float,
) -> None:
    """At one pose, over the whole of a free neck. (Holds while the head tips less than the optic widens.)"""
    assume(face["exophthalmometry"] - deeper >= FACES.exophthalmometry_range.low)
    chosen = next(o for o in OPTICS if o.id == optic)
    distance = chosen.working_distance_mm + back * chosen.tolerance_mm
    shallow = request(optic, gaze_deg=gaze, at_deg=pose, at_distance_mm=distance, **face)
    deep = request(
        optic,
        gaze_deg=gaze,
        at_deg=pose,
        at_distance_mm=distance,
        **{**face, "exophthalmometry": face["exophthalmometry"] - deeper},
    )
    assert clearance(deep) <= clearance(shallow) + 1e-6


@settings(deadline=None, max_examples=100)
@given(optics, faces, gazes, poses)
def test_a_higher_bridge_or_heavier_brow_never_has_more_room(
    optic: str, face: dict[str, Any], gaze: tuple[float, float], pose: tuple[float, float]
) -> None:
    for key, order in (("nose", ("low", "medium", "high")), ("brow", ("flat", "medium", "heavy"))):
        room = [
            clearance(request(optic, gaze_deg=gaze, at_deg=pose, **{**face, key: value})) for value in order
        ]
        assert room[1] <= room[0] + 1e-6
        assert room[2] <= room[1] + 1e-6


@settings(deadline=None, max_examples=40)
@given(faces, gazes, st.floats(0.5, 6.0), st.floats(0.1, 3.0))
def test_more_margin_never_lowers_the_discomfort(
    face: dict[str, Any], gaze: tuple[float, float], margin: float, more: float
) -> None:
    """At one distance; to within the gap that the solver states."""
    optic = next(o for o in OPTICS if o.id == "ultrawide")
    question = question_of(request("ultrawide", gaze_deg=gaze, **face), optic, FACES, LIMITS)
    less = solve(question._replace(margin_mm=margin), optic.working_distance_mm)
    wide = solve(question._replace(margin_mm=margin + more), optic.working_distance_mm)
    if wide is not None:
        assert less is not None, "what fits with more margin fits with less"
        assert less.discomfort <= wide.discomfort * (1.0 + 2.0 * GAP.relative_gap) + 2.0 * GAP.absolute_gap


@settings(deadline=None, max_examples=30)
@given(optics, faces, gazes, st.sampled_from(["free", "limited", "fixed"]))
def test_left_is_the_mirror_of_right(
    optic: str, face: dict[str, Any], gaze: tuple[float, float], neck: str
) -> None:
    """One frame serves both eyes; only what the patient sees to the right or left changes its sign."""
    right = to_builtins(
        fit_request(request(optic, eye="right", gaze_deg=gaze, neck=neck, **face), OPTICS, FACES, LIMITS)
    )
    left = to_builtins(
        fit_request(request(optic, eye="left", gaze_deg=gaze, neck=neck, **face), OPTICS, FACES, LIMITS)
    )
    assert (right.pop("eye"), left.pop("eye")) == ("right", "left")
    aside = right.pop("outside_light_cm"), left.pop("outside_light_cm")
    if aside[0] is None:
        assert aside[1] is None
    else:
        assert aside[0] == pytest.approx([-aside[1][0], aside[1][1]])
    assert right == left


@settings(deadline=None, max_examples=30)
@given(optics, faces, gazes, st.sampled_from(["free", "limited", "fixed"]))
def test_an_advised_pose_holds_when_it_is_judged(
    optic: str, face: dict[str, Any], gaze: tuple[float, float], neck: str
) -> None:
    asked = request(optic, gaze_deg=gaze, neck=neck, **face)
    advised = fit_request(asked, OPTICS, FACES, LIMITS)
    assume(advised.feasible)
    assert advised.yaw_deg is not None
    assert advised.pitch_deg is not None
    given_pose = structs.replace(
        asked, at_deg=(advised.yaw_deg, advised.pitch_deg), at_distance_mm=advised.working_distance_mm
    )
    judged = fit_request(given_pose, OPTICS, FACES, LIMITS)
    assert judged.feasible, judged.reason
    assert judged == advised
    assert judged.clearance_mm is not None
    assert judged.clearance_mm >= LIMITS.margin_mm


@settings(deadline=None, max_examples=25)
@given(faces, gazes)
def test_no_cheaper_pose_on_a_fine_grid_is_feasible(face: dict[str, Any], gaze: tuple[float, float]) -> None:
    """A grid of a fifth of a degree over the whole neck, at the advised distance, beyond the stated gap."""
    asked = request("ultrawide", gaze_deg=gaze, **face)
    advised = fit_request(asked, OPTICS, FACES, LIMITS)
    assume(advised.feasible)
    assert advised.discomfort is not None
    cheaper = grid_of_cheaper_poses(asked, LIMITS, advised.discomfort)
    feasible = feasible_poses(asked, FACES, LIMITS, cheaper, advised.working_distance_mm or 0.0)
    assert not feasible.any(), cheaper[feasible][:3]


@settings(deadline=None, max_examples=15)
@given(faces, gazes, st.sampled_from(["free", "limited", "fixed"]))
def test_nothing_fits_where_none_is_advised(
    face: dict[str, Any], gaze: tuple[float, float], neck: str
) -> None:
    """Infeasible: no pose of a grid holds even at the farthest distance. Backed off: none holds nearer."""
    asked = request("ultrawide", gaze_deg=gaze, neck=neck, **face)
    optic = next(o for o in OPTICS if o.id == "ultrawide")
    answer = fit_request(asked, OPTICS, FACES, LIMITS)
    every = grid_of_cheaper_poses(asked, LIMITS, np.inf)
    if answer.feasible:
        assert answer.working_distance_mm is not None
        nearer = answer.working_distance_mm - LIMITS.solver.distance_step_mm
        assume(nearer >= optic.working_distance_mm)
        assert not feasible_poses(asked, FACES, LIMITS, every, nearer).any()
    else:
        farthest = optic.working_distance_mm + optic.tolerance_mm
        assert not feasible_poses(asked, FACES, LIMITS, every, farthest).any()


def grid_of_cheaper_poses(asked: FitRequest, limits: Limits, discomfort: float) -> np.ndarray:
    """(yaw, pitch) rows of a grid whose discomfort, worked out here, is below the given one."""
    reach = limits.necks[asked.measures.neck]
    step = 0.2 if discomfort < np.inf else 1.0
    yaw, pitch = (
        a.ravel()
        for a in np.meshgrid(
            np.arange(-reach.yaw_deg, reach.yaw_deg + 1e-9, step),
            np.arange(-reach.pitch_deg, reach.pitch_deg + 1e-9, step),
        )
    )
    y, p, h, v = np.radians(yaw), np.radians(pitch), *np.radians(asked.gaze_deg)
    cosine = np.sin(p) * np.sin(v) + np.cos(p) * np.cos(v) * np.cos(y - h)
    turn = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    c = limits.comfort
    cost = (
        c.yaw_weight * (yaw / c.yaw_deg) ** 2
        + c.pitch_weight * (pitch / c.pitch_deg) ** 2
        + c.eye_weight * (turn / c.eye_deg) ** 2
    )
    allowed = discomfort * (1.0 - limits.solver.relative_gap) - limits.solver.absolute_gap - 1e-6
    return np.column_stack([yaw, pitch])[cost < allowed]


def feasible_poses(
    asked: FitRequest, tables: FaceTables, limits: Limits, poses: np.ndarray, distance_mm: float
) -> np.ndarray:
    """Which poses clear the face by the margin and keep the eye's limits."""
    optic = next(o for o in OPTICS if o.id == asked.optic)
    question = question_of(asked, optic, tables, limits)
    rotation, shift = head_to_instrument(limits.eye, poses[:, 0], poses[:, 1], distance_mm, asked.gaze_deg)
    h, v = eye_in_head_deg(rotation, asked.gaze_deg)
    holds = (
        (np.abs(h) <= question.stop_side_deg) & (v <= question.stop_up_deg) & (-v <= question.stop_down_deg)
    )
    clear = clearances_at(question.body, question.capsules, rotation, shift)[0].min(axis=1)
    return holds & (clear >= limits.margin_mm + limits.solver.guard_mm)
