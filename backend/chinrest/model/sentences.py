"""The sentences beside the numbers: why there is no pose, and what to know about one."""

from .fit import (
    FitRequest,
    FitWarning,
    LightRefusal,
    Limits,
    NeckLimit,
    Reason,
    WarningCode,
)
from .optic import Optic, field_at_distance_deg
from .shape import Shifts
from .solve import Question

SLACK_DEG = 1e-6
FELLOW_EYE_BLIND = LightRefusal(
    code="fellow_eye_does_not_see", sentence="The fellow eye does not see: use the inside light or speak."
)


def not_computed(request: FitRequest) -> Reason:
    """Why the tables are not used for this patient."""
    if request.age_band == "child":
        return Reason(
            code="child_no_computed_turn",
            sentence="No computed turn for a child: the face tables are of adults. Watch from the side.",
        )
    return Reason(
        code="unusual_face_no_computed_turn",
        sentence="No computed turn for this face: the tables do not describe it. Watch from the side.",
    )


def no_pose(optic: Optic, neck: NeckLimit, unreachable: bool, others: list[str]) -> Reason:
    """Why no pose was found, and what would fit."""
    if unreachable:
        return Reason(
            code="eye_cannot_reach_gaze",
            sentence="The eye cannot turn that far, even with the head turned as far as this neck allows.",
        )
    instead = (
        f" These would fit: {', '.join(others)}." if others else " None of the clinic's optics would fit."
    )
    farthest = optic.working_distance_mm + optic.tolerance_mm
    return Reason(
        code="no_pose_clears_face",
        sentence=(
            f"No head position within {neck.yaw_deg:g}° of turn and {neck.pitch_deg:g}° of tip clears"
            f" the face, even at {farthest:g} mm.{instead}"
        ),
    )


def judged(
    question: Question,
    optic: Optic,
    yaw_deg: float,
    pitch_deg: float,
    distance_mm: float,
    eye_in_head_deg: tuple[float, float],
    clearance_mm: float,
) -> Reason | None:
    """What is wrong with a given pose, the worst first; None when it holds."""
    h, v = eye_in_head_deg
    if clearance_mm < question.margin_mm:
        return Reason(
            code="clearance_below_margin",
            sentence=f"The gap would be {clearance_mm:.1f} mm; the margin is {question.margin_mm:g} mm.",
        )
    farthest = optic.working_distance_mm + optic.tolerance_mm
    if not optic.working_distance_mm - 1e-9 <= distance_mm <= farthest + 1e-9:
        return Reason(
            code="distance_outside_tolerance",
            sentence=(
                f"{distance_mm:g} mm is outside this optic's"
                f" {optic.working_distance_mm:g} to {farthest:g} mm."
            ),
        )
    if (
        abs(yaw_deg) > question.yaw_limit_deg + SLACK_DEG
        or abs(pitch_deg) > question.pitch_limit_deg + SLACK_DEG
    ):
        return Reason(
            code="neck_beyond_limit",
            sentence=(
                f"This neck may turn {question.yaw_limit_deg:g}° and tip {question.pitch_limit_deg:g}°"
                " either way."
            ),
        )
    if (
        abs(h) > question.stop_side_deg + SLACK_DEG
        or v > question.stop_up_deg + SLACK_DEG
        or -v > question.stop_down_deg + SLACK_DEG
    ):
        return Reason(
            code="eye_beyond_limit",
            sentence=(
                f"The eye would turn {abs(h):.0f}° aside and {abs(v):.0f}° {'up' if v >= 0 else 'down'};"
                f" the limits are {question.stop_side_deg:g}° aside, {question.stop_up_deg:g}° up,"
                f" {question.stop_down_deg:g}° down."
            ),
        )
    return None


def warnings(
    request: FitRequest,
    optic: Optic,
    limits: Limits,
    shifts: Shifts,
    turn_deg: float,
    distance_mm: float,
    ratio: float,
    forward_clearance_mm: float,
) -> list[FitWarning]:
    """What to know about a pose."""
    found: list[FitWarning] = []

    def warn(code: WarningCode, sentence: str) -> None:
        found.append(FitWarning(code=code, sentence=sentence))

    if turn_deg > limits.eye_turn.warn_deg:
        warn(
            "eye_turn_beyond_comfortable",
            f"The eye turns {turn_deg:.0f}° in its head;"
            f" above {limits.eye_turn.warn_deg:g}° it tires and drifts back.",
        )
    if request.age_band is None:
        warn("age_not_given", "Age not given: the upward limit of the oldest is used.")
    if shifts.judged_depth:
        warn("eye_depth_judged", "Eye depth was judged, not measured: expect more scatter.")
    if distance_mm > optic.working_distance_mm + 1e-9:
        left = field_at_distance_deg(optic, distance_mm, limits.eye.pupil_depth_mm)
        warn(
            "backed_off",
            f"Backed off by {distance_mm - optic.working_distance_mm:.1f} mm:"
            f" at most {left:.0f}° of field is left.",
        )
    if request.pupil_mm is not None and request.pupil_mm * ratio < optic.least_pupil_mm:
        warn(
            "pupil_narrow",
            f"Seen along this gaze the pupil is {request.pupil_mm * ratio:.1f} mm across;"
            f" this optic needs {optic.least_pupil_mm:g} mm.",
        )
    if request.gaze_deg[1] != 0.0:
        warn(
            "pupil_vertical_gaze",
            "The pupil ratio is for sideways gaze only; looking up or down narrows the pupil too.",
        )
    if max(abs(request.gaze_deg[0]), abs(request.gaze_deg[1])) > optic.inside_light_deg:
        warn(
            "inside_light_out_of_range",
            f"The inside light asks for at most {optic.inside_light_deg:g}° with this optic.",
        )
    if forward_clearance_mm < 0.0:
        warn(
            "forward_face_touches",
            "On a face whose mid-line stands further forward this pose would touch: watch from the side.",
        )
    return found
