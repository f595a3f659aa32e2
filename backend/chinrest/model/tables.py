"""Tables that a phone only looks up: compiled here, so that it holds no formula for them."""

from collections.abc import Sequence

from msgspec import Struct, structs

from .answer import fit_request, pose_clearance
from .eye import pupil_ratio
from .face import FaceMeasures, FaceTables, Landmark
from .fit import FitRequest, FitResult, Limits, TouchWord
from .optic import Optic
from .spread import pick, spread


class PupilTable(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Pupil ratio by horizontal gaze (nasal+): entry i stands at `from_deg` + i x `step_deg`.

    Between two entries the phone takes the smaller (the careful side); beyond the ends, the end.
    """

    from_deg: float
    step_deg: float
    ratios: list[float]
    source: str


class TouchRow(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """For one optic and the landmark it is nearest to: the clearance (mm, nominal face) from which each
    word is used.

    None: no clearance that was tried earns the word. A clearance below both is expect_to_adjust, as is a
    landmark without a row.
    """

    optic: str
    landmark: Landmark
    likely_clear_mm: float | None
    close_mm: float | None
    samples: int


class TouchTable(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Words for how near the optic comes, by the worse of the two faces and rounded to the careful side."""

    rows: list[TouchRow]
    how: str


POSES_PER_OPTIC = 160
LEAST_POSES = 12
LEAST_ABOVE = 4
WIDEST_MM = 24.0
CAREFUL_MM = 0.5


def pupil_table() -> PupilTable:
    """Pupil ratio from 60 deg temporal to 60 deg nasal gaze."""
    return PupilTable(
        from_deg=-60.0,
        step_deg=1.0,
        ratios=[round(pupil_ratio(float(h)), 4) for h in range(-60, 61)],
        source="Mathur, Gehrmann & Atchison 2013, J Vis 13(6):3; horizontal meridian only",
    )


def touch_table(optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> TouchTable:
    """Tries many faces and poses with every optic and keeps, by nearest landmark, the clearance that earns
    a word.

    The threshold lies above every tried clearance whose chance of touching (worse face) was beyond the
    word's, by half a millimetre. A landmark that was seldom the nearest gets the threshold of all the
    optic's poses together.
    """
    rows: list[TouchRow] = []
    for optic in optics:
        tried: dict[Landmark, list[tuple[float, float]]] = {}
        for request, wanted_mm in _spread_of_requests(optic, limits):
            answer = _brought_to(request, wanted_mm, optics, faces, limits)
            if answer.nearest is not None and answer.clearance_mm is not None and answer.touch_chance:
                tried.setdefault(answer.nearest, []).append(
                    (answer.clearance_mm, max(answer.touch_chance.values()))
                )
        together = [pair for pairs in tried.values() for pair in pairs]
        for landmark, pairs in sorted(tried.items()):
            enough = pairs if len(pairs) >= LEAST_POSES else together
            rows.append(
                TouchRow(
                    optic=optic.id,
                    landmark=landmark,
                    likely_clear_mm=_threshold(enough, limits.touch_words.likely_clear_up_to),
                    close_mm=_threshold(enough, limits.touch_words.close_up_to),
                    samples=len(pairs),
                )
            )
    how = (
        f"{POSES_PER_OPTIC} evenly spread adult faces and poses for each optic, brought to clearances"
        f" from 0 to {WIDEST_MM:g} mm; chance of touching by the worse of two faces; plus {CAREFUL_MM:g} mm."
        " Anatomy only: movement is not counted."
    )
    return TouchTable(rows=rows, how=how)


def looked_up(table: TouchTable, optic: str, landmark: Landmark, clearance_mm: float) -> TouchWord:
    """The word as a phone finds it in the table."""
    for row in table.rows:
        if row.optic == optic and row.landmark == landmark:
            if row.likely_clear_mm is not None and clearance_mm >= row.likely_clear_mm:
                return "likely_clear"
            if row.close_mm is not None and clearance_mm >= row.close_mm:
                return "close"
    return "expect_to_adjust"


def _brought_to(
    request: FitRequest, wanted_mm: float, optics: Sequence[Optic], faces: FaceTables, limits: Limits
) -> FitResult:
    """The answer at a distance, allowed or not, that brings the clearance near the wanted one."""
    at_nominal = pose_clearance(request, optics, faces, limits)
    distance = request.at_distance_mm or 0.0
    return fit_request(
        structs.replace(request, at_distance_mm=max(1.0, distance + (wanted_mm - at_nominal) / 0.8)),
        optics,
        faces,
        limits,
    )


def _threshold(pairs: list[tuple[float, float]], chance: float) -> float | None:
    worst = max((clearance for clearance, touched in pairs if touched > chance), default=0.0)
    above = sum(clearance > worst for clearance, _ in pairs)
    return round(worst + CAREFUL_MM, 2) if above >= LEAST_ABOVE else None


def _spread_of_requests(optic: Optic, limits: Limits) -> list[tuple[FitRequest, float]]:
    """Faces and poses as they occur, evenly spread and always the same, with the clearance to bring each
    to."""
    neck = limits.necks["free"]
    requests: list[tuple[FitRequest, float]] = []
    for pd, depth, nose, brow, yaw, pitch, wanted, h in spread(POSES_PER_OPTIC, 8):
        request = FitRequest(
            optic=optic.id,
            eye="right",
            measures=FaceMeasures(
                pd_mm=55.0 + 16.0 * pd,
                exophthalmometry=pick(depth, ("deep-set", "average", "average", "prominent")),
                nose=pick(nose, ("low", "medium", "high")),
                brow=pick(brow, ("flat", "medium", "heavy")),
                neck="free",
            ),
            gaze_deg=(round(40.0 * h - 20.0, 1), 0.0),
            age_band="18-39",
            at_deg=(
                round(-neck.yaw_deg / 3.0 + neck.yaw_deg * 4.0 / 3.0 * yaw, 1),
                round(neck.pitch_deg * (2.0 * pitch - 1.0), 1),
            ),
            at_distance_mm=optic.working_distance_mm,
        )
        requests.append((request, WIDEST_MM * wanted))
    return requests
