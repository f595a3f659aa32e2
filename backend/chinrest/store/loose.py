"""Erasing what belongs to no case: a safety event that was logged from home, its amendments and its review;
refused lines of no case that stands; what the desk took out, since the question may name somebody.

Each has its own age. An incident goes with all that amends it, as old as the last of these that came, and
with the words of its review; it stays while that review is not closed. What could not be folded stays.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import ColumnElement, Row, and_, func, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection
from sqlalchemy.orm import aliased

from chinrest.log.case_events import LineAmended, SafetyNoted
from chinrest.log.erasures import in_parts, kept_of, signed
from chinrest.log.house_events import DeviceEnrolled, PackRefused, PackTaken, StorageAsked
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import decode_envelope
from chinrest.log.registry import decode_body, type_of
from chinrest.store import beyond, house, incident_reviews, unfolded
from chinrest.store.engines import note_change
from chinrest.store.engines.changes import ANY
from chinrest.store.erasing import Erased, Hold, Order, tombstone
from chinrest.store.folds import FOLDED_TYPES, loose_facts, refold_loose
from chinrest.store.forgetting import REASON_GONE, Gone, forget_lines, forget_refused
from chinrest.store.lines import chunks
from chinrest.store.own import Clock, append_own
from chinrest.store.reach import BY_ITS_OWN_AGE
from chinrest.store.tables import devices, incidents, lines, refused, relayed, review_lines, reviews

STAYS = frozenset({type_of(DeviceEnrolled), type_of(StorageAsked), type_of(PackTaken), type_of(PackRefused)})
"""What a phone says of itself and nothing of a person: its key, which whoever verifies needs, and its name;
whether the browser keeps its store; which packs it took."""

ALONE = frozenset({type_of(SafetyNoted), type_of(LineAmended)})
"""Types of which one event hangs on no other but by amending it."""


class Loose(Struct, frozen=True, kw_only=True):
    """What one device wrote outside any case and that would go (or, `held`, stays): `lines` by their ids,
    the desk's own `words` about them likewise, and `refused` lines of no case that stands. `oldest_at`: when
    the first of it came (ms). `before` and `incident`: what was asked for."""

    device: str
    site: str
    lines: list[str]
    words: list[str]
    refused: int
    oldest_at: int
    held: Hold | None
    before: int | None
    incident: str | None = None


class _Group(Struct, kw_only=True):
    """Lines that hang together, and the words about the incidents among them."""

    device: str
    site: str
    lines: list[str]
    words: list[str]
    since: int
    last: int
    held: Hold | None = None


async def due_before(connection: AsyncConnection, cutoff: int, device: str | None = None) -> list[Loose]:
    """What came last before `cutoff` (ms), device by device."""
    groups = [group for group in await _groups(connection, device) if group.last < cutoff]
    aside = {
        row.device: row
        for row in await connection.execute(
            select(
                refused.c.device,
                devices.c.site,
                func.count(refused.c.raw).label("kept"),
                func.min(refused.c.received_at).label("since"),
            )
            .join(devices, devices.c.id == refused.c.device)
            .where(*await _refused(connection, cutoff, device))
            .group_by(refused.c.device, devices.c.site)
        )
    }
    found: list[Loose] = []
    by_device: dict[tuple[str, Hold | None], list[_Group]] = defaultdict(list)
    for group in groups:
        by_device[group.device, group.held].append(group)
    for name in aside.keys() - {device for device, held in by_device if held is None}:
        by_device[name, None] = []
    for (name, held), of in sorted(by_device.items(), key=lambda each: (each[0][0], each[0][1] or "")):
        row = aside.get(name) if held is None else None
        found.append(_loose(name, of, held, row, before=cutoff))
    return found


async def due_incident(connection: AsyncConnection, incident: str) -> Loose | None:
    """One incident that belongs to no case; null where no body of it stands here."""
    row = (
        await connection.execute(
            select(incidents.c.device).where(incidents.c.line == incident, incidents.c.case_id.is_(None))
        )
    ).first()
    if row is None:
        return None
    of = await _about(connection, [incident])
    for group in await _groups(connection, row.device):
        if incident in group.lines or of[incident] & set(group.words):
            return _loose(row.device, [group], group.held, None, before=None, incident=incident)
    return None


def _loose(
    device: str,
    groups: Iterable[_Group],
    held: Hold | None,
    aside: Row[*tuple[Any, ...]] | None,
    *,
    before: int | None,
    incident: str | None = None,
) -> Loose:
    groups = list(groups)
    times = [group.since for group in groups] + ([] if aside is None else [aside.since])
    sites = [group.site for group in groups] + ([] if aside is None else [aside.site])
    return Loose(
        device=device,
        site=sites[0],
        lines=[line for group in groups for line in group.lines],
        words=[line for group in groups for line in group.words],
        refused=0 if aside is None else aside.kept,
        oldest_at=min(times),
        held=held,
        before=before,
        incident=incident,
    )


async def _groups(connection: AsyncConnection, device: str | None) -> list[_Group]:
    chosen: list[ColumnElement[bool]] = [
        lines.c.case_id.is_(None),
        lines.c.body.is_not(None),
        or_(
            and_(lines.c.site != SERVER_SITE, lines.c.type.not_in(STAYS)),
            and_(lines.c.site == SERVER_SITE, lines.c.type.in_(BY_ITS_OWN_AGE)),
        ),
    ]
    if device is not None:
        chosen.append(lines.c.device == device)
    columns = (lines.c.id, lines.c.device, lines.c.site, lines.c.seq, lines.c.type, lines.c.received_at)
    rows = await connection.execute(
        select(*columns, lines.c.envelope, lines.c.body, lines.c.body_state)
        .where(*chosen)
        .order_by(lines.c.device, lines.c.seq)
    )
    by_device: dict[str, list[Row[*tuple[Any, ...]]]] = defaultdict(list)
    for row in rows:
        by_device[row.device].append(row)
    groups: list[_Group] = []
    roots: dict[str, _Group] = {}  # by the line that an incident may be made of, erased or not
    for name, of in by_device.items():
        for root, part in _hanging_together(of).items():
            group = _Group(
                device=name,
                site=of[-1].site,
                lines=[row.id for row in part],
                words=[],
                since=min(row.received_at for row in part),
                last=max(row.received_at for row in part),
            )
            groups.append(group)
            roots.update({root: group, **dict.fromkeys(group.lines, group)})
    await _add_words(connection, groups, roots, device)
    await _hold(connection, groups, roots)
    failed = await unfolded.failed_outside(connection)
    for group in groups:  # nobody knows whether an incident is among them
        if group.device in failed and group.held is None:
            group.held = "not_folded"
    return groups


def _hanging_together(rows: list[Row[*tuple[Any, ...]]]) -> dict[str, list[Row[*tuple[Any, ...]]]]:
    """One device's lines, by the line that each leads to by amending it. Where other types than ALONE stand
    among them, incidents are made of several, and all that are folded hang together."""
    amends: dict[str, str] = {}
    for row in rows:
        if row.type == type_of(LineAmended) and row.body_state == "plain":
            body = decode_body(decode_envelope(row.envelope), row.body)
            if isinstance(body, LineAmended):
                amends[row.id] = body.line
    together = any(row.type in FOLDED_TYPES - ALONE for row in rows)
    groups: dict[str, list[Row[*tuple[Any, ...]]]] = defaultdict(list)
    for row in rows:
        root = row.id
        passed = {root}
        while (target := amends.get(root)) is not None and target not in passed:
            passed.add(target)
            root = target
        groups["together" if together and row.type in FOLDED_TYPES else root].append(row)
    return groups


async def _about(connection: AsyncConnection, named: list[str]) -> Mapping[str, set[str]]:
    """The desk's lines about these incidents of which the words stand."""
    found: dict[str, set[str]] = defaultdict(set)
    for part in chunks(named):
        rows = await connection.execute(
            select(review_lines.c.incident, review_lines.c.line)
            .join(lines, lines.c.id == review_lines.c.line)
            .where(review_lines.c.incident.in_(part), lines.c.body.is_not(None))
        )
        for row in rows:
            found[row.incident].add(row.line)
    return found


async def _add_words(
    connection: AsyncConnection, groups: list[_Group], roots: dict[str, _Group], device: str | None
) -> None:
    """The desk's words go with the incident; where that is erased already, they are a group of their own."""
    written = (
        select(review_lines.c.incident, lines.c.id, lines.c.received_at, incidents.c.device, incidents.c.site)
        .join(lines, lines.c.id == review_lines.c.line)
        .join(incidents, incidents.c.line == review_lines.c.incident)
        .where(incidents.c.case_id.is_(None), lines.c.body.is_not(None))
        .order_by(lines.c.position)
    )
    if device is not None:
        written = written.where(incidents.c.device == device)
    for row in await connection.execute(written):
        group = roots.get(row.incident)
        if group is None:
            group = _Group(
                device=row.device,
                site=row.site,
                lines=[],
                words=[],
                since=row.received_at,
                last=row.received_at,
            )
            groups.append(group)
            roots[row.incident] = group
        group.words.append(row.id)
        if not group.lines:
            group.last = max(group.last, row.received_at)


async def _hold(connection: AsyncConnection, groups: list[_Group], roots: dict[str, _Group]) -> None:
    unclosed = await connection.execute(
        select(incidents.c.line)
        .join(reviews, reviews.c.incident == incidents.c.line, isouter=True)
        .where(incidents.c.case_id.is_(None), ~incidents.c.practice)
        .where(func.coalesce(reviews.c.state, "new") != "closed")
    )
    if await beyond.pinned(connection) is not None:
        unsaid = or_(relayed.c.seq.is_(None), lines.c.seq > relayed.c.seq)
        waiting = await connection.execute(
            select(lines.c.id)
            .join(relayed, relayed.c.device == lines.c.device, isouter=True)
            .where(lines.c.case_id.is_(None), lines.c.site != SERVER_SITE, unsaid)
        )
        for line in waiting.scalars():
            if line in roots:
                roots[line].held = "not_passed_on"
    for line in unclosed.scalars():
        if line in roots:
            roots[line].held = "open_review"


async def _refused(connection: AsyncConnection, cutoff: int, device: str | None) -> list[ColumnElement[bool]]:
    """Which refused lines belong to no case of which anything stands, and are due."""
    of_case = aliased(lines)
    standing = (
        select(of_case.c.id)
        .where(of_case.c.case_id == refused.c.case_id)
        .where(of_case.c.site != SERVER_SITE, of_case.c.body.is_not(None))
        .exists()
    )
    chosen: list[ColumnElement[bool]] = [
        refused.c.received_at < cutoff,
        refused.c.reason != REASON_GONE,
        refused.c.code != "erased",  # of these a hub has erased the body, and the reason says who did
        or_(refused.c.case_id.is_(None), ~standing),
    ]
    if device is not None:
        chosen.append(refused.c.device == device)
    if await beyond.pinned(connection) is not None:
        passed = (
            select(relayed.c.device)
            .where(relayed.c.device == refused.c.device, relayed.c.seq >= refused.c.seq)
            .exists()
        )
        chosen.append(or_(refused.c.seq.is_(None), passed))
    return chosen


async def erase(connection: AsyncConnection, clock: Clock, due: Loose, order: Order, now: int) -> Erased:
    """Erase what is due of one device, as far as it still is: lines may have come since it was found."""
    again: Loose | None = None
    if due.incident is not None:
        again = await due_incident(connection, due.incident)
    elif due.before is not None:
        found = await due_before(connection, due.before, due.device)
        again = next((one for one in found if one.held is None), None)
    if again is None or again.held is not None:
        return Erased()
    named = [*again.lines, *again.words]
    facts = await loose_facts(connection, due.device) if named else []
    gone = Gone(hashes=[], decisions=[], incidents=[], bodies=0)
    for part in chunks(named):
        gone = gone.and_those(await forget_lines(connection, lines.c.id.in_(part)))
    aside = 0
    if again.before is not None:
        aside = await forget_refused(connection, *await _refused(connection, again.before, due.device))
    about = {*again.lines, *gone.incidents}
    kept = [kept_of(fact) for fact in facts if fact.line in about]
    if not gone.hashes and not aside:
        return Erased()
    stone = replace(tombstone(order, gone, aside), incidents=kept)
    key = await house.own_key(connection)
    for each in in_parts(stone):
        await append_own(connection, clock, signed(None, each, key), actor=order.by, now=now)
    if named:
        await refold_loose(connection, due.device)
    for incident in gone.incidents:
        await incident_reviews.refold_review(connection, incident)
    note_change(connection, "lines", ANY)  # wherever the device was, one after the other
    return Erased(bodies=gone.bodies, words=len(gone.hashes) - gone.bodies, refused=aside)
