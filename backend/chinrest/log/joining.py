"""Which emergencies and safety events are one and the same incident.

Two buttons lead to one happening: somebody logs a reaction as an event, and opens the way out two minutes
later, or the other way round. Counted twice, it would double the rate of reactions.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import inf
from operator import itemgetter
from typing import Literal, get_args

from msgspec import Struct
from msgspec.structs import replace

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Harm, SafetyNoted
from chinrest.log.kept import KeptLine, ms_after
from chinrest.log.reactions import Reaction, fold_reactions
from chinrest.log.review_events import ReactionParted

DYE_REACTION = "dye_reaction"
"""The id of the safety event 'reaction to the dye', in packs and in the log."""
JOIN_MIN = 10
"""Minutes before the opening of an emergency, and after its end, in which a reaction that was logged as an
event is taken to be that same one. Common practice, no source."""

JOIN_MS = JOIN_MIN * 60_000
HARMS: tuple[Harm, ...] = get_args(Harm)
"""The lightest first."""


class Join(Struct, frozen=True, kw_only=True):
    """The emergency `reaction` (the line that opened it, at `at`) belongs to the incident `incident`.

    `how`: the event's own line says so, or the rule does. An officer may have parted the two: then `parted`,
    `parted_by` (a person's id; at the desk their name) and `why`, and each is counted by itself. `again`:
    another reaction to the dye tells of the same emergency, and the two are counted once, there.
    """

    reaction: str
    incident: str
    at: int
    how: Literal["said", "rule"]
    again: bool = False
    parted: bool = False
    parted_by: str | None = None
    why: str = ""


def joins(standing: Sequence[Standing]) -> list[Join]:
    """All joins among the lines of one case, in order, those that an officer has parted too.

    An event that names an emergency is joined to it, by whichever of the lines that opened it. By the rule,
    an emergency that nobody named takes one event: of the kind DYE_REACTION, naming no emergency, not late,
    from JOIN_MIN minutes before the opening to JOIN_MIN after the end (while it runs, to no end); the last
    one before the opening, or else the first one after it. One event goes to one emergency. Times of two
    devices are compared after each has been set right by what its clock was off. Events of another site are
    joined to nothing. Of several of the kind DYE_REACTION that are joined to one emergency the one with the
    heaviest harm counts (of equals the first).
    """
    runs = fold_reactions(standing)
    run_of = {opening: run for run in runs for opening in run.openings}
    parted: dict[tuple[str, str], ReactionParted] = {}
    for line in standing:
        if isinstance(line.body, ReactionParted) and not line.withdrawn:
            # a line that comes late may show that another phone had opened it first: it stays parted
            run = run_of.get(line.body.reaction)
            if run is not None:
                parted[line.body.incident, run.line] = line.body
    found = [_as_decided(join, parted) for join in _unparted(standing, runs, run_of)]
    return _counted_once(found, standing)


def _as_decided(join: Join, parted: Mapping[tuple[str, str], ReactionParted]) -> Join:
    said = parted.get((join.incident, join.reaction))
    if said is None:
        return join
    return replace(join, parted=said.parted, parted_by=said.by, why=said.why)


def _counted_once(found: Sequence[Join], standing: Sequence[Standing]) -> list[Join]:
    weight = {
        line.kept.envelope.id: HARMS.index(line.body.harm) if line.body.harm is not None else -1
        for line in standing
        if isinstance(line.body, SafetyNoted)
        and line.body.what == DYE_REACTION
        and line.body.reached_patient is not False
    }
    counts: dict[str, Join] = {}
    for join in found:
        if join.incident in weight and not join.parted:
            first = counts.setdefault(join.reaction, join)
            if weight[join.incident] > weight[first.incident]:
                counts[join.reaction] = join
    return [
        replace(join, again=True)
        if join.incident in weight and not join.parted and counts[join.reaction] is not join
        else join
        for join in found
    ]


def _unparted(
    standing: Sequence[Standing], runs: Sequence[Reaction], run_of: Mapping[str, Reaction]
) -> Iterator[Join]:
    kept = {line.kept.envelope.id: line.kept for line in standing}
    named: set[str] = set()
    spare: list[KeptLine] = []
    for line in standing:
        if not isinstance(line.body, SafetyNoted) or line.withdrawn or line.foreign:
            continue
        event = line.kept
        if line.body.reaction is not None:
            run = run_of.get(line.body.reaction)
            if run is not None:
                named.add(run.line)
                yield Join(reaction=run.line, incident=event.envelope.id, at=run.at, how="said")
        elif line.body.what == DYE_REACTION and not line.body.late:
            spare.append(event)
    for run in runs:
        if run.line in named:
            continue
        event_of = _nearest(kept[run.line], _ended_after(run, kept), spare)
        if event_of is not None:
            spare.remove(event_of)
            yield Join(reaction=run.line, incident=event_of.envelope.id, at=run.at, how="rule")


def _ended_after(run: Reaction, kept: Mapping[str, KeptLine]) -> float:
    """ms from its opening to its end; without end while it runs."""
    if run.ended_line is None or run.ended_at is None:
        return inf
    ending = kept[run.ended_line]
    if run.ended_at != ending.envelope.at:  # told afterwards, as so many minutes after the opening
        return run.ended_at - run.at
    return ms_after(ending, kept[run.line])


def _nearest(opening: KeptLine, ended_after: float, spare: Sequence[KeptLine]) -> KeptLine | None:
    timed = [(ms_after(event, opening), event) for event in spare]
    near = [(after, event) for after, event in timed if -JOIN_MS <= after <= ended_after + JOIN_MS]
    before = [(after, event) for after, event in near if after < 0]
    if before:
        return max(reversed(before), key=itemgetter(0))[1]
    return min(near, key=itemgetter(0))[1] if near else None
