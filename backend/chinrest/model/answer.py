"""The door to the model: one question in, one answer out."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import sentences
from .clearance import Body, body_of, clearances_at
from .errors import InputError
from .eye import pupil_ratio
from .face import FaceName, FaceTables
from .fit import AdultBand, FitRequest, FitResult, Limits, Reason
from .light import offset_cm, refusal, sight_line_mm
from .optic import Optic, field_at_distance_deg
from .pose import eye_in_head_deg, eye_turn_deg, head_to_instrument, matrix4
from .shape import FaceShape, Shifts, shifts_of
from .solve import Question, discomfort_of, solve
from .touch import touch_chance, word_of

Array = NDArray[np.floating[Any]]
GAZE_LIMIT_DEG = 60.0
FACES: tuple[FaceName, FaceName] = ("nominal", "forward")


class _Patient:
    """One request with what follows from its face, whatever the optic."""

    def __init__(self, request: FitRequest, faces: FaceTables, limits: Limits) -> None:
        self.request, self.limits = request, limits
        self.shifts: Shifts = shifts_of(faces, request.measures)
        self.pd_mm = request.measures.pd_mm
        self.shapes: dict[FaceName, FaceShape] = {
            "nominal": FaceShape(faces, faces.nominal),
            "forward": FaceShape(faces, faces.forward),
        }
        self.capsules: dict[FaceName, Array] = {
            name: shape.capsules_mm(np.array(self.shifts[:4])) for name, shape in self.shapes.items()
        }
        self.neck = limits.necks[request.measures.neck]

    @property
    def adult_band(self) -> AdultBand:
        """The age band that sets the upward limit; the oldest where the age was not given."""
        band = self.request.age_band
        return "80-or-more" if band is None or band == "child" else band

    def question(self, body: Body) -> Question:
        """What the solver is asked about the nominal face."""
        turn = self.limits.eye_turn
        return Question(
            body=body,
            capsules=self.capsules["nominal"],
            eye=self.limits.eye,
            gaze_deg=self.request.gaze_deg,
            margin_mm=self.limits.margin_mm,
            yaw_limit_deg=self.neck.yaw_deg,
            pitch_limit_deg=self.neck.pitch_deg,
            stop_side_deg=turn.stop_side_deg,
            stop_up_deg=turn.stop_up_deg[self.adult_band],
            stop_down_deg=turn.stop_down_deg,
            comfort=self.limits.comfort,
            solver=self.limits.solver,
        )


def fit_request(request: FitRequest, optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> FitResult:
    """Answers one question about the clinic's optics; raises InputError for what cannot be answered."""
    optic = _checked(request, optics)
    patient = _Patient(request, faces, limits)
    body = body_of(optic.profile)
    if request.age_band == "child" or request.unusual_face:
        return _no_pose(patient, optic, sentences.not_computed(request), [])
    if request.at_deg is not None:
        yaw, pitch = float(request.at_deg[0]), float(request.at_deg[1])
        distance = request.at_distance_mm
        return _at_pose(
            patient,
            optic,
            body,
            yaw,
            pitch,
            optic.working_distance_mm if distance is None else distance,
            True,
        )
    found = least_pose(patient.question(body), optic)
    if found is None:
        others = [
            other.id
            for other in optics
            if other.id != optic.id
            and least_pose(patient.question(body_of(other.profile)), other) is not None
        ]
        reach = patient.question(body)._replace(margin_mm=-np.inf)
        unreachable = solve(reach, optic.working_distance_mm, any_feasible=True) is None
        return _no_pose(patient, optic, sentences.no_pose(optic, patient.neck, unreachable, others), others)
    return _at_pose(patient, optic, body, found[0], found[1], found[2], False)


def least_pose(question: Question, optic: Optic) -> tuple[float, float, float] | None:
    """(yaw, pitch, working distance) of least discomfort at the least distance that allows any; None when
    none.

    Backing off draws a body that only widens away from every landmark, so clearance rises with distance and
    the least distance can be halved in on.
    """
    nominal, step = optic.working_distance_mm, question.solver.distance_step_mm
    pose = solve(question, nominal)
    if pose is not None:
        return pose.yaw_deg, pose.pitch_deg, nominal
    low, high = 0, int(optic.tolerance_mm / step + 1e-9)
    if high == 0 or solve(question, nominal + high * step, any_feasible=True) is None:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if solve(question, nominal + middle * step, any_feasible=True) is None:
            low = middle
        else:
            high = middle
    pose = solve(question, nominal + high * step)
    return None if pose is None else (pose.yaw_deg, pose.pitch_deg, nominal + high * step)


def question_of(request: FitRequest, optic: Optic, faces: FaceTables, limits: Limits) -> Question:
    """What the solver is asked for one request."""
    return _Patient(request, faces, limits).question(body_of(optic.profile))


def pose_clearance(request: FitRequest, optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> float:
    """Clearance (mm, nominal face) at the request's given pose, and nothing else."""
    optic, patient = _checked(request, optics), _Patient(request, faces, limits)
    if request.at_deg is None:
        raise InputError("at_deg", "a pose is needed")
    distance = optic.working_distance_mm if request.at_distance_mm is None else request.at_distance_mm
    rotation, translation = head_to_instrument(
        limits.eye, np.array([request.at_deg[0]]), np.array([request.at_deg[1]]), distance, request.gaze_deg
    )
    capsules = patient.capsules["nominal"]
    return float(clearances_at(body_of(optic.profile), capsules, rotation, translation)[0].min())


def _checked(request: FitRequest, optics: Sequence[Optic]) -> Optic:
    by_id = {optic.id: optic for optic in optics}
    if request.optic not in by_id:
        raise InputError("optic", f"there is no optic {request.optic!r}; there are {', '.join(by_id)}")
    bounds: list[tuple[str, float | None, float, float, str]] = [
        ("gaze_deg", request.gaze_deg[0], -GAZE_LIMIT_DEG, GAZE_LIMIT_DEG, "deg to the side"),
        ("gaze_deg", request.gaze_deg[1], -GAZE_LIMIT_DEG, GAZE_LIMIT_DEG, "deg up or down"),
        ("pupil_mm", request.pupil_mm, 0.5, 10.0, "mm"),
        ("target_cm", request.target_cm, 20.0, 600.0, "cm"),
        ("at_deg", request.at_deg[0] if request.at_deg else None, -90.0, 90.0, "deg of yaw"),
        ("at_deg", request.at_deg[1] if request.at_deg else None, -90.0, 90.0, "deg of pitch"),
        ("at_distance_mm", request.at_distance_mm, 0.0, 500.0, "mm"),
    ]
    for field, value, low, high, unit in bounds:
        if value is not None and not (isfinite(value) and low <= value <= high):
            raise InputError(field, f"{value:g} is outside {low:g} to {high:g} {unit}")
    return by_id[request.optic]


def _at_pose(
    patient: _Patient,
    optic: Optic,
    body: Body,
    yaw: float,
    pitch: float,
    distance_mm: float,
    given: bool,
) -> FitResult:
    """The full answer at one pose; `given` poses are judged, found ones are known to hold."""
    request, limits = patient.request, patient.limits
    rotation, translation = head_to_instrument(
        limits.eye, np.array([yaw]), np.array([pitch]), distance_mm, request.gaze_deg
    )
    h_all, v_all = eye_in_head_deg(rotation, request.gaze_deg)
    eye_turned = (float(h_all[0]), float(v_all[0]))
    each, along = clearances_at(body, patient.capsules["nominal"], rotation, translation)
    nearest = int(np.argmin(each[0]))
    clearance = float(each[0, nearest])
    forward = float(clearances_at(body, patient.capsules["forward"], rotation, translation)[0].min())
    chance = {
        name: touch_chance(
            body,
            patient.shapes[name],
            patient.shifts,
            rotation[0],
            translation[0],
            limits.touch_words.samples,
        )
        for name in FACES
    }
    turn = eye_turn_deg(np.array([yaw]), np.array([pitch]), request.gaze_deg)
    ratio = pupil_ratio(request.gaze_deg[0])
    target_cm = request.target_cm or limits.target_cm
    if request.fellow_eye_sees:
        light = refusal(
            patient.capsules["nominal"],
            patient.shapes["nominal"].names,
            body,
            rotation[0],
            translation[0],
            sight_line_mm(limits.eye, patient.pd_mm, *eye_turned, target_cm),
            patient.pd_mm,
            limits.sight_line_radius_mm,
            eye_turned,
        )
    else:
        light = sentences.FELLOW_EYE_BLIND
    reason = (
        sentences.judged(patient.question(body), optic, yaw, pitch, distance_mm, eye_turned, clearance)
        if given
        else None
    )
    return FitResult(
        optic=optic.id,
        eye=request.eye,
        feasible=reason is None,
        reason=reason,
        yaw_deg=yaw,
        pitch_deg=pitch,
        working_distance_mm=distance_mm,
        clearance_mm=clearance,
        forward_clearance_mm=forward,
        margin_mm=limits.margin_mm,
        nearest=patient.shapes["nominal"].nearest(nearest, float(along[0, nearest])),
        field_deg=field_at_distance_deg(optic, distance_mm, limits.eye.pupil_depth_mm),
        eye_in_head_deg=eye_turned,
        discomfort=float(discomfort_of(limits.comfort, np.array([yaw]), np.array([pitch]), turn)[0]),
        touch_chance=chance,
        words=word_of(limits.touch_words, max(chance.values())),
        pupil_ratio=ratio,
        inside_light=max(abs(request.gaze_deg[0]), abs(request.gaze_deg[1])) <= optic.inside_light_deg,
        outside_light_cm=None if light else offset_cm(*eye_turned, target_cm, request.eye == "right"),
        outside_light_refused=light,
        warnings=sentences.warnings(
            request, optic, limits, patient.shifts, float(turn[0]), distance_mm, ratio, forward
        ),
        other_optics=[],
        capsules=_capsule_list(patient),
        optic_profile=optic.profile,
        head_to_instrument=matrix4(rotation[0], translation[0]),
    )


def _no_pose(patient: _Patient, optic: Optic, reason: Reason, others: list[str]) -> FitResult:
    request = patient.request
    return FitResult(
        optic=optic.id,
        eye=request.eye,
        feasible=False,
        reason=reason,
        yaw_deg=None,
        pitch_deg=None,
        working_distance_mm=None,
        clearance_mm=None,
        forward_clearance_mm=None,
        margin_mm=patient.limits.margin_mm,
        nearest=None,
        field_deg=None,
        eye_in_head_deg=None,
        discomfort=None,
        touch_chance=None,
        words=None,
        pupil_ratio=pupil_ratio(request.gaze_deg[0]),
        inside_light=max(abs(request.gaze_deg[0]), abs(request.gaze_deg[1])) <= optic.inside_light_deg,
        outside_light_cm=None,
        outside_light_refused=None,
        warnings=[],
        other_optics=others,
        capsules=_capsule_list(patient),
        optic_profile=optic.profile,
        head_to_instrument=None,
    )


def _capsule_list(patient: _Patient) -> list[tuple[float, float, float, float, float, float, float, float]]:
    rows = []
    for row in patient.capsules["nominal"]:
        x0, y0, z0, r0, x1, y1, z1, r1 = (float(v) for v in row)
        rows.append((x0, y0, z0, r0, x1, y1, z1, r1))
    return rows
