"""What the officer reads: incidents, and the whole timeline of a case."""

from collections.abc import Mapping
from typing import Annotated, Literal

from litestar import get
from litestar.params import FromQuery, PathParameter, QueryParameter
from msgspec.structs import replace

from chinrest.log.case_events import Harm
from chinrest.log.house_events import CaseRead
from chinrest.log.incidents import IncidentList
from chinrest.log.line import BIGGEST
from chinrest.log.registry import SERVER_TYPES
from chinrest.log.reviews import ReviewState
from chinrest.log.timeline import Timeline, TimelineEntry
from chinrest.log.write import new_salt
from chinrest.server.context import Call, now_ms, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import reviewer
from chinrest.server.queue import Day, Flag, Short, span_ms, today
from chinrest.server.reaction_classes import with_classes
from chinrest.server.scope import WITHIN
from chinrest.server.wire import RefusedRow
from chinrest.store import Store

Seen = Annotated[
    int | None,
    QueryParameter(
        ge=0,
        le=BIGGEST,
        description="log position of the reading before, where nothing is wanted unless a line came since: "
        "then the answer is null, and no reading is logged",
    ),
]


@get("/api/incidents", guards=[reviewer], opt=WITHIN)
async def incidents(
    request: Call,
    site: Short = None,
    kind: FromQuery[Literal["event", "near_miss"] | None] = None,
    what: Short = None,
    harm: FromQuery[Harm | None] = None,
    practice: Flag = None,
    review: FromQuery[ReviewState | None] = None,
    overdue: Flag = None,
    since: Day = None,
    until: Day = None,
    q: Short = None,
    limit: Annotated[int, QueryParameter(ge=1, le=1000)] = 500,
    offset: Annotated[int, QueryParameter(ge=0, le=BIGGEST)] = 0,
) -> IncidentList:
    """Safety events and near misses across sites, newest first. `q` looks in code, note and device label.
    `review` is how far its review is; `overdue`: only with an open action whose day has passed (UTC).
    `since` and `until`: from and to these days by the device's clock, both included."""
    first, after = span_ms(since, until)
    return await store_of(request).incidents(
        site=site or None,
        kind=kind,
        what=what or None,
        harm=harm,
        practice=None if practice is None else bool(practice),
        state=review,
        overdue_on=today() if overdue else None,
        since=first,
        until=after,
        q=q or None,
        limit=limit,
        offset=offset,
    )


@get("/api/cases/{case:str}", guards=[reviewer], opt=WITHIN)
async def case_timeline(
    request: Call, case: Annotated[str, PathParameter(max_length=100)], seen: Seen = None
) -> Timeline | None:
    """Everything that happened to one case, in order. The reading is itself logged, before it is shown. A
    case that phones of two sites wrote in is read at both, whole."""
    store, staff = store_of(request), staff_of(request)
    if seen is not None and not await store.changed_after(case, seen):
        return None
    timeline = await store.timeline(case)
    if timeline is None:
        raise RequestError(404, "case_unknown", "case", "no line on this server names this case")
    read = CaseRead(salt=new_salt(), by=staff.id)
    await store.append_own(read, staff.id, now_ms(), case=case, practice=timeline.practice)
    names = await names_of(store)
    entries = [_named(entry, names) for entry in timeline.entries]
    joins = [
        replace(join, parted_by=names.get(join.parted_by or "", join.parted_by)) for join in timeline.joins
    ]
    reactions = await with_classes(store, timeline.reactions)
    return replace(timeline, entries=entries, joins=joins, reactions=reactions)


async def names_of(store: Store) -> dict[str, str]:
    """The log holds who by id; a person reads names."""
    return {person.id: person.name for person in await store.staff()}


def _named(entry: TimelineEntry, names: Mapping[str, str]) -> TimelineEntry:
    """With the reader's name, in the server's own lines only: a phone claims what it likes."""
    if not entry.known or entry.type not in SERVER_TYPES:
        return entry
    return replace(entry, actor=names.get(entry.actor or "", entry.actor))


@get("/api/refused-lines", guards=[reviewer], opt=WITHIN)
async def refused_lines(request: Call, device: Short = None) -> list[RefusedRow]:
    """Lines that were refused or set aside, newest first: forked chains, damage, what lacks a field."""
    rows = await store_of(request).refused_lines(device or None)
    return [
        RefusedRow(
            device=row.device,
            device_label=row.device_label,
            seq=row.seq,
            id=row.id,
            type=row.type,
            case=row.case,
            at=row.at,
            received_at=row.received_at,
            code=row.code,
            reason=row.reason,
            stands=row.stands,
        )
        for row in rows
    ]


ROUTES = [incidents, case_timeline, refused_lines]
