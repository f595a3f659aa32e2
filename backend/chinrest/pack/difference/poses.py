"""How the computed turn, distance, gap and words differ between two packs, face by face."""

from collections.abc import Sequence
from typing import NamedTuple

from chinrest.pack.class_fits import ClassFit, class_fits
from chinrest.pack.schema import Pack
from chinrest.pack.source import Source

Guidance = Source | Pack
DEGREES, MM = 0.05, 0.05
"""Less than this is no difference: it can be neither set nor seen at the chin rest."""
NECKS = ("free", "limited", "fixed")
NOSES = ("low", "medium", "high")
DEPTHS = ("deep-set", "average", "prominent")
WORDS = {"likely_clear": "likely clear", "close": "close", "expect_to_adjust": "expect to adjust"}
ORDER = ("likely_clear", "close", "expect_to_adjust")


class PoseDifference(NamedTuple):
    """One optic with faces that change alike. `less_careful`: a smaller gap on either face, or a word that
    promises more. `rank`: the higher, the sooner it is read."""

    optic: str
    faces: str
    was: str
    now: str
    less_careful: bool
    rank: float


class Poses(NamedTuple):
    """`compared`: how many optics and faces were computed for both."""

    differences: list[PoseDifference]
    compared: int


def pose_differences(older: Guidance, newer: Guidance) -> Poses:
    """Every optic that both have, with every kind of face that is planned for, eye straight ahead. An optic
    whose figures, faces, limits and table of words are the same computes to the same and is not computed."""
    names = [optic.id for optic in newer.optics if optic.id in {each.id for each in older.optics}]
    asked = [name for name in names if _inputs(older, name) != _inputs(newer, name)]
    was, now = class_fits(older, asked), class_fits(newer, asked)
    before = {_key(fit): fit for fit in was}
    found = []
    for fit in now:
        made = between(before[_key(fit)], fit)
        if made is not None:
            found.append((fit, made))
    return Poses(_merged(found), len(now))


def _inputs(guidance: Guidance, optic: str) -> tuple[object, ...]:
    own = next(each for each in guidance.optics if each.id == optic)
    rows = [row for row in guidance.touch.rows if row.optic == optic] if isinstance(guidance, Pack) else None
    return own, guidance.faces, guidance.limits, rows


def _key(fit: ClassFit) -> tuple[str, str, str, str]:
    return fit.optic, fit.eye_depth, fit.nose, fit.neck


class _Between(NamedTuple):
    was: str
    now: str
    less_careful: bool
    rank: float


def between(was: ClassFit, now: ClassFit) -> _Between | None:
    """One optic and face in both, in words; None where nothing differs that could be seen."""
    if was.feasible != now.feasible:
        text = _whole(was), _whole(now)
        return _Between(*text, less_careful=now.feasible, rank=1000.0)
    if not now.feasible:
        return None if was.reason == now.reason else _Between(_whole(was), _whole(now), False, 0.0)
    parts: list[tuple[str, str]] = []

    def part(word: str, before: float | None, after: float | None, unit: str, least: float) -> None:
        if before is not None and after is not None and abs(after - before) >= least:
            parts.append((f"{word} {_figure(before)}{unit}", f"{word} {_figure(after)}{unit}"))

    part("turn", was.yaw_deg, now.yaw_deg, "°", DEGREES)
    part("chin", was.pitch_deg, now.pitch_deg, "°", DEGREES)
    part("distance", was.working_distance_mm, now.working_distance_mm, " mm", MM)
    part("gap", was.clearance_mm, now.clearance_mm, " mm", MM)
    part("gap on the second face", was.forward_clearance_mm, now.forward_clearance_mm, " mm", MM)
    part("field", was.field_deg, now.field_deg, "°", DEGREES)
    if was.words_from == now.words_from and was.words != now.words and was.words and now.words:
        parts.append((f"“{WORDS[was.words]}”", f"“{WORDS[now.words]}”"))
    if was.nearest != now.nearest:
        parts.append((f"nearest {_place(was)}", f"nearest {_place(now)}"))
    if not parts:
        return None
    less = _lost(was, now)
    promises = bool(was.words and now.words and was.words_from == now.words_from) and ORDER.index(
        now.words or "close"
    ) < ORDER.index(was.words or "close")
    turned = abs((now.yaw_deg or 0.0) - (was.yaw_deg or 0.0))
    return _Between(
        ", ".join(old for old, _ in parts),
        ", ".join(new for _, new in parts),
        less >= MM or promises,
        (500.0 if promises else 0.0) + (100.0 + less if less >= MM else 0.0) + turned,
    )


def _lost(was: ClassFit, now: ClassFit) -> float:
    """By how much the gap is less, mm, on the face where it lost more."""
    pairs = ((was.clearance_mm, now.clearance_mm), (was.forward_clearance_mm, now.forward_clearance_mm))
    return max((before - after for before, after in pairs if before is not None and after is not None))


def _whole(fit: ClassFit) -> str:
    if not fit.feasible:
        return f"no turn: {fit.reason}"
    said = f"turn {_figure(fit.yaw_deg)}°, chin {_figure(fit.pitch_deg)}°"
    said += f", distance {_figure(fit.working_distance_mm)} mm, gap {_figure(fit.clearance_mm)} mm"
    return said + (f", “{WORDS[fit.words]}”" if fit.words else "")


def _figure(value: float | None) -> str:
    return "none" if value is None else f"{round(value, 1) + 0.0:g}"


def _place(fit: ClassFit) -> str:
    return (fit.nearest or "nothing").replace("_", " ")


def _merged(found: Sequence[tuple[ClassFit, _Between]]) -> list[PoseDifference]:
    """Faces of one optic that change alike stand in one line; none is left out."""
    lines: dict[tuple[str, _Between], list[ClassFit]] = {}
    for fit, made in found:
        lines.setdefault((fit.optic, made._replace(rank=0.0)), []).append(fit)
    ranks = {(fit.optic, made._replace(rank=0.0)): made.rank for fit, made in found}
    made_lines = [
        PoseDifference(optic, _faces(fits), made.was, made.now, made.less_careful, ranks[optic, made])
        for (optic, made), fits in lines.items()
    ]
    return sorted(made_lines, key=lambda line: -line.rank)


def _faces(fits: Sequence[ClassFit]) -> str:
    """The kinds of face in words; what holds for all of a kind is not said."""
    by_necks: dict[tuple[str, str], list[str]] = {}
    for fit in fits:
        by_necks.setdefault((fit.eye_depth, fit.nose), []).append(fit.neck)
    by_faces: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (depth, nose), necks in by_necks.items():
        by_faces.setdefault((depth, tuple(n for n in NECKS if n in necks)), []).append(nose)
    by_all: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for (depth, necks_said), noses in by_faces.items():
        by_all.setdefault((tuple(n for n in NOSES if n in noses), necks_said), []).append(depth)
    said = []
    for (noses_said, necks_said), depths in by_all.items():
        words = [
            "" if len(depths) == len(DEPTHS) else " or ".join(depths),
            "" if len(noses_said) == len(NOSES) else f"{' or '.join(noses_said)} bridge",
            "" if len(necks_said) == len(NECKS) else f"neck {' or '.join(necks_said)}",
        ]
        said.append(", ".join(word for word in words if word) or "every kind of face")
    return "; ".join(said)
