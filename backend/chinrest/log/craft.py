"""What a case adds to what is known of the craft: how it felt, how the advice fared, how long it took.

Kinds, keys and which (`sub`) of these counts, which stand among the tallies:

comfort          each score noted, by the optic on at that time (empty before the first); sub: the score
comfort_turn     by how far the face was turned in the last pose, where that is known; sub: the score
comfort_depth    by the depth of the eyes as judged, `measured` where it was; sub: the score
comfort_minutes  by minutes since the case was opened; sub: the score
found            poses as found, by optic; sub: words shown / outcome / whether it touched
adjusted         where the found pose says by how much it was off: by optic; sub: whole degrees, more positive
stage            one a case, by stage; sub: its whole minutes
pose_cell        poses found straight ahead where a turn had been computed: by pack (its first letters) and
                 optic; sub: depth of the eyes / nose / outcome / whole degrees off / whether it touched
"""

from collections.abc import Iterator, Sequence
from typing import Literal

from chinrest.log.amendments import Standing
from chinrest.log.case_events import (
    CaseClosed,
    CaseOpened,
    ComfortNoted,
    FaceMeasured,
    FrameTaken,
    OpticChosen,
    PoseAdvised,
    PoseFound,
)
from chinrest.log.dye_events import DyeInjected
from chinrest.log.envelope import Envelope

CraftKind = Literal[
    "comfort",
    "comfort_turn",
    "comfort_depth",
    "comfort_minutes",
    "found",
    "adjusted",
    "stage",
    "pose_cell",
]
CraftCount = tuple[CraftKind, str, str]
Stage = Literal["prepare", "position", "series", "finish"]

UNSAID = "unsaid"
"""Stands for the words where no advice was shown, or it had none."""
LONGEST_MIN = 240
"""A stage above this counts as this long: a case left open overnight tells nothing of the craft."""
TURNS = ((5, "0_5"), (10, "5_10"), (15, "10_15"), (20, "15_20"))
MINUTES = ((15, "0_15"), (30, "15_30"), (60, "30_60"))
MOST = 10
"""The highest comfort score."""
PACK_LETTERS = 16
"""Of a pack's hash: enough to tell packs apart."""
STRAIGHT_DEG = 3.0
"""Up to this gaze a pose counts as straight ahead."""


def band(value: float, bands: tuple[tuple[int, str], ...], above: str) -> str:
    return next((name for end, name in bands if value < end), above)


def craft_counts(standing: Sequence[Standing], opening: Envelope) -> Iterator[CraftCount]:
    """The counts of a case that counts, opened by `opening`."""
    optic, depth, turn = "", "", None
    advice: dict[tuple[str, str], tuple[PoseAdvised, str | None]] = {}
    faces: dict[str, FaceMeasured] = {}
    for line in standing:
        if line.withdrawn or line.foreign:
            continue
        match line.body:
            case OpticChosen():
                optic, turn = line.body.optic, None
            case FaceMeasured():
                judged = line.body.exophthalmometry
                depth = judged if isinstance(judged, str) else "measured"
                faces[line.body.eye] = line.body
            case PoseAdvised():
                advice[line.body.eye, line.body.optic] = line.body, line.kept.envelope.pack
            case PoseFound():
                shown, pack = advice.get((line.body.eye, line.body.optic), (None, None))
                turn = _turn(line.body, shown)
                yield from _of_pose(line.body, shown)
                yield from _of_cell(line.body, shown, pack, faces.get(line.body.eye))
            case ComfortNoted(score=score) if 0 <= score <= MOST:
                yield "comfort", optic, str(score)
                if turn is not None:
                    yield "comfort_turn", band(abs(turn), TURNS, "20"), str(score)
                if depth:
                    yield "comfort_depth", depth, str(score)
                envelope = line.kept.envelope
                if envelope.device == opening.device:  # two devices' clocks differ: that is no duration
                    minutes = (envelope.at - opening.at) / 60_000
                    yield "comfort_minutes", band(minutes, MINUTES, "60"), str(score)
    yield from _stages(standing)


def _turn(found: PoseFound, advice: PoseAdvised | None) -> float | None:
    if found.yaw_deg is not None:
        return found.yaw_deg
    return advice.yaw_deg if advice is not None and found.outcome == "as_advised" else None


def _of_pose(found: PoseFound, advice: PoseAdvised | None) -> Iterator[CraftCount]:
    words = (advice.words if advice is not None else None) or UNSAID
    yield "found", found.optic, f"{words}/{found.outcome}/{'touched' if found.touched else 'clear'}"
    if found.by_deg is not None and found.outcome in ("more", "less"):
        degrees = round(min(abs(found.by_deg), 90)) * (1 if found.outcome == "more" else -1)
        yield "adjusted", found.optic, str(degrees)


def _of_cell(
    found: PoseFound, advice: PoseAdvised | None, pack: str | None, face: FaceMeasured | None
) -> Iterator[CraftCount]:
    """Only where the model had computed a turn for a face of its tables, looking straight ahead."""
    if advice is None or advice.yaw_deg is None or pack is None or face is None or face.unusual:
        return
    if max(map(abs, (*found.gaze_deg, *advice.gaze_deg))) > STRAIGHT_DEG:
        return
    depth = face.exophthalmometry
    off = 0
    if found.by_deg is not None and found.outcome in ("more", "less"):
        off = round(min(abs(found.by_deg), 90))
    parts = (
        depth if isinstance(depth, str) else f"{min(max(depth, 0), 99):.0f}",
        face.nose,
        found.outcome,
        str(off),
        "touched" if found.touched else "clear",
    )
    yield "pose_cell", f"{pack[:PACK_LETTERS]}/{found.optic}", "/".join(parts)


def _stages(standing: Sequence[Standing]) -> Iterator[CraftCount]:
    """Opened, first optic on, first dye given, last frame taken, closed: each stage whose two ends are there.

    Only between lines of one device.
    """
    ends: dict[str, tuple[str, int]] = {}
    for line in standing:
        if line.withdrawn or line.foreign:
            continue
        at = line.kept.envelope.device, line.kept.envelope.at
        match line.body:
            case CaseOpened():
                ends.setdefault("opened", at)
            case OpticChosen():
                ends.setdefault("optic", at)
            case DyeInjected():
                ends.setdefault("dye", at)
            case FrameTaken(outcome="taken"):
                ends["frame"] = at
            case CaseClosed():
                ends["closed"] = at
    stages: tuple[tuple[Stage, str, str], ...] = (
        ("prepare", "opened", "optic"),
        ("position", "optic", "dye"),
        ("series", "dye", "frame"),
        ("finish", "frame", "closed"),
    )
    for stage, first, last in stages:
        if first not in ends or last not in ends or ends[first][0] != ends[last][0]:
            continue
        minutes = (ends[last][1] - ends[first][1]) // 60_000
        if minutes >= 0:  # a clock set back in between tells nothing
            yield "stage", stage, str(min(minutes, LONGEST_MIN))
