"""How many seconds after each dye a line of a case was written, by the rule of the phone's own clock.

The one place where a server or the desk works such seconds out. A phone tells its own in the bodies that need
them (`dye_s`); it knows whether its page was hidden, which no line says, so that it may be certain where this
is not.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct, structs

from chinrest.log.amendments import Standing
from chinrest.log.dye_events import DyeInjected
from chinrest.log.envelope import Envelope
from chinrest.log.kept import SERVER_SITE, KeptLine
from chinrest.log.line import BIGGEST, TIME_LIMIT_MS
from chinrest.log.series_events import ClockUncertain
from chinrest.model.series.clock import AGREE_MS, Anchor, ClockAnswer, Reading, seconds_since


class SinceDye(Struct, frozen=True, kw_only=True):
    """One dye's clock at one line. `seconds` null: uncertain. `by` which clock vouches: both of the phone's,
    its count (mono), the time of day alone (wall), or neither. `wall_s` and `mono_s` are what each says;
    `mono_s` is null on another phone than the one that timed the dye. `agreed`: counted from what the team
    agreed on, since both clocks had failed before."""

    dye: str
    seconds: float | None
    by: Literal["both", "mono", "wall", "neither"]
    wall_s: float
    mono_s: float | None
    agreed: bool


class _Run:
    """One dye's clock: where it began, and what the phone that timed it has said of its clocks since."""

    def __init__(self, anchor: Anchor, kept: KeptLine, *, agreed: bool) -> None:
        self.anchor, self.kept, self.agreed = anchor, kept, agreed
        self.readings: list[Reading] = []
        self.wall_failed = self.doubted = False

    def at(self, kept: KeptLine, dye: str) -> SinceDye | None:
        if kept.envelope.device != self.kept.envelope.device:
            return self._elsewhere(kept, dye)
        if kept.envelope.seq < self.kept.envelope.seq:
            return None
        self._add(_reading(kept.envelope))
        answer = seconds_since(self.anchor, self.readings)
        if self.doubted:
            answer = structs.replace(answer, state="uncertain", seconds=None, by="neither")
        self.wall_failed = answer.by in ("mono", "neither")
        return _told(dye, answer, agreed=self.agreed)

    def _add(self, now: Reading) -> None:
        """A stretch in which both clocks ran alike is kept as its first and its last reading."""
        if len(self.readings) > 1:
            first, last = self.readings[-2:]
            if now.boot == last.boot == first.boot and now.mono >= last.mono:
                parted = [abs((now.at - one.at) - (now.mono - one.mono)) for one in (first, last)]
                if max(parted) < AGREE_MS / 2:
                    self.readings.pop()
        self.readings.append(now)

    def _elsewhere(self, kept: KeptLine, dye: str) -> SinceDye | None:
        """Two phones share no clock but the server's, which each was compared with when its line came."""
        own = self.kept
        apart = (kept.envelope.at - self.anchor.at) / 1000.0
        if kept.offset_ms is None or own.offset_ms is None:
            compared = False
        else:
            apart -= (kept.offset_ms - own.offset_ms) / 1000.0
            compared = not self.wall_failed
        wall_s = self.anchor.seconds + apart
        if apart < 0.0:
            return None
        return SinceDye(
            dye=dye,
            seconds=wall_s if compared else None,
            by="wall" if compared else "neither",
            wall_s=wall_s,
            mono_s=None,
            agreed=self.agreed,
        )


def since_dyes(standing: Sequence[Standing]) -> Mapping[str, list[SinceDye]]:
    """By line, each dye that had been given when it was written; `standing` in order. As on the phone a dye
    that is given twice counts from the first, and from what the team agreed on where they did. Lines of the
    desk, from before the dye, and of other sites are not timed; nor is a dye whose press no clock could have
    timed so."""
    runs: dict[str, _Run] = {}
    found: dict[str, list[SinceDye]] = {}
    for line in standing:
        kept = line.kept
        if kept.site == SERVER_SITE or line.foreign:
            continue
        if not line.withdrawn:
            _begin(runs, line)
        times = [run.at(kept, dye) for dye, run in runs.items()]
        found[kept.envelope.id] = [time for time in times if time is not None]
    return found


def _begin(runs: dict[str, _Run], line: Standing) -> None:
    e = line.kept.envelope
    match line.body:
        case DyeInjected(dye=dye, pressed_at=at, pressed_mono=mono) if dye not in runs and _may_be(at, mono):
            runs[dye] = _Run(Anchor(at=at, mono=mono, boot=e.boot), line.kept, agreed=False)
        case ClockUncertain(dye=dye, agreed_s=float(agreed_s)) if dye in runs:
            anchor = Anchor(at=e.at, mono=e.mono, boot=e.boot, seconds=agreed_s)
            runs[dye] = _Run(anchor, line.kept, agreed=True)
        case ClockUncertain(dye=dye) if dye in runs and runs[dye].kept.envelope.device == e.device:
            runs[dye].doubted = True  # the phone knows more of its clocks than its lines say
        case _:
            pass


def _may_be(at: int, mono: int) -> bool:
    """Whether a clock could say so, as of every line's own times: a body may hold any number."""
    return abs(at) <= TIME_LIMIT_MS and abs(mono) <= BIGGEST


def _reading(e: Envelope) -> Reading:
    """Nobody knows whether the page was hidden between two lines."""
    return Reading(at=e.at, mono=e.mono, boot=e.boot, hidden=True)


def _told(dye: str, answer: ClockAnswer, *, agreed: bool) -> SinceDye:
    return SinceDye(
        dye=dye,
        seconds=answer.seconds,
        by=answer.by,
        wall_s=answer.wall_s,
        mono_s=answer.mono_s,
        agreed=agreed,
    )
