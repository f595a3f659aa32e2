"""Which gazes this patient can be brought to with this optic, each with its least-discomfort pose."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct

from .. import sentences
from ..answer import GAZE_LIMIT_DEG, least_pose, question_of
from ..errors import InputError
from ..eye import pupil_ratio
from ..face import FaceMeasures, FaceTables
from ..fit import AgeBand, Comfort, EyeSide, FitRequest, Limits
from ..optic import Optic, field_at_distance_deg
from ..pose import eye_in_head_deg, eye_turn_deg, head_to_instrument
from ..solve import discomfort_of

Gaze = tuple[float, float]
STEP_DEG = 8
"""Between candidate gazes: a quarter of a small field, in whole degrees that can be said aloud."""
PULL_DEG = 2.0
"""By such steps a gaze beyond reach is brought nearer the centre."""
WIDEST_H_DEG, LOWEST_V_DEG, HIGHEST_V_DEG = 56, -40, 32


class Patient(Struct, frozen=True, kw_only=True):
    """What is known of the patient. Without measures the tables' reference adult with a free neck stands in,
    and the answer says so; without an age the oldest band's upward limit; pupil in mm."""

    measures: FaceMeasures | None = None
    age_band: AgeBand | None = None
    pupil_mm: float | None = None
    unusual_face: bool = False


class Reached(NamedTuple):
    """One gaze (deg, nasal+, up+), the field left there, and its pose: degrees, mm."""

    h: float
    v: float
    field_deg: float
    yaw_deg: float
    pitch_deg: float
    distance_mm: float
    eye_in_head_deg: Gaze
    discomfort: float


def reference_measures(faces: FaceTables) -> FaceMeasures:
    """The adult that the tables are about."""
    return FaceMeasures(
        pd_mm=faces.pd_reference_mm, exophthalmometry="average", nose="medium", brow="medium", neck="free"
    )


def request_of(patient: Patient, optic: Optic, eye: EyeSide, faces: FaceTables) -> FitRequest:
    """The question of the fit model that every gaze is asked with."""
    return FitRequest(
        optic=optic.id,
        eye=eye,
        measures=patient.measures or reference_measures(faces),
        pupil_mm=patient.pupil_mm,
        age_band=patient.age_band,
        unusual_face=patient.unusual_face,
    )


def not_computed(patient: Patient, optic: Optic, eye: EyeSide, faces: FaceTables) -> str | None:
    """Why the tables are not used for this patient; None where they are."""
    if patient.age_band != "child" and not patient.unusual_face:
        return None
    return sentences.not_computed(request_of(patient, optic, eye, faces)).sentence


def candidates() -> list[Gaze]:
    """The grid of gazes that plans are made of, the centre in it."""
    across = range(-WIDEST_H_DEG, WIDEST_H_DEG + 1, STEP_DEG)
    along = range(LOWEST_V_DEG, HIGHEST_V_DEG + 1, STEP_DEG)
    return [(float(h), float(v)) for v in along for h in across]


Hindrance = Literal["pupil", "eye_turn", "face"]


class Reach:
    """Asks the fit model gaze by gaze, and remembers."""

    def __init__(
        self, patient: Patient, optic: Optic, eye: EyeSide, faces: FaceTables, limits: Limits
    ) -> None:
        if patient.pupil_mm is not None and not 0.5 <= patient.pupil_mm <= 10.0:
            raise InputError("pupil_mm", f"{patient.pupil_mm:g} is outside 0.5 to 10 mm")
        self.optic, self.limits, self.pupil_mm = optic, limits, patient.pupil_mm
        self.question = question_of(request_of(patient, optic, eye, faces), optic, faces, limits)
        self._known: dict[Gaze, Reached | Hindrance] = {}

    def at(self, gaze: Gaze) -> Reached | None:
        """The least-discomfort way to one gaze; None where there is none."""
        found = self.try_at(gaze)
        return found if isinstance(found, Reached) else None

    def try_at(self, gaze: Gaze) -> Reached | Hindrance:
        """The same, or what hinders it: the pupil seen along it, the eye's and neck's limits, the face."""
        if gaze not in self._known:
            self._known[gaze] = self._ask(gaze)
        return self._known[gaze]

    def all(self, gazes: Sequence[Gaze]) -> list[Reached]:
        """Those of the gazes that can be reached."""
        return [found for found in map(self.at, gazes) if found is not None]

    def _ask(self, gaze: Gaze) -> Reached | Hindrance:
        h, v = gaze
        q = self.question
        if self.pupil_mm is not None and self.pupil_mm * pupil_ratio(h) < self.optic.least_pupil_mm:
            return "pupil"
        if (
            max(abs(h), abs(v)) > GAZE_LIMIT_DEG
            or abs(h) > q.stop_side_deg + q.yaw_limit_deg
            or v > q.stop_up_deg + q.pitch_limit_deg
            or -v > q.stop_down_deg + q.pitch_limit_deg
        ):
            return "eye_turn"
        asked = q._replace(gaze_deg=gaze)
        pose = least_pose(asked, self.optic)
        if pose is None:
            return "face"
        yaw, pitch, distance = pose
        rotation, _ = head_to_instrument(q.eye, np.array([yaw]), np.array([pitch]), distance, gaze)
        eye_h, eye_v = eye_in_head_deg(rotation, gaze)
        return Reached(
            h,
            v,
            field_at_distance_deg(self.optic, distance, q.eye.pupil_depth_mm),
            yaw,
            pitch,
            distance,
            (float(eye_h[0]), float(eye_v[0])),
            discomfort(asked.comfort, yaw, pitch, gaze),
        )


def discomfort(comfort: Comfort, yaw_deg: float, pitch_deg: float, gaze: Gaze) -> float:
    """The fit model's discomfort of one pose."""
    yaw, pitch = np.array([yaw_deg]), np.array([pitch_deg])
    return float(discomfort_of(comfort, yaw, pitch, eye_turn_deg(yaw, pitch, gaze))[0])
