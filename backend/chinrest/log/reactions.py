"""Reactions: what was seen, read and done between the opening of the way out and its end."""

from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.kept import KeptLine, ms_after
from chinrest.log.reaction_events import (
    ReactionAction,
    ReactionAttached,
    ReactionEnded,
    ReactionHandedOver,
    ReactionObserved,
    ReactionSign,
    ReactionStarted,
)


class Reaction(Struct, frozen=True, kw_only=True):
    """One reaction as it stands. `line` opened it; `openings` are all lines that did, on other phones too.
    `signs` are the ids of all that were seen, in the order in which they were first seen, gone again or not.
    Times are the device's wall clock, ms. `ended_at` null: it runs; `ended_line` ended it. An end that was
    told afterwards is as many minutes after the opening as was told, or else when it was told. `readings`:
    as noted, in order."""

    line: str
    openings: list[str]
    at: int
    ended_at: int | None
    ended_line: str | None
    outcome: Literal["case_goes_on", "case_stopped"] | None
    signs: list[str]
    actions: list[str]
    readings: list[ReactionObserved]
    handed_to: str | None
    practice: bool


def fold_reactions(standing: Sequence[Standing]) -> list[Reaction]:
    """The reactions of one case, from its lines in order. One opened while another runs (on a second phone)
    is part of that one. What stands before any opening, or after an end, belongs to the last that ran."""
    return [_fold(run) for run in _runs(standing)]


def attached_to(standing: Sequence[Standing]) -> ReactionAttached | None:
    """Where a reaction that was opened with no case belongs, as last said; null while nobody said."""
    said = [line.body for line in standing if isinstance(line.body, ReactionAttached) and not line.withdrawn]
    return said[-1] if said else None


PARTS = (ReactionSign, ReactionAction, ReactionObserved, ReactionHandedOver, ReactionEnded)


def _runs(standing: Sequence[Standing]) -> Iterator[list[Standing]]:
    """Each run begins with the line that opened it. Lines are given out only when the next run begins, so
    that what another phone wrote a moment late still joins its run."""
    run: list[Standing] = []
    over = False
    for line in standing:
        if line.withdrawn or line.foreign:
            continue
        if isinstance(line.body, ReactionStarted) and over:
            yield run
            run, over = [line], False
        elif isinstance(line.body, ReactionStarted) or (run and isinstance(line.body, PARTS)):
            run.append(line)
            over = over or isinstance(line.body, ReactionEnded)
    if run:
        yield run


def _fold(run: list[Standing]) -> Reaction:
    opening = run[0].kept.envelope
    openings = [line.kept.envelope.id for line in run if isinstance(line.body, ReactionStarted)]
    ended: tuple[KeptLine, ReactionEnded] | None = None
    handed_to: str | None = None
    signs: dict[str, None] = {}
    actions: list[str] = []
    readings: list[ReactionObserved] = []
    for line in run[1:]:
        match line.body:
            case ReactionSign(sign=sign, seen=True):
                signs[sign] = None
            case ReactionAction(action=action):
                actions.append(action)
            case ReactionObserved() as read:
                readings.append(read)
            case ReactionHandedOver() as handed:
                handed_to = handed.to
            case ReactionEnded() as end:
                ended = (line.kept, end)
            case _:
                pass
    return Reaction(
        line=opening.id,
        openings=openings,
        at=opening.at,
        ended_at=_end_of(run[0].kept, *ended) if ended else None,
        ended_line=ended[0].envelope.id if ended else None,
        outcome=ended[1].outcome if ended else None,
        signs=list(signs),
        actions=actions,
        readings=readings,
        handed_to=handed_to,
        practice=opening.practice,
    )


def _end_of(opening: KeptLine, ending: KeptLine, end: ReactionEnded) -> int:
    """An end before the opening, or after the line that tells of it, is none that could have been."""
    if end.after_min is None or end.after_min < 0:
        return ending.envelope.at
    # bounded first: a number so large that it overflows is one that a line may hold
    return opening.envelope.at + round(min(end.after_min * 60_000, max(ms_after(ending, opening), 0)))
