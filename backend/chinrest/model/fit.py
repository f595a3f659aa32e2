"""What is asked of the positioning model, what it answers, and the clinic's limits."""

from __future__ import annotations

from typing import Literal

import msgspec

from .eye import Eye
from .face import FaceMeasures, FaceName, Landmark, NeckClass

EyeSide = Literal["right", "left"]
AgeBand = Literal["child", "18-39", "40-59", "60-79", "80-or-more"]
AdultBand = Literal["18-39", "40-59", "60-79", "80-or-more"]
TouchWord = Literal["likely_clear", "close", "expect_to_adjust"]
ReasonCode = Literal[
    "child_no_computed_turn",
    "unusual_face_no_computed_turn",
    "eye_cannot_reach_gaze",
    "no_pose_clears_face",
    "clearance_below_margin",
    "neck_beyond_limit",
    "eye_beyond_limit",
    "distance_outside_tolerance",
]
"""The first four: no pose is offered. The last four: a given pose is judged."""
WarningCode = Literal[
    "eye_turn_beyond_comfortable",
    "age_not_given",
    "eye_depth_judged",
    "backed_off",
    "pupil_narrow",
    "pupil_vertical_gaze",
    "inside_light_out_of_range",
    "forward_face_touches",
]
LightRefusalCode = Literal[
    "hidden_by_nose", "hidden_by_face", "hidden_by_instrument", "fellow_eye_does_not_see", "too_far_aside"
]


class NeckLimit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How far the head may be turned either way (yaw) and tipped either way (pitch), degrees."""

    yaw_deg: float
    pitch_deg: float


class EyeLimits(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Eye-in-head turn, degrees: warn above `warn_deg`, stop at the others; upward is shortest, and by
    age."""

    warn_deg: float
    stop_side_deg: float
    stop_down_deg: float
    stop_up_deg: dict[AdultBand, float]


class Comfort(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What discomfort is counted by; the angles are comfortable limits.

    Discomfort = yaw_weight (yaw / yaw_deg)^2 + pitch_weight (pitch / pitch_deg)^2
               + eye_weight (eye turn / eye_deg)^2, the eye turn being the whole angle from straight ahead.
    """

    yaw_deg: float
    pitch_deg: float
    eye_deg: float
    yaw_weight: float
    pitch_weight: float
    eye_weight: float


class Solver(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How exactly the least-discomfort pose is found.

    `guard_mm` is added to the margin so that rounding never lands under it. The discomfort found is within
    `relative_gap` x itself + `absolute_gap` of the least there is; boxes of poses smaller than
    `least_box_deg` are not split further. Backing off goes in steps of `distance_step_mm`.
    """

    guard_mm: float
    relative_gap: float
    absolute_gap: float
    least_box_deg: float
    distance_step_mm: float


class TouchWords(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Chance of touching (worse face) up to which each word is used; above both, expect_to_adjust."""

    likely_clear_up_to: float
    close_up_to: float
    samples: int


class Limits(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The clinic's limits for positioning; every figure with its reason in the pack's source."""

    margin_mm: float
    necks: dict[NeckClass, NeckLimit]
    eye_turn: EyeLimits
    comfort: Comfort
    eye: Eye = Eye()
    solver: Solver
    touch_words: TouchWords
    target_cm: float
    sight_line_radius_mm: float
    """Half-width kept free along the fellow eye's line of sight when an outside light is offered."""
    sources: list[str]


class FitRequest(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One question: this optic, eye, face and gaze (H nasal+, V up+, degrees, from the instrument's axis).

    With `at_deg` (yaw, pitch) that pose is evaluated instead of solved for, at `at_distance_mm` (None:
    nominal). Distances and pupil in mm, `target_cm` the distance of the outside light (None: the clinic's).
    """

    optic: str
    eye: EyeSide
    measures: FaceMeasures
    gaze_deg: tuple[float, float] = (0.0, 0.0)
    pupil_mm: float | None = None
    age_band: AgeBand | None = None
    """None counts as the oldest band: the most careful upward limit."""
    unusual_face: bool = False
    """An unusual face, a swelling or a dressing: the tables do not describe it, so no turn is computed."""
    fellow_eye_sees: bool = True
    target_cm: float | None = None
    at_deg: tuple[float, float] | None = None
    at_distance_mm: float | None = None


class Reason(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Why there is no feasible pose."""

    code: ReasonCode
    sentence: str


class FitWarning(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Something to know beside the answer."""

    code: WarningCode
    sentence: str


class LightRefusal(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Why the fellow eye cannot be given an outside light here."""

    code: LightRefusalCode
    sentence: str


class FitResult(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The answer; these are the keys that the command line prints as JSON. Angles in degrees, lengths in mm.

    When no pose is offered, every pose key is None, and `capsules` and `optic_profile` still stand. When a
    given pose was evaluated (`at_deg`), pose keys always stand and `feasible` with `reason` judge it.
    """

    optic: str
    eye: EyeSide
    feasible: bool
    reason: Reason | None
    yaw_deg: float | None
    pitch_deg: float | None
    working_distance_mm: float | None
    clearance_mm: float | None
    """On the nominal face."""
    forward_clearance_mm: float | None
    """On the second face, at the same pose."""
    margin_mm: float
    nearest: Landmark | None
    field_deg: float | None
    eye_in_head_deg: tuple[float, float] | None
    """[h nasal+, v up+]"""
    discomfort: float | None
    touch_chance: dict[FaceName, float] | None
    """Anatomy only; movement is not counted."""
    words: TouchWord | None
    pupil_ratio: float
    inside_light: bool
    """Whether the light inside the instrument can ask for this gaze."""
    outside_light_cm: tuple[float, float] | None
    """[right, up] as the patient sees it, from straight before the fellow eye; None when refused."""
    outside_light_refused: LightRefusal | None
    warnings: list[FitWarning]
    other_optics: list[str]
    """When this optic does not fit: those of the clinic's optics that would."""
    capsules: list[tuple[float, float, float, float, float, float, float, float]]
    """Nominal face, head frame: x0, y0, z0, r0, x1, y1, z1, r1."""
    optic_profile: list[tuple[float, float]]
    head_to_instrument: list[list[float]] | None
    """4 x 4, mm; instrument frame: z along the axis toward the instrument, x nasal, y up, origin at the
    rim."""
