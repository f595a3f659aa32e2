"""What travels when the craft is asked for: comfort, advice against what was found, frames again, steps,
time."""

from msgspec import Struct

from chinrest.model.rates.summary import Rate


class ScoreRow(Struct, frozen=True, kw_only=True):
    """Comfort scores 0 (comfortable) to 10 of one optic or class. `counts`: how many of each score, from 0;
    `quartiles`: scores that a quarter, half and three quarters lie at or below; `mean` of the scores as if
    they were evenly spaced, which nobody has shown."""

    key: str
    noted: int
    counts: list[int]
    quartiles: tuple[int, int, int]
    mean: float


class AdviceRow(Struct, frozen=True, kw_only=True):
    """Poses found with one optic after one of the words was shown (`unsaid`: none). `asked_more` among
    `poses` is `more`, touches among them `touch`; both null where no pose is on record."""

    optic: str
    words: str
    poses: int
    as_advised: int
    asked_more: int
    asked_less: int
    not_reached: int
    touched: int
    more: Rate | None
    touch: Rate | None


class AdjustedRow(Struct, frozen=True, kw_only=True):
    """By how many degrees it was off with one optic, where somebody said so; more is positive. `mean95`:
    Student's t, of those said; null below 2, or where all said the same. `counts`: [degrees, how many]."""

    optic: str
    said: int
    mean_deg: float
    mean95: tuple[float, float] | None
    counts: list[tuple[int, int]]


class CountRow(Struct, frozen=True, kw_only=True):
    key: str
    sub: str
    n: int


class StageRow(Struct, frozen=True, kw_only=True):
    """Whole minutes of one stage; `quartiles`: at or below which a quarter, half and three quarters lie."""

    stage: str
    cases: int
    quartiles: tuple[int, int, int]
    longest: int


class WindowRow(Struct, frozen=True, kw_only=True):
    """One window of a protocol, among the `cases` that followed a layout with it: what became of it, and the
    share in which it was kept."""

    protocol: str
    window: str
    cases: int
    kept: int
    untimed: int
    early: int
    late: int
    missed: int
    stopped: int
    rate: Rate


class CraftReport(Struct, frozen=True, kw_only=True):
    """`windows_unread`: cases with a series whose pack is not here, so that nobody knows its windows."""

    visits: int
    comfort: list[ScoreRow]
    by_turn: list[ScoreRow]
    by_depth: list[ScoreRow]
    by_minutes: list[ScoreRow]
    advice: list[AdviceRow]
    adjusted: list[AdjustedRow]
    again: list[CountRow]
    skipped: list[CountRow]
    stages: list[StageRow]
    windows: list[WindowRow]
    windows_unread: int
    rules: list[str]
    position: int
    first: str | None
    last: str | None
    site: str | None
