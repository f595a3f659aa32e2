"""Check vectors of the clock: what two clocks said in each kind of bad day, and the reference's answer."""

from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from chinrest.model.spread import spread

from .clock import Anchor, Reading, seconds_since

RANDOM = 24
PRESSED_AT = 1_760_000_000_000.0


class ClockVector(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An anchor, the readings after it, and what the reference says of the last; as in `ClockAnswer`."""

    anchor: Anchor
    readings: list[Reading]
    state: Literal["certain", "uncertain"]
    seconds: float | None
    by: Literal["both", "mono", "wall", "neither"]
    wall_s: float
    mono_s: float


def clock_vectors() -> list[ClockVector]:
    """Every kind of failing alone and in pairs, then some at random."""
    return [_vector(anchor, readings) for anchor, readings in (*_days(), *_random())]


def _vector(anchor: Anchor, readings: Sequence[Reading]) -> ClockVector:
    answer = seconds_since(anchor, readings)
    return ClockVector(
        anchor=anchor,
        readings=list(readings),
        state=answer.state,
        seconds=answer.seconds,
        by=answer.by,
        wall_s=answer.wall_s,
        mono_s=answer.mono_s,
    )


def walk(
    steps: Sequence[tuple[str, float, float, bool]], seconds: float = 0.0
) -> tuple[Anchor, list[Reading]]:
    """An anchor and readings from steps of (boot, ms by the wall clock, ms by the count, hidden).

    The first step of a new boot states its count from 0.
    """
    at, mono, boot = PRESSED_AT, 5_000.0, "a"
    anchor = Anchor(at=at, mono=mono, boot=boot, seconds=seconds)
    readings = []
    for name, wall, ran, hidden in steps:
        at += wall
        mono = ran if name != boot else mono + ran
        boot = name
        readings.append(Reading(at=at, mono=mono, boot=boot, hidden=hidden))
    return anchor, readings


def _days() -> Iterator[tuple[Anchor, list[Reading]]]:
    hour = 3_600_000.0
    beat = ("a", 30_000.0, 30_000.0, False)
    again = ("b", 4_000.0, 900.0, False)
    after = ("b", 60_000.0, 60_000.0, False)
    for days in (
        [beat],
        [beat, ("a", 120_000.0, 120_000.0, True)],  # hidden for two minutes, both ran
        [beat, ("a", 120_000.0, 300.0, True)],  # asleep for two minutes, the count stood
        [beat, ("a", 2 * hour, 300.0, True)],  # asleep, or set, for two hours
        [beat, ("a", 1_000.0 + hour, 1_000.0, False), beat],
        [beat, ("a", 1_000.0 - hour, 1_000.0, False), beat],
        [beat, ("a", 1_000.0 - hour, 1_000.0, True), beat],
        [beat, again, after],
        [beat, again, ("c", 600_000.0, 700.0, False), ("c", 60_000.0, 60_000.0, False)],
        [beat, ("a", 1_000.0 + hour, 1_000.0, False), again, after],
        [beat, again, ("b", 1_000.0 - hour, 1_000.0, False), after],
        [beat, ("b", 4_000.0 + hour, 900.0, False), after],
        [beat, ("b", 4_000.0 - hour, 900.0, False), after],
        [beat, ("a", 30_400.0, 30_000.0, False), again, after],  # a small step, taken out
        [beat, ("a", 30_400.0, 30_000.0, True), after],  # a short sleep
        [beat, ("a", 1_000.0, -500.0, False)],
    ):
        yield walk(days)
        yield walk(days, 137.25)
    anchor, readings = walk([beat, beat])
    yield Anchor(at=anchor.at, mono=anchor.mono, boot="elsewhere", foreign=True), readings
    yield Anchor(at=anchor.at, mono=anchor.mono, boot="elsewhere"), readings
    earlier = Reading(at=PRESSED_AT - 9_000, mono=1_000.0, boot="a")
    yield anchor, [Reading(at=1.0, mono=1.0, boot="old"), earlier, *readings]


def _random() -> Iterator[tuple[Anchor, list[Reading]]]:
    for row in spread(RANDOM, 12):
        yield random_days(row)


def random_days(row: Sequence[float]) -> tuple[Anchor, list[Reading]]:
    """Four stretches from twelve numbers of the unit interval, with a failing in about half of them."""
    steps = []
    boot = "a"
    for what, size, length in (row[0:3], row[3:6], row[6:9], row[9:12]):
        ran = round(300_000.0 * length * length)
        wall = ran
        if what < 0.15:
            boot += "x"
            ran = round(2_000 * size)
        elif what < 0.4:
            wall += round((size - 0.5) ** 3 * 30_000_000)
        steps.append((boot, float(wall), float(ran), length > 0.6))
    return walk(steps, round(100 * row[0], 1) if row[1] < 0.3 else 0.0)
