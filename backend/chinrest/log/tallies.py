"""What a case adds to the counts that rates are made of. Denominators come from the log, and from nothing
else.

A case counts when its opening stands, it is no practice, and it was not cancelled before any dye was given.
What is amended counts as it stands; what was taken back doesn't. Where a case's bodies were erased, it counts
as it did then: the tombstone says so, and no later rule counts it anew.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Literal, cast

from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Body, FrameTaken, OpticChosen, StepSkipped
from chinrest.log.cases import CaseFact, first_opening
from chinrest.log.craft import CraftKind, craft_counts
from chinrest.log.dye_events import DyeInjected
from chinrest.log.erasures import Erasure, erasure_of
from chinrest.log.incidents import TOUCHED, IncidentFact, is_oral
from chinrest.log.windows import LayoutsOf, WindowKind, no_layouts, window_counts

RateKind = Literal[
    "visit",
    "injection",
    "drink",
    "use",
    "touch",
    "reaction",
    "reaction_oral",
    "event",
    "near_miss",
    "skipped",
    "again",
]
TallyKind = RateKind | CraftKind | WindowKind


class Tally(Struct, frozen=True, kw_only=True):
    """`n` of a kind in one case, by what (`key`) and by which (`sub`):

    visit       one a case that counts
    injection   dye injected, by dye and route
    drink       dye given by mouth, by dye and route: counted apart from what is injected
    use         times that an optic was put on, by optic
    touch       touches, by optic (empty where not said)
    reaction    reactions to an injected dye that reached the patient, by dye (the last given before it; empty
                where no dye is on record) and by harm as reported
    reaction_oral  the same where the last dye given before it was drunk
    event       safety events that reached the patient or may have, by what and by harm as reported
    near_miss   by what
    skipped     steps not done, by step and reason
    again       frames taken again, by reason and optic

    and those of the craft and of the series, which `chinrest.log.craft` and `chinrest.log.windows` tell of.
    """

    kind: TallyKind
    key: str
    sub: str
    n: int


class CaseTallies(Struct, frozen=True, kw_only=True):
    """`at`: when the case was opened, by its device's clock set right by what that clock was off when the
    line came; `month` of it, in UTC."""

    at: int
    month: str
    tallies: list[Tally]


def month_of(at: int) -> str:
    """YYYY-MM in UTC; of a clock that no calendar holds, the nearest month that one does."""
    least, most = -62_135_596_800_000, 253_402_300_799_999
    return datetime.fromtimestamp(min(max(at, least), most) / 1000, UTC).strftime("%Y-%m").zfill(7)


def fold_tallies(
    fact: CaseFact,
    standing: Sequence[Standing],
    incidents: Sequence[IncidentFact],
    layouts: LayoutsOf = no_layouts,
) -> CaseTallies | None:
    """The counts of one case, from all of its lines in order; null where the case doesn't count. `layouts`:
    those of a pack by its hash, as far as it is known here."""
    erased = erasure_of(standing)
    if erased is not None:
        return _as_counted(erased, incidents)
    opening = first_opening(standing)
    bodies = [
        line.body for line in standing if not line.withdrawn and not line.foreign and line.body is not None
    ]
    given = [body for body in bodies if isinstance(body, DyeInjected)]
    if opening is None or opening.withdrawn or fact.practice or (fact.outcome == "cancelled" and not given):
        return None
    counts: Counter[tuple[TallyKind, str, str]] = Counter({("visit", "", ""): 1})
    for body in bodies:
        counts.update(_of_line(body))
    counts.update(craft_counts(standing, opening.kept.envelope))
    counts.update(window_counts(standing, layouts))
    for incident in incidents:
        if not incident.withdrawn:
            counts.update(_of_incident(incident))
    at = opening.kept.envelope.at - (opening.kept.offset_ms or 0)
    return CaseTallies(
        at=at,
        month=month_of(at),
        tallies=[Tally(kind=kind, key=key, sub=sub, n=n) for (kind, key, sub), n in sorted(counts.items())],
    )


def _as_counted(erased: Erasure, incidents: Sequence[IncidentFact]) -> CaseTallies | None:
    """What it counted when its bodies were erased, and the incidents that were told of since."""
    if erased.counted_at is None or erased.month is None:
        return None
    counts: Counter[tuple[TallyKind, str, str]] = Counter()
    for tally in erased.tallies:
        counts[cast(TallyKind, tally.kind), tally.key, tally.sub] += tally.n
    gone = {incident.line for incident in erased.incidents}
    for incident in incidents:
        if not incident.withdrawn and incident.line not in gone:
            counts.update(_of_incident(incident))
    return CaseTallies(
        at=erased.counted_at,
        month=erased.month,
        tallies=[Tally(kind=kind, key=key, sub=sub, n=n) for (kind, key, sub), n in sorted(counts.items())],
    )


def _of_line(body: Body) -> list[tuple[TallyKind, str, str]]:
    match body:
        case DyeInjected(dye=dye, route=route):
            return [("drink" if is_oral(route) else "injection", dye, route)]
        case OpticChosen(optic=optic):
            return [("use", optic, "")]
        case StepSkipped(step=step, reason=reason):
            return [("skipped", step, reason)]
        case FrameTaken(outcome="again", reason=reason, optic=optic):
            return [("again", reason, optic)]
    return []


def _of_incident(incident: IncidentFact) -> list[tuple[TallyKind, str, str]]:
    if incident.near_miss:
        return [("near_miss", incident.what, "")]
    if incident.again:
        return []  # counted where another event tells of the same emergency
    harm = incident.harm or ""
    found: list[tuple[TallyKind, str, str]] = [("event", incident.what, harm)]
    if incident.what == TOUCHED:
        found.append(("touch", incident.optic or "", ""))
    if incident.seen is not None:
        kind: RateKind = "reaction_oral" if incident.seen.oral else "reaction"
        found.append((kind, incident.seen.dye, harm))
    return found
