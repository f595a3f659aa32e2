"""Incidents: safety events as they stand after their amendments."""

from collections import defaultdict, deque
from collections.abc import Container, Mapping, Sequence

import msgspec
from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Harm, PoseFound, SafetyNoted
from chinrest.log.cases import code_of, made_real
from chinrest.log.dye_events import DyeInjected
from chinrest.log.erasure_events import ErasedIncident
from chinrest.log.erasures import erasure_of
from chinrest.log.joining import DYE_REACTION, Join, joins
from chinrest.log.reaction_events import ReactionStarted
from chinrest.log.reaction_rows import lowest_of
from chinrest.log.reaction_seen import ReactionSeen
from chinrest.log.reactions import Reaction, attached_to, fold_reactions
from chinrest.log.review_events import ReactionParted, ReviewBody
from chinrest.log.reviews import ReviewState


class IncidentRow(Struct, frozen=True, kw_only=True):
    """One safety event as it stands after its amendments. From the review: its `state`; `late` when lines
    came after it was closed; the officer's own degree of harm; who owns the open action that is due first,
    and when (ISO day). `after_closing`: it tells of something that came after the case was closed, as a
    reaction at home does.
    """

    line: str
    case: str | None
    case_code: str | None
    site: str
    site_name: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Harm | None
    near_miss: bool
    practice: bool
    optic: str | None
    device_label: str
    amended: bool
    withdrawn: bool
    note: str
    state: ReviewState = "new"
    late: bool = False
    after_closing: bool = False
    officer_harm: Harm | None = None
    owner: str | None = None
    due: str | None = None


class IncidentList(Struct, frozen=True, kw_only=True):
    rows: list[IncidentRow]
    total: int
    position: int


REACTION = "reaction"
"""What a reaction is called in the list until a safety event tells of it."""
ORAL = "oral"
"""The route, in packs and in the log, of dye that is drunk: another risk, and so another rate."""
TOUCHED = "touched_by_optic"
"""The id of the safety event 'touched by the optic', in packs and in the log."""


class IncidentFact(Struct, frozen=True, kw_only=True):
    """An incident as folded from the log; names of sites and devices are added when it is read. `pack`: in
    use when it was noted, or when the reaction was opened. `seen`: of reactions to a dye alone.
    `again`: it is counted where another event tells of the same emergency; `seen` is null then."""

    line: str
    case: str | None
    case_code: str | None
    site: str
    device: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Harm | None
    near_miss: bool
    practice: bool
    optic: str | None
    amended: bool
    withdrawn: bool
    note: str
    after_closing: bool = False
    pack: str | None = None
    seen: ReactionSeen | None = None
    again: bool = False


def fold_incidents(standing: Sequence[Standing]) -> list[IncidentFact]:
    """Incidents among the lines of one case (or of one device's lines without a case).

    Each safety event is one, as it stands after its amendments; a withdrawn one stays in the list as
    withdrawn. A pose that was found to touch is one too, unless a safety event that stands says so already:
    in order, each touching pose takes the first TOUCHED event not yet taken whose eye and optic are the same
    or unsaid. So two touches and one event make two incidents, and neither is counted twice. A pose that no
    longer touches after an amendment stays in the list as withdrawn. A safety event whose body is gone can't
    be listed. A reaction is one by itself too, unless it is joined to a safety event (`joining.joins`); one
    that the desk had worked on before it was joined stays in the list, so that no open action goes unseen. In
    a practice case that was said to be real, all count. Of a case whose bodies were erased they are what the
    tombstone says.
    """
    erased = erasure_of(standing)
    if erased is not None:
        # as they stood then; what was written of the case since stands beside them
        return _beside(erased.incidents, standing[0].kept.envelope.case, _fold(standing))
    return _fold(standing)


def fold_loose(standing: Sequence[Standing], erased: Sequence[ErasedIncident]) -> list[IncidentFact]:
    """As `fold_incidents`, of one device's lines without a case; `erased` of those whose bodies are gone."""
    return _beside(erased, None, _fold(standing))


def _beside(
    erased: Sequence[ErasedIncident], case: str | None, since: Sequence[IncidentFact]
) -> list[IncidentFact]:
    kept = [
        IncidentFact(case=case, case_code=None, note="", **msgspec.structs.asdict(incident))
        for incident in erased
    ]
    gone = {incident.line for incident in erased}
    return [*kept, *(fact for fact in since if fact.line not in gone)]


def _fold(standing: Sequence[Standing]) -> list[IncidentFact]:
    code = code_of(standing) or _attached_code(standing)
    real = made_real(standing)
    reported = _Reported(standing)
    found: list[IncidentFact] = []
    running = {reaction.line: reaction for reaction in fold_reactions(standing)}
    told_by = {join.incident: join for join in joins(standing) if not join.parted} if running else {}
    for line in standing:
        if isinstance(line.body, SafetyNoted):
            found.append(_noted(line, line.body, code, told_by.get(line.kept.envelope.id), running))
        elif isinstance(line.body, PoseFound):
            stands = line.body.touched and not line.withdrawn
            if stands and reported.take(line.body):
                continue
            if stands or (isinstance(line.first, PoseFound) and line.first.touched):
                found.append(_touched(line, line.body, code, withdrawn=not stands))
    found += _reactions(standing, code, running, {join.reaction for join in told_by.values()})
    found = _after_dyes(found, standing)
    if real:
        return [msgspec.structs.replace(fact, practice=False) for fact in found]
    return found


def _reactions(
    standing: Sequence[Standing], code: str | None, running: Mapping[str, Reaction], told: Container[str]
) -> list[IncidentFact]:
    found: list[IncidentFact] = []
    started = [line for line in standing if isinstance(line.body, ReactionStarted)]
    if not started:
        return found
    reviewed = {
        line.body.incident
        for line in standing
        if isinstance(line.body, ReviewBody) and not isinstance(line.body, ReactionParted)
    }
    for line in started:
        e = line.kept.envelope
        again = e.id in told
        if again and e.id not in reviewed:
            continue
        reaction = running.get(e.id)
        if reaction is None and not line.withdrawn:
            continue  # opened on a second phone while another ran: part of that one
        seen = bool(reaction and set(reaction.signs) - {"none_seen"})
        found.append(
            _fact(
                line,
                code,
                what=REACTION,
                reached_patient=True if seen else None,
                harm=None,
                optic=None,
                withdrawn=line.withdrawn,
                note="",
                seen=None if again else _seen([], reaction),
                again=again,
            )
        )
    return found


def is_oral(route: str) -> bool:
    return route.strip().casefold() == ORAL


def _after_dyes(facts: Sequence[IncidentFact], standing: Sequence[Standing]) -> list[IncidentFact]:
    """Each with the last dye given before it, or else the first at all. In one pass over the lines, however
    many incidents a case has."""
    before: dict[str, DyeInjected] = {}
    first: DyeInjected | None = None
    last: DyeInjected | None = None
    for line in standing:
        if last is not None:
            before[line.kept.envelope.id] = last
        if isinstance(line.body, DyeInjected) and not line.withdrawn and not line.foreign:
            last = line.body
            first = first or last
    found: list[IncidentFact] = []
    for fact in facts:
        dye = before.get(fact.line, first)
        if fact.seen is not None and dye is not None:
            seen = msgspec.structs.replace(fact.seen, dye=dye.dye, oral=is_oral(dye.route))
            fact = msgspec.structs.replace(fact, seen=seen)
        found.append(fact)
    return found


def _seen(signs: Sequence[str], reaction: Reaction | None) -> ReactionSeen:
    """Of a reaction, and of the safety event that tells of it: noted afterwards, so that it is over where no
    reaction says otherwise."""
    if reaction is None:
        return ReactionSeen(signs=sorted(set(signs)), ended=True)
    return ReactionSeen(
        signs=sorted({*signs, *reaction.signs}),
        lowest=lowest_of(reaction),
        ended=reaction.ended_at is not None,
    )


def _attached_code(standing: Sequence[Standing]) -> str | None:
    attached = attached_to(standing)
    return (attached.code or None) if attached is not None else None


class _Reported:
    """The TOUCHED events that no pose has taken yet: their places in the case, by the eye and optic that they
    name. However many a case has, a pose looks at four of them."""

    def __init__(self, standing: Sequence[Standing]) -> None:
        self._places: dict[tuple[str | None, str | None], deque[int]] = defaultdict(deque)
        for place, line in enumerate(standing):
            if isinstance(line.body, SafetyNoted) and not line.withdrawn and line.body.what == TOUCHED:
                self._places[line.body.eye, line.body.optic].append(place)

    def take(self, pose: PoseFound) -> bool:
        """Whether one of them tells of this pose; the first that does is taken."""
        named = ((eye, optic) for eye in (None, pose.eye) for optic in (None, pose.optic))
        there = [places for key in named if (places := self._places.get(key))]
        if not there:
            return False
        min(there, key=lambda places: places[0]).popleft()
        return True


def _noted(
    line: Standing,
    body: SafetyNoted,
    code: str | None,
    join: Join | None,
    running: Mapping[str, Reaction],
) -> IncidentFact:
    seen, again = None, join is not None and join.again
    if body.what == DYE_REACTION and not again:
        seen = _seen(body.signs, None if join is None else running[join.reaction])
    return _fact(
        line,
        code,
        what=body.what,
        reached_patient=body.reached_patient,
        harm=body.harm,
        optic=body.optic,
        withdrawn=line.withdrawn,
        note=body.note,
        after_closing=body.late,
        seen=seen,
        again=again,
    )


def _touched(line: Standing, body: PoseFound, code: str | None, *, withdrawn: bool) -> IncidentFact:
    return _fact(
        line,
        code,
        what=TOUCHED,
        reached_patient=True,
        harm=None,
        optic=body.optic,
        withdrawn=withdrawn,
        note="",
    )


def _fact(
    line: Standing,
    code: str | None,
    *,
    what: str,
    reached_patient: bool | None,
    harm: Harm | None,
    optic: str | None,
    withdrawn: bool,
    note: str,
    after_closing: bool = False,
    seen: ReactionSeen | None = None,
    again: bool = False,
) -> IncidentFact:
    e = line.kept.envelope
    return IncidentFact(
        line=e.id,
        case=e.case,
        case_code=code,
        site=line.kept.site,
        device=e.device,
        at=e.at,
        received_at=line.kept.received_at,
        what=what,
        reached_patient=reached_patient,
        harm=harm,
        near_miss=reached_patient is False,
        practice=e.practice,
        optic=optic,
        amended=line.amended_by is not None,
        withdrawn=withdrawn,
        note=note,
        after_closing=after_closing,
        pack=e.pack,
        seen=seen,
        again=again,
    )
