"""What each optic computes to, for every kind of face that is planned for: turn, gap, words."""

from collections.abc import Collection
from typing import Literal

from msgspec import Struct, structs

from chinrest.model.answer import fit_request
from chinrest.model.face import EyeDepthClass, FaceName, Landmark, NeckClass, NoseClass
from chinrest.model.fields.reach import reference_measures
from chinrest.model.fit import FitRequest, FitResult, TouchWord
from chinrest.model.tables import TouchTable, looked_up

from .planned import ReachClass
from .plans import reach_classes
from .schema import Pack
from .source import Source

HOW = (
    "Straight ahead, for the face tables' usual adult of each kind (average distance between the eyes, medium"
    " brow), either eye. A patient's own measures give other figures. The chance of touching counts anatomy"
    " only; movement is not counted."
)


class ClassFit(Struct, frozen=True, kw_only=True):
    """One optic and kind of face, eye straight ahead. Angles in degrees, lengths in mm; None where no pose is
    offered, and `reason` says why.

    `clearance_mm` is on the nominal face, `forward_clearance_mm` on the second one at the same pose.
    `backed_off_mm`: how far beyond the optic's own working distance. `words_from`: the compiled table, as the
    phone looks it up, or the chance itself where nothing is compiled yet.
    """

    optic: str
    eye_depth: EyeDepthClass
    nose: NoseClass
    neck: NeckClass
    feasible: bool
    reason: str
    yaw_deg: float | None
    pitch_deg: float | None
    working_distance_mm: float | None
    backed_off_mm: float | None
    clearance_mm: float | None
    forward_clearance_mm: float | None
    nearest: Landmark | None
    field_deg: float | None
    touch_chance: dict[FaceName, float] | None
    words: TouchWord | None
    words_from: Literal["table", "chance"]


def class_fits(guidance: Source | Pack, optics: Collection[str] | None = None) -> list[ClassFit]:
    """Every optic (or those named) with every reach class; by optic, then eye depth, bridge and neck."""
    table = guidance.touch if isinstance(guidance, Pack) else None
    return [
        _fit(guidance, optic.id, each, table)
        for optic in guidance.optics
        if optics is None or optic.id in optics
        for each in reach_classes()
    ]


def _fit(guidance: Source | Pack, optic: str, each: ReachClass, table: TouchTable | None) -> ClassFit:
    usual = reference_measures(guidance.faces)
    measures = structs.replace(usual, exophthalmometry=each.eye_depth, nose=each.nose, neck=each.neck)
    asked = FitRequest(optic=optic, eye="right", measures=measures)
    answer = fit_request(asked, guidance.optics, guidance.faces, guidance.limits)
    nominal_mm = next(o.working_distance_mm for o in guidance.optics if o.id == optic)
    distance = answer.working_distance_mm
    return ClassFit(
        optic=optic,
        eye_depth=each.eye_depth,
        nose=each.nose,
        neck=each.neck,
        feasible=answer.feasible,
        reason=answer.reason.sentence if answer.reason else "",
        yaw_deg=_rounded(answer.yaw_deg),
        pitch_deg=_rounded(answer.pitch_deg),
        working_distance_mm=_rounded(distance),
        backed_off_mm=None if distance is None else max(0.0, round(distance - nominal_mm, 2)),
        clearance_mm=_rounded(answer.clearance_mm),
        forward_clearance_mm=_rounded(answer.forward_clearance_mm),
        nearest=answer.nearest,
        field_deg=_rounded(answer.field_deg),
        touch_chance=answer.touch_chance,
        words=_words(answer, table),
        words_from="chance" if table is None else "table",
    )


def _rounded(value: float | None) -> float | None:
    """Two places; never a minus before nothing."""
    return None if value is None else round(value, 2) + 0.0


def _words(answer: FitResult, table: TouchTable | None) -> TouchWord | None:
    if table is None or answer.nearest is None or answer.clearance_mm is None:
        return answer.words
    return looked_up(table, answer.optic, answer.nearest, answer.clearance_mm)
