"""Is the advice calibrated? What the pack's model predicts against what the log has, under each of its two
faces; and where its mid-line would stand by the log."""

import asyncio
from collections import Counter, defaultdict
from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, get_args

from litestar import get
from litestar.params import QueryParameter

from chinrest.log.craft import PACK_LETTERS
from chinrest.model.face import EyeDepthClass, FaceName
from chinrest.model.offset import NOMINAL, OFFSETS_MM, OffsetCell, further, mid_line, offset_cells
from chinrest.model.rates.offset_fit import Corrected, OffsetFit, fit_offset
from chinrest.model.rates.summary import rate_of
from chinrest.pack.compiled import decode_pack
from chinrest.pack.faults import PackFaults
from chinrest.pack.schema import Pack
from chinrest.server.calibration_wire import Adopted, Band, Calibration, FaceReliability, PackHeld
from chinrest.server.context import Call, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import reviewer
from chinrest.server.rates import Month, Short, period_of
from chinrest.server.scope import WITHIN
from chinrest.store import Store
from chinrest.store.craft import POSES

BANDS = (0.0, 0.01, 0.05, 0.2, 0.5, 1.0)
FILE = "faces.toml"
FACES: tuple[FaceName, ...] = ("nominal", "forward")
RULES = [
    "Only poses found straight ahead, of a face that the tables describe, after a turn had been computed. "
    "Each stands for the middle face of its class (depth of the eyes, nose) and optic: medium brow, free "
    "neck.",
    "The predicted chance is that of touching at the turn that was advised, from how people differ. Movement "
    "is not counted.",
    "What would have touched lies between what did and what did or was turned further first: whoever expects "
    "a touch turns the head, so that it never comes. Touches alone are too rare, and censored by that.",
    "Advice taken unchanged is no evidence for any offset: nobody tried another turn. The estimate uses only "
    "corrections that were noted in degrees, and the chance of each given that there was one.",
    "Poses of one photographer, and of one patient who came again, hang together: the interval is then too "
    "narrow.",
]
Cell = tuple[str, str, str]
"""Optic, depth, nose."""


class _Seen:
    """The counts of one cell."""

    def __init__(self) -> None:
        self.poses = self.unchanged = self.touched = self.touched_or_more = 0
        self.off: Counter[int] = Counter()

    def add(self, outcome: str, off: int, touched: bool, n: int) -> None:
        self.poses += n
        self.unchanged += n if outcome == "as_advised" else 0
        self.touched += n if touched else 0
        self.touched_or_more += n if touched or outcome == "more" else 0
        if off and outcome in ("more", "less"):
            self.off[off if outcome == "more" else -off] += n


class _Model:
    """A pack with what its model says of every cell."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        cells = offset_cells(pack.optics, pack.faces, pack.limits)
        self.cells: dict[Cell, OffsetCell] = {(cell.optic, cell.depth, cell.nose): cell for cell in cells}


_models: dict[str, _Model] = {}
_turn = asyncio.Lock()
MODELS_KEPT = 4


async def model_of(store: Store, sha256: str) -> _Model:
    """Some seconds the first time for a pack; kept for as long as the server runs."""
    async with _turn:
        if sha256 not in _models:
            raw = await store.pack_bytes(sha256)
            try:
                pack = decode_pack(raw or b"")
            except PackFaults as fault:
                why = "this version cannot read the pack, so that there is no model to hold against the log"
                raise RequestError(409, "pack", "pack", why) from fault
            while len(_models) >= MODELS_KEPT:
                _models.pop(next(iter(_models)))
            _models[sha256] = await asyncio.to_thread(_Model, pack)
        return _models[sha256]


def depth_class(told: str, pack: Pack) -> str:
    """A judged class as it stands; whole mm by the pack's cut-offs."""
    if told in get_args(EyeDepthClass):
        return told
    depth, mm = pack.faces.eye_depth, float(told)
    return (
        "deep-set"
        if mm < depth.deep_set_below_mm
        else "prominent"
        if mm > depth.prominent_above_mm
        else "average"
    )


def by_cell(counts: Mapping[tuple[str, str], int], pack: Pack) -> dict[Cell, _Seen]:
    found: dict[Cell, _Seen] = defaultdict(_Seen)
    for (key, sub), n in counts.items():
        depth, nose, outcome, off, touched = sub.split("/")
        optic = key.partition("/")[2]
        found[optic, depth_class(depth, pack), nose].add(outcome, int(off), touched == "touched", n)
    return found


def reliability(
    seen: Mapping[Cell, _Seen], cells: Mapping[Cell, OffsetCell], pack: Pack
) -> list[FaceReliability]:
    rows = []
    for face in FACES:
        bands = []
        for low, high in pairwise(BANDS):
            inside = [
                (cells[cell].touch_chance, of)
                for cell, of in seen.items()
                if cell in cells and cells[cell].touch_chance is not None
            ]
            within = [
                (chance[face], of)
                for chance, of in inside
                if chance is not None and (low <= chance[face] < high or (high == 1.0 == chance[face]))
            ]
            poses = sum(of.poses for _, of in within)
            if poses == 0:
                continue
            bands.append(
                Band(
                    from_chance=low,
                    to_chance=high,
                    predicted=sum(chance * of.poses for chance, of in within) / poses,
                    poses=poses,
                    touched=rate_of(sum(of.touched for _, of in within), poses),
                    touched_or_more=rate_of(sum(of.touched_or_more for _, of in within), poses),
                )
            )
        rows.append(FaceReliability(face=face, summary=getattr(pack.faces, face).summary, bands=bands))
    return rows


def corrections(seen: Mapping[Cell, _Seen], cells: Mapping[Cell, OffsetCell]) -> list[Corrected]:
    """Of cells where a turn is advised at all: where none is, "less" could not be said."""
    found = []
    for key, of in seen.items():
        cell = cells.get(key)
        advised = cell.needed_deg[NOMINAL] if cell is not None else None
        if cell is None or advised is None or advised < 1.0:
            continue
        shifts, last = [], 0.0
        for needed in cell.needed_deg:
            last = last if needed is None else needed - advised  # beyond what fits, as far as it went
            shifts.append(last)
        found += [Corrected(shift_deg=tuple(shifts), off_deg=off, n=n) for off, n in sorted(of.off.items())]
    return found


def held_back(fit: OffsetFit) -> str:
    """Why an estimate should not be adopted; empty where nothing speaks against it."""
    if fit.both is None:
        return "Too few corrections in degrees for an estimate: at least 20 are needed."
    if None in fit.both.interval95:
        return "The interval reaches beyond the offsets that were tried: the log does not hold enough."
    if fit.agree is False:
        return (
            "The estimate from the larger turns alone lies elsewhere: smaller turns were not noted as "
            "readily, or the corrections are not of the face alone."
        )
    low, high = fit.both.interval95
    if low is not None and high is not None and low <= 0 <= high:
        return "The interval holds 0: the log does not contradict the pack."
    return ""


def adopted(pack: Pack, by_mm: float) -> list[Adopted]:
    rows = []
    for name in mid_line(pack.faces):
        place = pack.faces.nominal.landmarks[name]
        moved = further(place, round(by_mm, 1)).mean_mm
        rows.append(
            Adopted(
                landmark=name,
                key=f"nominal.landmarks.{name}.mean_mm",
                was=place.mean_mm,
                becomes=(moved[0], moved[1], round(moved[2], 2)),
            )
        )
    return rows


@get("/api/calibration", guards=[reviewer], opt=WITHIN)
async def calibration(
    request: Call,
    first: Month = None,
    last: Month = None,
    site: Short = None,
    pack: Annotated[str | None, QueryParameter(pattern="^[0-9a-f]{64}$")] = None,
) -> Calibration:
    """The predicted chance of touching against what touched, under each of the pack's two faces; and an
    estimate of where the mid-line stands, with its interval. Of the pack that has the most poses, unless
    `pack` names another."""
    store = store_of(request)
    period = period_of(request, first, last, site)
    counted = await store.craft_counts(period, (POSES,))
    counts = counted.kinds.get(POSES, {})
    poses: Counter[str] = Counter()
    for (key, _), n in counts.items():
        poses[key.partition("/")[0]] += n
    packs = [
        PackHeld(sha256=row.sha256, version=row.version, poses=poses[row.sha256[:PACK_LETTERS]])
        for row in await store.packs()
        if row.sha256[:PACK_LETTERS] in poses
    ]
    chosen = max(packs, key=lambda one: one.poses, default=None)
    if pack is not None:
        chosen = next((one for one in packs if one.sha256 == pack), None)
    seen: dict[Cell, _Seen] = {}
    rows: list[FaceReliability] = []
    fit: OffsetFit | None = None
    why = "No pose of this period was found straight ahead after a computed turn."
    changes: list[Adopted] = []
    if chosen is not None:
        model = await model_of(store, chosen.sha256)
        own = {key: n for key, n in counts.items() if key[0].startswith(chosen.sha256[:PACK_LETTERS])}
        seen = by_cell(own, model.pack)
        rows = reliability(seen, model.cells, model.pack)
        found = await asyncio.to_thread(fit_offset, corrections(seen, model.cells), OFFSETS_MM)
        fit, why = found, held_back(found)
        if not why and found.both is not None:
            changes = adopted(model.pack, found.both.offset_mm)
    return Calibration(
        pack=chosen,
        packs=packs,
        poses=sum(of.poses for of in seen.values()),
        unchanged=sum(of.unchanged for of in seen.values()),
        corrected=sum(sum(of.off.values()) for of in seen.values()),
        faces=rows,
        offset=fit,
        file=FILE,
        adopted=changes,
        held_back=why,
        rules=RULES,
        position=counted.position,
        first=first,
        last=last,
        site=period.site,
    )


ROUTES = [calibration]
