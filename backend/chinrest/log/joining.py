"""Which emergencies and safety events are one and the same incident.

Two buttons lead to one happening: somebody logs a reaction as an event, and opens the way out two minutes
later, or the other way round. Counted twice, it would double the rate of reactions.
"""

from collections.abc import Iterator, Sequence
from math import inf
from typing import Literal

from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import SafetyNoted
from chinrest.log.kept import KeptLine
from chinrest.log.reaction_events import ReactionStarted
from chinrest.log.reactions import Reaction, fold_reactions
from chinrest.log.review_events import ReactionParted

DYE_REACTION = "dye_reaction"
"""The id of the safety event 'reaction to the dye', in packs and in the log."""
JOIN_MIN = 10
"""Minutes before the opening of an emergency, and after its end, in which a reaction that was logged as an
event is taken to be that same one. Common practice, no source."""

JOIN_MS = JOIN_MIN * 60_000


class Join(Struct, frozen=True, kw_only=True):
    """The emergency `reaction` (the line that opened it, at `at`) belongs to the incident `incident`.

    `how`: the event's own line says so, or the rule does. An officer may have parted the two: then `parted`,
    `parted_by` (a person's id; at the desk their name) and `why`, and each is counted by itself.
    """

    reaction: str
    incident: str
    at: int
    how: Literal["said", "rule"]
    parted: bool = False
    parted_by: str | None = None
    why: str = ""


def joins(standing: Sequence[Standing]) -> list[Join]:
    """All joins among the lines of one case, in order, those that an officer has parted too.

    An event that names an emergency is joined to it. By the rule, an emergency that nobody named takes one
    event: of the kind DYE_REACTION, of this case's own site, not late, naming no emergency, from JOIN_MIN
    minutes before the opening to JOIN_MIN after the end (while it runs, to no end); the last one before the
    opening, or else the first one after it. One event goes to one emergency. Times of two devices are
    compared after each has been set right by what its clock was off.
    """
    parted = {
        (line.body.incident, line.body.reaction): line.body
        for line in standing
        if isinstance(line.body, ReactionParted)
    }
    found = []
    for join in _unparted(standing):
        said = parted.get((join.incident, join.reaction))
        if said is None:
            found.append(join)
        else:
            found.append(
                Join(
                    reaction=join.reaction,
                    incident=join.incident,
                    at=join.at,
                    how=join.how,
                    parted=said.parted,
                    parted_by=said.by,
                    why=said.why,
                )
            )
    return found


def _unparted(standing: Sequence[Standing]) -> Iterator[Join]:
    opened = {
        line.kept.envelope.id: line.kept for line in standing if isinstance(line.first, ReactionStarted)
    }
    named: set[str] = set()
    spare: list[KeptLine] = []
    for line in standing:
        if not isinstance(line.body, SafetyNoted) or line.withdrawn:
            continue
        event = line.kept
        reaction = line.body.reaction
        if reaction is not None:
            named.add(reaction)
            if reaction in opened:
                at = opened[reaction].envelope.at
                yield Join(reaction=reaction, incident=event.envelope.id, at=at, how="said")
        elif line.body.what == DYE_REACTION and not line.body.late and not line.foreign:
            spare.append(event)
    for run in fold_reactions(standing):
        if run.line in named:
            continue
        event_of = _nearest(run, opened[run.line], spare)
        if event_of is not None:
            spare.remove(event_of)
            yield Join(reaction=run.line, incident=event_of.envelope.id, at=run.at, how="rule")


def _nearest(run: Reaction, opening: KeptLine, spare: Sequence[KeptLine]) -> KeptLine | None:
    until = inf if run.ended_at is None else run.ended_at - run.at + JOIN_MS
    near = [event for event in spare if -JOIN_MS <= _after(event, opening) <= until]
    before = [event for event in near if _after(event, opening) < 0]
    return next(iter(before[-1:] or near[:1]), None)


def _after(event: KeptLine, opening: KeptLine) -> int:
    """ms from the opening to the event."""
    if event.envelope.device == opening.envelope.device:
        return event.envelope.at - opening.envelope.at
    return (event.envelope.at - (event.offset_ms or 0)) - (opening.envelope.at - (opening.offset_ms or 0))
