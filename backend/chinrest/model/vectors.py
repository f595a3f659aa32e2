"""Check vectors: questions with the reference's answers, by which a phone proves its own kernel."""

from msgspec import Struct

from .face import Landmark
from .fit import FitRequest, LightRefusalCode, ReasonCode


class FitVector(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One question and what the reference answers (angles in degrees, lengths in mm, as in `FitResult`)."""

    request: FitRequest
    feasible: bool
    reason: ReasonCode | None
    yaw_deg: float | None
    pitch_deg: float | None
    working_distance_mm: float | None
    clearance_mm: float | None
    nearest: Landmark | None
    field_deg: float | None
    eye_in_head_deg: tuple[float, float] | None
    discomfort: float | None
    outside_light_cm: tuple[float, float] | None
    outside_light_refused: LightRefusalCode | None
