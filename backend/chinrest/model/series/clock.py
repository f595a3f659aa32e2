"""Seconds since an injection, from what a phone's two clocks said: the reference of the phone's own.

A phone has a *wall clock*, which anyone and any network may set, and a *running count* since the app started,
which nothing sets, but which begins anew with each start and on some systems stands still while the phone
sleeps. Each is a witness. Walking from one reading to the next, a witness is caught failing:

* the wall clock, where it and the count of one start part while the page was in view, or where it falls
  behind the count (which never runs fast), or where it went backward from one start to the next;
* the count, where the app started anew, or where the wall clock ran ahead while the page was hidden: the
  phone is taken to have slept.

If neither failed or only the wall clock did, the count tells the time. If only the count failed, the wall
clock does. If both failed nothing vouches for the time: `uncertain`, with both readings.

What this cannot see: a wall clock set forward by less than `UNSEEN_MS` while nothing of the app ran or while
it was hidden, or back by less than the time that nothing of it ran. What it shows is taken for time that
passed, and `by` says that the wall clock alone vouches. From `UNSEEN_MS` on neither is believed: zones and
summer time move clocks by half an hour and more. A phone that sleeps without the page being hidden first (a
laptop's lid) is taken for one whose wall clock was set.
"""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

AGREE_MS = 200
"""Two clocks that part by less than this agree."""
STEP_MS = 1000
"""A network sets a clock right in steps of less than this; the step is known and taken out."""
UNSEEN_MS = 29 * 60 * 1000
"""The longest stretch for which the wall clock is believed alone."""


class Reading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What both clocks said, ms. `boot` names the start that `mono` counts from. `hidden`: the page was
    hidden at some moment since the reading before, or nobody knows."""

    at: float
    mono: float
    boot: str
    hidden: bool = True


class Anchor(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A moment at which the seconds were known: the press that began the injection (0), or later the seconds
    that the team agreed on. `foreign`: read on another phone, whose clocks are not this one's."""

    at: float
    mono: float
    boot: str
    seconds: float = 0.0
    foreign: bool = False


class ClockAnswer(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`seconds` is null when uncertain. `by`: which witness vouches. `wall_s` and `mono_s` are what each
    says; `mono_s` counts only what ran, so after a new start it is a least value."""

    state: Literal["certain", "uncertain"]
    seconds: float | None
    by: Literal["both", "mono", "wall", "neither"]
    wall_s: float
    mono_s: float


def seconds_since(anchor: Anchor, readings: Sequence[Reading]) -> ClockAnswer:
    """Seconds at the last of the readings, which are in order. Raises ValueError without any reading."""
    after = _after(anchor, readings)
    at, mono, boot = anchor.at, anchor.mono, anchor.boot
    counted = moved = 0.0
    wall_failed = mono_failed = anchor.foreign
    for reading in after:
        wall = reading.at - at
        if reading.boot != boot:
            mono_failed = True
            wall_failed = wall_failed or wall < -AGREE_MS or wall >= UNSEEN_MS
        else:
            ran = reading.mono - mono
            ahead = wall - ran
            counted += max(ran, 0.0)
            if ran < 0:  # no count does this: what was kept is damaged
                mono_failed = True
            elif ahead < -AGREE_MS or (ahead > AGREE_MS and not reading.hidden):
                moved += ahead
                wall_failed = wall_failed or abs(ahead) > STEP_MS
            elif ahead > STEP_MS:
                mono_failed = True
                wall_failed = wall_failed or ahead >= UNSEEN_MS
            elif ahead > AGREE_MS:
                counted += ahead
        at, mono, boot = reading.at, reading.mono, reading.boot
    wall_ms = at - anchor.at
    by: Literal["both", "mono", "wall", "neither"]
    if mono_failed and wall_failed:
        by, seconds = "neither", None
    elif mono_failed:
        by, seconds = "wall", anchor.seconds + (wall_ms - moved) / 1000
    else:
        by, seconds = ("mono" if wall_failed else "both"), anchor.seconds + counted / 1000
    return ClockAnswer(
        state="uncertain" if seconds is None else "certain",
        seconds=seconds,
        by=by,
        wall_s=anchor.seconds + wall_ms / 1000,
        mono_s=anchor.seconds + counted / 1000,
    )


def _after(anchor: Anchor, readings: Sequence[Reading]) -> Sequence[Reading]:
    """Those that follow the anchor. Where none is of the anchor's own start there is no telling which came
    before it, and only the last is of use."""
    if not readings:
        raise ValueError("no reading of the clocks")
    own = [i for i, reading in enumerate(readings) if reading.boot == anchor.boot]
    if not own:
        return readings[-1:]
    before = [i for i in own if readings[i].mono <= anchor.mono]
    if before:
        return readings[before[-1] + 1 :] or readings[-1:]
    return readings[own[0] :]
