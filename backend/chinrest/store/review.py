"""What the officer reads: incidents, one case's timeline, and the lines that were refused."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any, get_args

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import ColumnElement, Row, and_, case, false, func, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.amendments import stand
from chinrest.log.house_events import CaseRead
from chinrest.log.incidents import IncidentList, IncidentRow
from chinrest.log.line import decode_envelope
from chinrest.log.registry import type_of
from chinrest.log.reviews import ReviewState
from chinrest.log.timeline import Timeline, build_timeline
from chinrest.store import unfolded
from chinrest.store.faults import StoreError
from chinrest.store.folds import KEPT_COLUMNS, kept_line
from chinrest.store.house import position, site_names
from chinrest.store.lines import chunks
from chinrest.store.rows import ExportedIncident, IncidentCounts, InPlace, RefusedLine
from chinrest.store.scope import Scope, of_incidents, sees_incident
from chinrest.store.tables import devices, incidents, lines, refused, review_lines, reviews, sites

JOINED = (
    incidents.join(devices, devices.c.id == incidents.c.device)
    .join(sites, sites.c.id == incidents.c.site, isouter=True)
    .join(reviews, reviews.c.incident == incidents.c.line, isouter=True)
)
ROW_COLUMNS = (
    incidents,
    devices.c.label,
    sites.c.name,
    reviews.c.state.label("review_state"),
    reviews.c.late,
    reviews.c.harm.label("officer_harm"),
    reviews.c.owner,
    reviews.c.due,
)
STATES: tuple[str, ...] = get_args(ReviewState)


class IncidentFilter(Struct, frozen=True, kw_only=True):
    """All that is given must hold. `kind`: event or near_miss. `q`: part of case code, note or device
    label. `since` and `until`: ms, the first within and the first no longer within."""

    site: str | None = None
    kind: str | None = None
    what: str | None = None
    harm: str | None = None
    practice: bool | None = None
    state: str | None = None
    overdue_on: str | None = None
    since: int | None = None
    until: int | None = None
    q: str | None = None


def _conditions(scope: Scope, wanted: IncidentFilter) -> list[ColumnElement[bool]]:
    """Fault: other_site."""
    scope.narrowed(wanted.site)
    conditions = of_incidents(scope)
    for column, value in (
        (incidents.c.site, wanted.site),
        (incidents.c.what, wanted.what),
        (incidents.c.harm, wanted.harm),
        (incidents.c.practice, wanted.practice),
    ):
        if value is not None:
            conditions.append(column == value)
    if wanted.state is not None:
        conditions.append(func.coalesce(reviews.c.state, "new") == wanted.state)
    if wanted.overdue_on is not None:
        conditions.append(reviews.c.due < wanted.overdue_on)
    if wanted.since is not None:
        conditions.append(incidents.c.at >= wanted.since)
    if wanted.until is not None:
        conditions.append(incidents.c.at < wanted.until)
    if wanted.kind is not None:
        kinds = {"near_miss": incidents.c.near_miss, "event": ~incidents.c.near_miss}
        conditions.append(kinds.get(wanted.kind, false()))
    if wanted.q:
        conditions.append(
            or_(
                incidents.c.search.contains(wanted.q.casefold(), autoescape=True),
                func.lower(devices.c.label).contains(wanted.q.lower(), autoescape=True),
            )
        )
    return conditions


async def incident_list(
    connection: AsyncConnection, scope: Scope, wanted: IncidentFilter, limit: int, offset: int
) -> IncidentList:
    """Newest first, by the time that the device claimed."""
    chosen = and_(True, *_conditions(scope, wanted))
    total = await connection.execute(select(func.count()).select_from(JOINED).where(chosen))
    rows = await connection.execute(
        select(*ROW_COLUMNS)
        .select_from(JOINED)
        .where(chosen)
        .order_by(incidents.c.at.desc(), incidents.c.line.desc())
        .limit(limit)
        .offset(offset)
    )
    return IncidentList(
        rows=[_row(row) for row in rows],
        total=total.scalar_one(),
        position=await position(connection),
    )


async def incident_counts(
    connection: AsyncConnection, scope: Scope, wanted: IncidentFilter, today: str
) -> IncidentCounts:
    """How many of the filter are in each state, whatever state the filter itself names."""
    chosen = and_(True, *_conditions(scope, replace(wanted, state=None, overdue_on=None)))
    state = func.coalesce(reviews.c.state, "new")
    late = func.coalesce(reviews.c.due < today, False)
    found = await connection.execute(
        select(state.label("state"), late.label("overdue"), func.count().label("count"))
        .select_from(JOINED)
        .where(chosen)
        .group_by(state, late)
    )
    rows = found.all()
    by_state = {name: sum(row.count for row in rows if row.state == name) for name in STATES}
    unread = await unfolded.failed_count(connection, scope)
    return IncidentCounts(
        **by_state,
        overdue=sum(row.count for row in rows if row.overdue),
        unread_cases=unread.cases,
        unread_devices=unread.devices,
    )


async def exported_incidents(
    connection: AsyncConnection, scope: Scope, wanted: IncidentFilter, limit: int
) -> list[ExportedIncident]:
    """As `incident_list`, each with its device and the hash of the line that made it."""
    listed = await incident_list(connection, scope, wanted, limit, 0)
    found: dict[str, tuple[str, str]] = {}
    for part in chunks([row.line for row in listed.rows]):
        rows = await connection.execute(
            select(lines.c.id, lines.c.device, lines.c.envelope_sha256).where(lines.c.id.in_(part))
        )
        found.update({row.id: (row.device, row.envelope_sha256) for row in rows})
    return [
        ExportedIncident(row=row, device=found[row.line][0], envelope_sha256=found[row.line][1])
        for row in listed.rows
    ]


async def incident(connection: AsyncConnection, scope: Scope, line: str) -> IncidentRow | None:
    if not await sees_incident(connection, scope, line):
        return None
    found = await connection.execute(select(*ROW_COLUMNS).select_from(JOINED).where(incidents.c.line == line))
    row = found.first()
    return None if row is None else _row(row)


async def like_incidents(
    connection: AsyncConnection, scope: Scope, line: str, limit: int
) -> list[IncidentRow]:
    """Of the same kind, newest first, those with the same optic before the others; no practice, none taken
    back."""
    this = (
        await connection.execute(select(incidents.c.what, incidents.c.optic).where(incidents.c.line == line))
    ).first()
    if this is None:
        return []
    same = func.coalesce(incidents.c.optic, "") == (this.optic or "")
    rows = await connection.execute(
        select(*ROW_COLUMNS)
        .select_from(JOINED)
        .where(incidents.c.what == this.what)
        .where(incidents.c.line != line)
        .where(~incidents.c.practice)
        .where(~incidents.c.withdrawn, *of_incidents(scope))
        .order_by(case((same, 0), else_=1), incidents.c.at.desc(), incidents.c.line.desc())
        .limit(limit)
    )
    return [_row(row) for row in rows]


def _row(row: Row[*tuple[Any, ...]]) -> IncidentRow:
    return IncidentRow(
        line=row.line,
        case=row.case_id,
        case_code=row.case_code,
        site=row.site,
        site_name=row.name or row.site,
        at=row.at,
        received_at=row.received_at,
        what=row.what,
        reached_patient=row.reached_patient,
        harm=row.harm,
        near_miss=row.near_miss,
        practice=row.practice,
        optic=row.optic,
        device_label=row.label,
        amended=row.amended,
        withdrawn=row.withdrawn,
        note=row.note,
        state=row.review_state or "new",
        late=bool(row.late),
        after_closing=bool(row.after_closing),
        officer_harm=row.officer_harm,
        owner=row.owner,
        due=row.due,
    )


async def changed_after(connection: AsyncConnection, of: str, seen: int) -> bool:
    """Whether a line of the case other than the desk's readings of it came after this log position."""
    newer = await connection.execute(
        select(lines.c.id)
        .where(lines.c.case_id == of)
        .where(lines.c.position > seen)
        .where(lines.c.type != type_of(CaseRead))
        .limit(1)
    )
    return newer.first() is not None


async def incident_changed_after(connection: AsyncConnection, incident: str, seen: int) -> bool:
    """The same of an incident: a line of its case, or where it has none, of its review or of its device."""
    row = (
        await connection.execute(
            select(incidents.c.case_id, incidents.c.device).where(incidents.c.line == incident)
        )
    ).first()
    if row is None:
        return True  # who asks for it is told that it is gone
    if row.case_id is not None:
        return await changed_after(connection, row.case_id, seen)
    decided = (
        select(lines.c.id)
        .join(review_lines, review_lines.c.line == lines.c.id)
        .where(review_lines.c.incident == incident)
        .where(lines.c.position > seen)
    )
    written = (
        select(lines.c.id)
        .where(lines.c.device == row.device)
        .where(lines.c.case_id.is_(None))
        .where(lines.c.position > seen)
    )
    for asked in (decided, written):
        if (await connection.execute(asked.limit(1))).first() is not None:
            return True
    return False


async def timeline(connection: AsyncConnection, of: str) -> Timeline | None:
    """Every line that names the case, in order; null where none does."""
    rows = (await connection.execute(select(*KEPT_COLUMNS).where(lines.c.case_id == of))).all()
    if not rows:
        return None
    labels = await connection.execute(select(devices.c.id, devices.c.label))
    return build_timeline(
        of,
        stand(kept_line(row) for row in rows),
        device_labels={row.id: row.label for row in labels},
        site_names=await site_names(connection),
        position=await position(connection),
    )


async def refused_lines(
    connection: AsyncConnection, scope: Scope, device: str | None, limit: int
) -> list[RefusedLine]:
    """Newest first, without those of which a sound copy came later. Fault: device_unknown."""
    chosen = and_(~refused.c.healed, *scope.of(devices.c.site))
    if device is not None:
        asked = select(devices.c.id).where(devices.c.id == device, *scope.of(devices.c.site))
        if (await connection.execute(asked)).first() is None:
            raise StoreError("device_unknown", "device", "no such device is enrolled here")
        chosen = and_(chosen, refused.c.device == device)
    rows = (
        await connection.execute(
            select(refused, devices.c.label)
            .join(devices, devices.c.id == refused.c.device)
            .where(chosen)
            .order_by(
                refused.c.received_at.desc(), refused.c.device, refused.c.seq.desc(), refused.c.raw_sha256
            )
            .limit(limit)
        )
    ).all()
    stands = await _in_place(connection, [(row.device, row.seq) for row in rows if row.code == "fork"])
    return [
        RefusedLine(
            device=row.device,
            device_label=row.label,
            seq=row.seq,
            id=row.line,
            envelope_sha256=row.envelope_sha256,
            type=row.type,
            case=row.case_id,
            at=row.at,
            received_at=row.received_at,
            code=row.code,
            reason=row.reason,
            stands=stands.get((row.device, row.seq)) if row.code == "fork" else None,
            raw=row.raw,
        )
        for row in rows
    ]


async def _in_place(
    connection: AsyncConnection, places: Sequence[tuple[str, int]]
) -> dict[tuple[str, int], InPlace]:
    """The lines that stand at these sequences of these devices, as far as there are any."""
    of_device: dict[str, list[int]] = defaultdict(list)
    for device, seq in places:
        of_device[device].append(seq)
    found = {}
    for device, seqs in of_device.items():
        rows = await connection.execute(
            select(lines.c.seq, lines.c.envelope).where(lines.c.device == device).where(lines.c.seq.in_(seqs))
        )
        for row in rows:
            envelope = decode_envelope(row.envelope)
            found[device, row.seq] = InPlace(type=envelope.type, case=envelope.case, at=envelope.at)
    return found
