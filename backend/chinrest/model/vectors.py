"""Check vectors: questions with the reference's answers, by which a phone proves its own kernel."""

from collections.abc import Sequence

from msgspec import Struct, structs

from .answer import fit_request
from .face import FaceMeasures, FaceTables, Landmark
from .fit import FitRequest, LightRefusalCode, Limits, ReasonCode
from .optic import Optic
from .spread import pick, spread

SOLVED_PER_OPTIC = 9
GIVEN_PER_OPTIC = 5
DECIMALS = 6


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


def fit_vectors(optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> list[FitVector]:
    """A few dozen: every optic, both eyes, solved and given poses, necks that fit and that do not."""
    return [vector_of(request, optics, faces, limits) for optic in optics for request in questions(optic)]


def vector_of(request: FitRequest, optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> FitVector:
    """The reference's answer to one question, in what a phone must reproduce."""
    answer = fit_request(request, optics, faces, limits)
    yaw, pitch = _short(answer.yaw_deg), _short(answer.pitch_deg)
    if request.at_deg is None and yaw is not None and pitch is not None:
        # Everything else is stated at the pose as written, so that rounding never parts the two.
        given = structs.replace(
            request, at_deg=(yaw, pitch), at_distance_mm=_short(answer.working_distance_mm)
        )
        answer = fit_request(given, optics, faces, limits)
    light = answer.outside_light_refused
    return FitVector(
        request=request,
        feasible=answer.feasible,
        reason=answer.reason.code if answer.reason else None,
        yaw_deg=yaw,
        pitch_deg=pitch,
        working_distance_mm=_short(answer.working_distance_mm),
        clearance_mm=_short(answer.clearance_mm),
        nearest=answer.nearest,
        field_deg=_short(answer.field_deg),
        eye_in_head_deg=_short_pair(answer.eye_in_head_deg),
        discomfort=_short(answer.discomfort),
        outside_light_cm=_short_pair(answer.outside_light_cm),
        outside_light_refused=light.code if light else None,
    )


def questions(optic: Optic) -> list[FitRequest]:
    """One optic's questions."""
    solved = [random_request(optic.id, row, i) for i, row in enumerate(spread(SOLVED_PER_OPTIC, 9))]
    given = [
        random_request(
            optic.id,
            row,
            i + 1,
            at_deg=(round(-15.0 + 45.0 * row[9], 2), round(20.0 * row[10] - 10.0, 2)),
            at_distance_mm=round(optic.working_distance_mm + optic.tolerance_mm * row[8], 2),
        )
        for i, row in enumerate(spread(GIVEN_PER_OPTIC, 11))
    ]
    average = FaceMeasures(pd_mm=63.0, exophthalmometry="average", nose="medium", brow="medium", neck="fixed")
    stiff = FitRequest(optic=optic.id, eye="left", measures=average, age_band="60-79")
    beyond = FitRequest(optic=optic.id, eye="right", measures=average, gaze_deg=(40.0, 0.0), age_band="60-79")
    child = FitRequest(optic=optic.id, eye="right", measures=average, age_band="child")
    blind = FitRequest(
        optic=optic.id,
        eye="left",
        measures=average,
        age_band="40-59",
        fellow_eye_sees=False,
        at_deg=(10.0, 0.0),
    )
    return [*solved, *given, stiff, beyond, child, blind]


def random_request(
    optic: str,
    row: Sequence[float],
    number: int,
    at_deg: tuple[float, float] | None = None,
    at_distance_mm: float | None = None,
) -> FitRequest:
    """A patient from nine numbers of the unit interval; eyes take turns by `number`."""
    depth = round(9.0 + 14.0 * row[1], 1)
    return FitRequest(
        optic=optic,
        eye="left" if number % 2 else "right",
        measures=FaceMeasures(
            pd_mm=round(52.0 + 22.0 * row[0], 1),
            exophthalmometry=pick(row[2], ("deep-set", "average", "prominent")) if row[2] < 0.5 else depth,
            nose=pick(row[3], ("low", "medium", "high")),
            brow=pick(row[4], ("flat", "medium", "heavy")),
            neck=pick(row[5], ("free", "free", "free", "limited", "fixed")),
        ),
        gaze_deg=(0.0, 0.0)
        if row[6] < 0.4
        else (round(60.0 * (row[6] - 0.7), 1), round(40.0 * row[7] - 20.0, 1)),
        age_band=pick(row[8], ("18-39", "40-59", "60-79", "80-or-more")),
        at_deg=at_deg,
        at_distance_mm=at_distance_mm,
    )


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, DECIMALS)


def _short_pair(pair: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if pair is None else (round(pair[0], DECIMALS), round(pair[1], DECIMALS))
