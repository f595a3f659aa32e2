"""Lines that let something go ahead, or end it, without what they must say for that: who, as what, and why.

The screens ask for it. That such a line counts for nothing is held here and by the phone's own fold
(`log/lacking.ts`), whoever wrote it: an older app, another program, a restored backup. It is kept and shown.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

from chinrest.log.amendments import Standing
from chinrest.log.case_events import StepSkipped
from chinrest.log.dye_events import DyeLeftOut, PhysicianAsked, ScreeningAnswered, StopReleased
from chinrest.log.series_events import SeriesStopped
from chinrest.model.dye.screening import ORDER, Consequence

Lack = Literal["release", "go_ahead", "eased", "skip", "reason"]
"""release, go_ahead: a stop is released, or the physician's go-ahead told, without who, as what (and why);
eased: an answer that held the dye back is replaced by a lighter one without why; skip: a step is passed
without a reason. These four count for nothing. reason: a series or a dye is left out without why: it stands,
since it only ever ends something."""


def lacking(standing: Sequence[Standing]) -> Mapping[str, Lack]:
    """By line, what it lacks; `standing` in order. Lines that were withdrawn lack nothing any more."""
    held: dict[str, Consequence | None] = {}
    found: dict[str, Lack] = {}
    for line in standing:
        if line.withdrawn or line.foreign:
            continue
        lack = _lack(line, held)
        if lack is not None:
            found[line.kept.envelope.id] = lack
        elif isinstance(line.body, ScreeningAnswered):
            held[line.body.question] = line.body.consequence
    return found


def _lack(line: Standing, held: Mapping[str, Consequence | None]) -> Lack | None:
    match line.body:
        case StopReleased(by=by, role=role, words=words) if not _said(by, role, words):
            return "release"
        case PhysicianAsked(goes_on=True, by=by, role=role) if not _said(by, role):
            return "go_ahead"
        case ScreeningAnswered(question=question, consequence=consequence, why=why) if eases(
            held.get(question), consequence
        ) and not _said(why):
            return "eased"
        case StepSkipped(reason=reason) if not _said(reason):
            return "skip"
        case SeriesStopped(why=why) | DyeLeftOut(why=why) if not _said(why):
            return "reason"
        case _:
            return None


def eases(before: Consequence | None, now: Consequence | None) -> bool:
    """Whether what held the dye back is replaced by what holds it back less, or by nobody knows what."""
    weight = -1 if now is None else ORDER.index(now)
    return before in ("ask", "stop") and weight < ORDER.index(before)


def _said(*texts: str) -> bool:
    return all(text.strip() for text in texts)
