"""One case as a line of time."""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec
from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Body, PoseAdvised, PoseFound
from chinrest.log.cases import fold_case
from chinrest.log.dye_clock import SinceDye, since_dyes
from chinrest.log.joining import Join, joins
from chinrest.log.lacking import Lack, lacking
from chinrest.log.reaction_rows import ReactionRow, reaction_rows


class TimelineEntry(Struct, frozen=True, kw_only=True):
    """One line of a case, in order. `body` is null when the type is unknown to this version or it was erased;
    `known` says which. `amended_by` names the line that replaced it; `advice` is the pose that had been
    advised when this entry records how it was in truth. `since_dye`: the clock of each dye at this line;
    `lacks`: what it does not say, so that it counts for nothing (`log/lacking.py`)."""

    id: str
    device: str
    device_label: str
    seq: int
    at: int
    offset_ms: int | None
    received_at: int
    actor: str | None
    type: str
    known: bool
    pack: str | None
    practice: bool
    body: dict[str, object] | None
    amended_by: str | None
    advice: dict[str, object] | None
    since_dye: list[SinceDye] = []
    lacks: Lack | None = None


class Timeline(Struct, frozen=True, kw_only=True):
    case: str
    code: str | None
    site: str
    site_name: str
    state: Literal["open", "closed"]
    outcome: str | None
    practice: bool
    entries: list[TimelineEntry]
    position: int
    reactions: list[ReactionRow] = []
    joins: list[Join] = []


def build_timeline(
    case: str,
    standing: Sequence[Standing],
    *,
    device_labels: Mapping[str, str],
    site_names: Mapping[str, str],
    position: int,
) -> Timeline:
    """The case's lines in order, each as it was written, with what replaced it named beside it.

    Beside each found pose stands the advice that it answers: the latest pose advised before it for the same
    eye, optic and gaze, or else for the same eye and optic. `standing` must not be empty. Unknown ids name
    themselves.
    """
    fact = fold_case(case, standing)
    times, lacks, answered = since_dyes(standing), lacking(standing), _advice(standing)
    return Timeline(
        case=case,
        code=fact.code,
        site=fact.site,
        site_name=site_names.get(fact.site, fact.site),
        state=fact.state,
        outcome=fact.outcome,
        practice=fact.practice,
        entries=[
            _entry(
                line,
                device_labels,
                _as_advised(answered.get(line.kept.envelope.id)),
                times.get(line.kept.envelope.id, []),
                lacks.get(line.kept.envelope.id),
            )
            for line in standing
        ],
        position=position,
        reactions=reaction_rows(standing),
        joins=joins(standing),
    )


def _entry(
    line: Standing,
    device_labels: Mapping[str, str],
    advice: dict[str, object] | None,
    since_dye: list[SinceDye],
    lacks: Lack | None,
) -> TimelineEntry:
    e = line.kept.envelope
    return TimelineEntry(
        id=e.id,
        device=e.device,
        device_label=device_labels.get(e.device, e.device),
        seq=e.seq,
        at=e.at,
        offset_ms=line.kept.offset_ms,
        received_at=line.kept.received_at,
        actor=e.actor,
        type=e.type,
        known=line.known,
        pack=e.pack,
        practice=e.practice,
        body=_shown(line.first),
        amended_by=line.amended_by,
        advice=advice,
        since_dye=since_dye,
        lacks=lacks,
    )


def _advice(standing: Sequence[Standing]) -> dict[str, Standing]:
    """The line of the advice that each found pose answers, by the pose's line; in one pass."""
    last: dict[tuple[str, str], Standing] = {}
    last_at_gaze: dict[tuple[str, str, tuple[float, float]], Standing] = {}
    found: dict[str, Standing] = {}
    for line in standing:
        match line.body:
            case PoseAdvised(eye=eye, optic=optic, gaze_deg=gaze) if not line.withdrawn:
                last[eye, optic] = last_at_gaze[eye, optic, gaze] = line
            case PoseFound(eye=eye, optic=optic, gaze_deg=gaze):
                answered = last_at_gaze.get((eye, optic, gaze)) or last.get((eye, optic))
                if answered is not None:
                    found[line.kept.envelope.id] = answered
    return found


def _as_advised(line: Standing | None) -> dict[str, object] | None:
    if line is None:
        return None
    e = line.kept.envelope
    return {**(_shown(line.body) or {}), "line": e.id, "at": e.at}


def _shown(body: Body | None) -> dict[str, object] | None:
    """A body's fields as an officer reads them: without its type, which stands beside it, and its salt."""
    if body is None:
        return None
    fields: dict[str, object] = msgspec.to_builtins(body)
    return {name: value for name, value in fields.items() if name not in ("type", "salt")}
