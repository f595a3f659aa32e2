"""The least-discomfort pose that clears the face, found by branch and bound over boxes of (yaw, pitch).

Two bounds make the search global and deterministic. Clearance: between two poses whose rotations differ by
an angle a, no point of a capsule moves more than a x (its distance from the entrance pupil + how fast the
pupil itself moves in the head), and clearance changes by no more than that. Discomfort: its least value
over a box is exact (each squared term at the box's nearest side; the eye's turn is the great circle from
the box to the gaze).
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from .clearance import HALVINGS, Body, capsule_clearances, clearances_at
from .eye import Eye
from .fit import Comfort, Solver
from .pose import eye_in_head_deg, eye_turn_deg, head_to_instrument

Array = NDArray[np.floating[Any]]
Ints = NDArray[np.intp]
Mask = NDArray[np.bool_]
ROOT_BOX_DEG = 5.0
# Halvings grow with the fineness of the boxes: 80 mm / 2^(n + 1) is about a thirtieth of a box's sway.
SEARCH_DETAIL = 20.0


class Question(NamedTuple):
    """What the solver is asked. Capsules (C, 8) in the head frame, mm; limits in degrees, `stop_up` by
    age."""

    body: Body
    capsules: Array
    eye: Eye
    gaze_deg: tuple[float, float]
    margin_mm: float
    yaw_limit_deg: float
    pitch_limit_deg: float
    stop_side_deg: float
    stop_up_deg: float
    stop_down_deg: float
    comfort: Comfort
    solver: Solver


class Pairs(NamedTuple):
    """Which capsules still matter in which boxes, as two index arrays of one length."""

    box: Ints
    capsule: Ints

    def where(self, mask: Mask) -> "Pairs":
        """Only the pairs that the mask keeps."""
        return Pairs(self.box[mask], self.capsule[mask])


class Pose(NamedTuple):
    """Degrees, and its discomfort."""

    yaw_deg: float
    pitch_deg: float
    discomfort: float


def discomfort_of(comfort: Comfort, yaw_deg: Array, pitch_deg: Array, turn_deg: Array) -> Array:
    """The weighted sum of squares of yaw, pitch and eye turn over their comfortable limits."""
    return np.asarray(
        comfort.yaw_weight * (yaw_deg / comfort.yaw_deg) ** 2
        + comfort.pitch_weight * (pitch_deg / comfort.pitch_deg) ** 2
        + comfort.eye_weight * (turn_deg / comfort.eye_deg) ** 2
    )


def _least_discomfort(q: Question, yaw: Array, pitch: Array, half_yaw: float, half_pitch: float) -> Array:
    """Least discomfort over each box, from below: the better of two bounds.

    Term by term it is exact, but the nearest sides of two terms may differ. The tangent at the centre less
    the most that the surface can bend below it is better near a smooth minimum. In (yaw, pitch) the squared
    great circle bends below its tangent only through the meeting of meridians: by at most 4 x turn x
    sin(pitch).
    """
    h, v = q.gaze_deg
    aside = np.radians(np.maximum(0.0, np.abs(yaw - h) - half_yaw))
    best_pitch = np.degrees(np.arctan2(np.sin(np.radians(v)), np.cos(np.radians(v)) * np.cos(aside)))
    near_pitch = np.clip(best_pitch, pitch - half_pitch, pitch + half_pitch)
    by_term = discomfort_of(
        q.comfort,
        np.maximum(0.0, np.abs(yaw) - half_yaw),
        np.maximum(0.0, np.abs(pitch) - half_pitch),
        eye_turn_deg(np.degrees(aside), near_pitch, (0.0, v)),
    )
    comfort, radius = q.comfort, float(np.hypot(half_yaw, half_pitch))
    turn = eye_turn_deg(yaw, pitch, q.gaze_deg)
    wide = np.degrees(1.0 / np.sinc(np.radians(turn) / np.pi))
    y, p, v_rad = np.radians(yaw - h), np.radians(pitch), np.radians(v)
    eye_scale = comfort.eye_weight / comfort.eye_deg**2
    slope_yaw = 2.0 * comfort.yaw_weight * yaw / comfort.yaw_deg**2 + 2.0 * eye_scale * wide * (
        np.cos(p) * np.cos(v_rad) * np.sin(y)
    )
    slope_pitch = 2.0 * comfort.pitch_weight * pitch / comfort.pitch_deg**2 + 2.0 * eye_scale * wide * (
        np.sin(p) * np.cos(v_rad) * np.cos(y) - np.cos(p) * np.sin(v_rad)
    )
    steepest = np.sin(np.radians(np.abs(pitch) + half_pitch))
    bend = 2.0 * eye_scale * np.radians(turn + radius) * steepest * radius**2
    tangent = discomfort_of(comfort, yaw, pitch, turn) - np.abs(slope_yaw) * half_yaw
    return np.asarray(np.maximum(by_term, tangent - np.abs(slope_pitch) * half_pitch - bend))


def _eye_keeps_limits(q: Question, h: Array, v: Array, reach_deg: float) -> Mask:
    """Whether the eye keeps its limits anywhere within `reach_deg` of each direction (0: at it)."""
    if reach_deg == 0.0:
        side = np.zeros_like(h)
    else:
        # Widest change of longitude within a small circle at latitude v.
        ratio = np.sin(np.radians(min(reach_deg, 90.0))) / np.maximum(1e-9, np.cos(np.radians(v)))
        side = np.degrees(np.arcsin(np.minimum(1.0, ratio)))
    return np.asarray(
        (np.abs(h) - side <= q.stop_side_deg)
        & (v - reach_deg <= q.stop_up_deg)
        & (-v - reach_deg <= q.stop_down_deg)
    )


def _pupil_arm_mm(q: Question) -> float:
    """Bound on how fast the entrance pupil moves in the head, mm per radian of the eye's turn.

    Its distance from the farther rotation centre with both sideways offsets added; a change of longitude is
    stretched by the latitude, at most at the steepest limit.
    """
    eye = q.eye
    depth = max(eye.horizontal_centre_depth_mm, eye.vertical_centre_depth_mm) - eye.pupil_depth_mm
    offsets = abs(eye.horizontal_centre_nasal_mm) + abs(eye.vertical_centre_up_mm)
    return float((depth + offsets) / np.cos(np.radians(max(q.stop_up_deg, q.stop_down_deg))))


def _feasible(q: Question, working_distance_mm: float, yaw: Array, pitch: Array, need_mm: float) -> Mask:
    rotation, translation = head_to_instrument(q.eye, yaw, pitch, working_distance_mm, q.gaze_deg)
    h, v = eye_in_head_deg(rotation, q.gaze_deg)
    clear = clearances_at(q.body, q.capsules, rotation, translation)[0].min(axis=1) >= need_mm
    return np.asarray(clear & _eye_keeps_limits(q, h, v, 0.0))


def _cheapest(q: Question, yaw: Array, pitch: Array, best: Pose | None) -> Pose | None:
    if not yaw.size:
        return best
    cost = discomfort_of(q.comfort, yaw, pitch, eye_turn_deg(yaw, pitch, q.gaze_deg))
    i = int(np.argmin(cost))
    if best and best.discomfort <= cost[i]:
        return best
    return Pose(float(yaw[i]), float(pitch[i]), float(cost[i]))


def _first_poses(q: Question) -> tuple[Array, Array]:
    """No turn at all, and the turn that takes the whole gaze: often the answer, and cheap to try."""
    h = float(np.clip(q.gaze_deg[0], -q.yaw_limit_deg, q.yaw_limit_deg))
    v = float(np.clip(q.gaze_deg[1], -q.pitch_limit_deg, q.pitch_limit_deg))
    return np.array([0.0, h]), np.array([0.0, v])


def solve(q: Question, working_distance_mm: float, any_feasible: bool = False) -> Pose | None:
    """The feasible pose of least discomfort at one working distance, within the solver's gap; None when none.

    With `any_feasible` the first feasible pose met is returned.
    """
    need = q.margin_mm + q.solver.guard_mm
    arm = _pupil_arm_mm(q)
    pupil = np.array([0.0, 0.0, -(working_distance_mm + q.eye.pupil_depth_mm)])
    yaw, pitch = _first_poses(q)
    good = _feasible(q, working_distance_mm, yaw, pitch, need)
    best = _cheapest(q, yaw[good], pitch[good], None)

    yaw, pitch, half_yaw, half_pitch = _root_boxes(q)
    pairs = Pairs(
        np.repeat(np.arange(yaw.size), len(q.capsules)), np.tile(np.arange(len(q.capsules)), yaw.size)
    )
    while yaw.size and not (any_feasible and best):
        keep = np.ones(yaw.size, dtype=bool)
        if best:
            cutoff = best.discomfort * (1.0 - q.solver.relative_gap) - q.solver.absolute_gap
            keep = _least_discomfort(q, yaw, pitch, half_yaw, half_pitch) < cutoff
        radius_deg = float(np.hypot(half_yaw, half_pitch))
        radius = float(np.radians(radius_deg))
        rotation, translation = head_to_instrument(q.eye, yaw, pitch, working_distance_mm, q.gaze_deg)
        h, v = eye_in_head_deg(rotation, q.gaze_deg)
        keep &= _eye_keeps_limits(q, h, v, radius_deg)
        pairs = pairs.where(keep[pairs.box])
        ends, turn, shift = q.capsules[pairs.capsule], rotation[pairs.box], translation[pairs.box]
        start = np.einsum("nij,nj->ni", turn, ends[:, 0:3]) + shift
        end = np.einsum("nij,nj->ni", turn, ends[:, 4:7]) + shift
        halvings = _halvings_for(radius)
        clearance = capsule_clearances(q.body, start, end, ends[:, 3], ends[:, 7], halvings)[0]
        span = np.linalg.norm(end - start, axis=1) + np.abs(ends[:, 7] - ends[:, 3])
        lower = clearance - span / 2.0 ** (halvings + 1)
        far = np.maximum(np.linalg.norm(start - pupil, axis=1), np.linalg.norm(end - pupil, axis=1))
        sway = radius * (far + arm * (1.0 + radius))

        least = np.full(yaw.size, np.inf)
        np.minimum.at(least, pairs.box, lower)
        good = keep & (least >= need) & _eye_keeps_limits(q, h, v, 0.0)
        best = _cheapest(q, yaw[good], pitch[good], best)
        if 2.0 * max(half_yaw, half_pitch) <= q.solver.least_box_deg:
            break
        keep[pairs.box[clearance + sway < need]] = False
        pairs = pairs.where(keep[pairs.box] & (lower - sway < need))
        yaw, pitch, pairs = _split(yaw, pitch, keep, pairs, half_yaw, half_pitch)
        half_yaw, half_pitch = half_yaw / 2.0, half_pitch / 2.0
    return best


def _halvings_for(radius: float) -> int:
    """As many halvings as tell clearance to a small part of what it changes over a box of this radius."""
    return min(HALVINGS, max(6, int(np.ceil(np.log2(SEARCH_DETAIL / radius))))) if radius > 0.0 else HALVINGS


def _root_boxes(q: Question) -> tuple[Array, Array, float, float]:
    """Centres of the first boxes over the neck's whole range, and their half sizes."""
    count_yaw = max(1, int(np.ceil(2.0 * q.yaw_limit_deg / ROOT_BOX_DEG)))
    count_pitch = max(1, int(np.ceil(2.0 * q.pitch_limit_deg / ROOT_BOX_DEG)))
    half_yaw, half_pitch = q.yaw_limit_deg / count_yaw, q.pitch_limit_deg / count_pitch
    yaw, pitch = np.meshgrid(
        (2.0 * np.arange(count_yaw) + 1.0 - count_yaw) * half_yaw,
        (2.0 * np.arange(count_pitch) + 1.0 - count_pitch) * half_pitch,
        indexing="ij",
    )
    return yaw.ravel(), pitch.ravel(), half_yaw, half_pitch


def _split(
    yaw: Array, pitch: Array, keep: Mask, pairs: Pairs, half_yaw: float, half_pitch: float
) -> tuple[Array, Array, Pairs]:
    """Kept boxes in four each; a child inherits the capsules that its parent could not rule out."""
    number = np.cumsum(keep) - 1
    side = np.array([-0.5, 0.5])
    child_yaw = (yaw[keep][:, None] + half_yaw * np.repeat(side, 2)).ravel()
    child_pitch = (pitch[keep][:, None] + half_pitch * np.tile(side, 2)).ravel()
    parent = number[pairs.box]
    boxes = (4 * parent[:, None] + np.arange(4)).ravel()
    return child_yaw, child_pitch, Pairs(boxes, np.repeat(pairs.capsule, 4))
