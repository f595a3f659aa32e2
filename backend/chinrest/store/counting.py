"""Counts out of the tallies: by what they are split, in which months and at which site."""

from collections import Counter
from typing import Literal

import msgspec
from msgspec import Struct
from sqlalchemy import ColumnElement, Table, func, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.joining import DYE_REACTION
from chinrest.log.reaction_seen import ReactionSeen
from chinrest.log.registry import type_of
from chinrest.log.review_events import IncidentClassified
from chinrest.log.tallies import TallyKind, month_of
from chinrest.store.house import position
from chinrest.store.scope import Scope
from chinrest.store.tables import cases, devices, incidents, lines, review_lines, reviews, sums, tallies

Split = Literal["none", "key", "sub", "site", "month", "desk_harm"]
"""`desk_harm`: not of the tallies, but of the reviews as they stand (`harm_pairs`)."""
NAMED = ("reaction", "reaction_oral", "touch")
"""Kinds that count in a rate only where their key is known."""

COLUMNS = {
    "key": sums.c.key,
    "sub": sums.c.sub,
    "site": sums.c.site,
    "month": sums.c.month,
}


class Period(Struct, frozen=True, kw_only=True):
    """Months as YYYY-MM, both included; null is open. `site` null: every site."""

    first: str | None = None
    last: str | None = None
    site: str | None = None


HOUR_MS = 3_600_000


class CaseCount(Struct, frozen=True, kw_only=True):
    """`at`: when the case (the first of several) was opened, ms."""

    at: int
    procedures: int
    events: int


class Unheard(Struct, frozen=True, kw_only=True):
    """A device that may still hold lines of the period: not heard since its end, or it said that lines
    wait."""

    id: str
    label: str
    site: str
    last_heard_at: int | None
    waiting: int | None


def within(scope: Scope, period: Period, table: Table = sums) -> list[ColumnElement[bool]]:
    """`table`: the sums, or the tallies of each case. Fault: other_site."""
    chosen: list[ColumnElement[bool]] = []
    if period.first is not None:
        chosen.append(table.c.month >= period.first)
    if period.last is not None:
        chosen.append(table.c.month <= period.last)
    site = scope.narrowed(period.site)
    if site is not None:
        chosen.append(table.c.site == site)
    return chosen


async def count(
    connection: AsyncConnection,
    scope: Scope,
    kind: TallyKind,
    period: Period,
    split: Split = "none",
    *,
    named: bool = False,
) -> dict[str, int]:
    """Sums of `n` by the split's value; under "" alone for no split. `named`: only those whose key is
    known."""
    column = COLUMNS.get(split)
    chosen = [sums.c.kind == kind, *within(scope, period)]
    if named:
        chosen.append(sums.c.key != "")
    if column is None:
        total = await connection.execute(select(func.coalesce(func.sum(sums.c.n), 0)).where(*chosen))
        return {"": int(total.scalar_one())}
    rows = await connection.execute(select(column, func.sum(sums.c.n)).where(*chosen).group_by(column))
    return {row[0]: int(row[1]) for row in rows}


async def case_counts(
    connection: AsyncConnection, scope: Scope, above: TallyKind, below: TallyKind, period: Period
) -> list[CaseCount]:
    """Procedures and events, in the order in which cases were opened.

    Cases of an hour without any event stand as one, and so do those opened in the same millisecond: nothing
    that is made of these tells them apart, and reading every case by itself would be most of the work.
    """
    of_above = [tallies.c.kind == above, *within(scope, period, tallies)]
    if above in NAMED:
        of_above.append(tallies.c.key != "")
    of_below = [tallies.c.kind == below, *within(scope, period, tallies)]
    hour = tallies.c.at // HOUR_MS
    events = {
        row.at: int(row.n)
        for row in await connection.execute(
            select(tallies.c.at, func.sum(tallies.c.n).label("n")).where(*of_above).group_by(tallies.c.at)
        )
    }
    busy = select(hour).where(*of_above)
    quiet = await connection.execute(
        select(func.min(tallies.c.at), func.sum(tallies.c.n))
        .where(*of_below, hour.not_in(busy))
        .group_by(hour)
    )
    one_by_one = await connection.execute(
        select(tallies.c.at, func.sum(tallies.c.n)).where(*of_below, hour.in_(busy)).group_by(tallies.c.at)
    )
    procedures = {int(row[0]): int(row[1]) for rows in (quiet, one_by_one) for row in rows.all()}
    return [
        CaseCount(at=at, procedures=procedures.get(at, 0), events=events.get(at, 0))
        for at in sorted(procedures.keys() | events.keys())
    ]


class SeenReaction(Struct, frozen=True, kw_only=True):
    """A reaction that counts in a rate: what its class is derived from, and by the tables of which pack."""

    pack: str | None
    seen: ReactionSeen


async def seen_reactions(
    connection: AsyncConnection, scope: Scope, period: Period, *, oral: bool
) -> list[SeenReaction]:
    """Of each reaction that counts in the period, to an injected dye or to one that was drunk, what was
    seen."""
    rows = await connection.execute(
        select(incidents.c.pack, incidents.c.seen)
        .join(tallies, tallies.c.case_id == incidents.c.case_id)
        .where(tallies.c.kind == "visit", *within(scope, period, tallies))
        .where(incidents.c.seen.is_not(None), ~incidents.c.withdrawn, ~incidents.c.near_miss)
        .order_by(incidents.c.line)
    )
    found = [
        SeenReaction(pack=row.pack, seen=msgspec.json.decode(row.seen, type=ReactionSeen)) for row in rows
    ]
    return [one for one in found if one.seen.dye and one.seen.oral == oral]


LEFT_OPEN = "left_open"
"""The desk looked, and gave no degree."""
UNJUDGED = "unjudged"
"""Nobody at the desk has classified it."""
HARM_KINDS: frozenset[TallyKind] = frozenset({"event", "reaction", "reaction_oral"})


class HarmPair(Struct, frozen=True, kw_only=True):
    """Events of a rate by the reporter's degree of harm ("" where none was given) and the desk's (or
    LEFT_OPEN, or UNJUDGED)."""

    reported: str
    judged: str
    events: int


async def harm_pairs(
    connection: AsyncConnection, scope: Scope, above: TallyKind, period: Period
) -> list[HarmPair]:
    """The very events that the tallies of `above` (one of HARM_KINDS) count in the period."""
    judged = (
        select(review_lines.c.incident)
        .join(lines, lines.c.id == review_lines.c.line)
        .where(lines.c.type == type_of(IncidentClassified))
        .distinct()
        .subquery()
    )
    rows = await connection.execute(
        select(incidents.c.harm, incidents.c.what, incidents.c.seen, reviews.c.harm, judged.c.incident)
        .select_from(
            incidents.join(tallies, tallies.c.case_id == incidents.c.case_id)
            .join(reviews, reviews.c.incident == incidents.c.line, isouter=True)
            .join(judged, judged.c.incident == incidents.c.line, isouter=True)
        )
        .where(tallies.c.kind == "visit", *within(scope, period, tallies))
        .where(~incidents.c.withdrawn, ~incidents.c.near_miss)
    )
    counts: Counter[tuple[str, str]] = Counter()
    for reported, what, raw, desk, known in rows:
        seen = None if raw is None else msgspec.json.decode(raw, type=ReactionSeen)
        if above == "event":
            counts_here = not (what == DYE_REACTION and seen is None)
        else:
            counts_here = seen is not None and bool(seen.dye) and seen.oral == (above == "reaction_oral")
        if counts_here:
            counts[reported or "", UNJUDGED if known is None else desk or LEFT_OPEN] += 1
    return [
        HarmPair(reported=reported, judged=desk, events=n) for (reported, desk), n in sorted(counts.items())
    ]


async def left_out(connection: AsyncConnection, scope: Scope) -> dict[str, int]:
    """How many cases no rate counts, and why; of all time, since what has no opening has no month either.
    `misdated` ones are counted all the same."""
    rows = await connection.execute(
        select(cases.c.practice, cases.c.opened, func.count())
        .where(*scope.of(cases.c.site))
        .group_by(cases.c.practice, cases.c.opened)
    )
    found = {"practice": 0, "not_opened": 0, "cancelled": 0}
    for practice, opened, n in rows:
        found["practice" if practice else "cancelled" if opened else "not_opened"] += int(n)
    # a case that counts is opened and no practice, and has one visit: what is left of its like was cancelled
    found["cancelled"] -= (await count(connection, scope, "visit", Period()))[""]
    found["misdated"] = await misdated(connection, scope)
    return found


async def misdated(connection: AsyncConnection, scope: Scope) -> int:
    """Cases that count, of a month before this server was set up or after its last line came: by a clock
    that was wrong and never compared with the server's."""
    founded = (await connection.execute(select(func.min(devices.c.enrolled_at)))).scalar_one()
    newest = (
        await connection.execute(select(lines.c.received_at).order_by(lines.c.position.desc()).limit(1))
    ).scalar_one_or_none()
    outside = [or_(sums.c.month < month_of(founded), sums.c.month > month_of(newest or founded))]
    total = await connection.execute(
        select(func.coalesce(func.sum(sums.c.n), 0)).where(
            sums.c.kind == "visit", *outside, *scope.of(sums.c.site)
        )
    )
    return int(total.scalar_one())


async def without_case(connection: AsyncConnection, scope: Scope) -> int:
    """Incidents that belong to no case: in the queue, and in no rate."""
    found = await connection.execute(
        select(func.count())
        .select_from(incidents)
        .where(incidents.c.case_id.is_(None))
        .where(~incidents.c.practice)
        .where(~incidents.c.withdrawn, *scope.of(incidents.c.site))
    )
    return int(found.scalar_one())


async def unheard(connection: AsyncConnection, scope: Scope, period: Period, end: int) -> list[Unheard]:
    """Devices in use that were not heard since `end` (ms), or that still hold lines. A withdrawn one is
    waited for no longer."""
    chosen = [devices.c.kind == "phone", devices.c.withdrawn_at.is_(None), devices.c.enrolled_at < end]
    site = scope.narrowed(period.site)
    if site is not None:
        chosen.append(devices.c.site == site)
    rows = await connection.execute(select(devices).where(*chosen).order_by(devices.c.label, devices.c.id))
    return [
        Unheard(
            id=row.id,
            label=row.label,
            site=row.site,
            last_heard_at=row.last_heard_at,
            waiting=row.waiting,
        )
        for row in rows
        if row.last_heard_at is None or row.last_heard_at < end or (row.waiting or 0) > 0
    ]


class Counted(Struct, frozen=True, kw_only=True):
    """Events and procedures of one rate, from one state of the log. `unnamed`: events of which it is not
    known what they belong to (no dye given before a reaction, no optic named with a touch), counted in no
    rate. `pairs`: harm as reported and as judged, where a split by either is asked for."""

    events: dict[str, int]
    pairs: list[HarmPair]
    procedures: dict[str, int]
    all_events: int
    all_procedures: int
    unnamed: int
    left_out: dict[str, int]
    without_case: int
    unheard: list[Unheard]
    position: int


async def counted(
    connection: AsyncConnection,
    scope: Scope,
    above: TallyKind,
    below: TallyKind,
    period: Period,
    split: tuple[Split, Split],
    end: int,
) -> Counted:
    """`above` among `below`; `split`: of the events and of the procedures. `end`: of the period, ms."""
    named = above in NAMED
    everything = (await count(connection, scope, above, period))[""]
    of_named = (await count(connection, scope, above, period, named=named))[""]
    by_harm = above in HARM_KINDS and split[0] in ("sub", "desk_harm")
    pairs = await harm_pairs(connection, scope, above, period) if by_harm else []
    if split[0] == "desk_harm":
        by_desk = Counter[str]()
        for pair in pairs:
            by_desk[pair.judged] += pair.events
        events = dict(by_desk)
    else:
        events = await count(connection, scope, above, period, split[0], named=named)
    return Counted(
        events=events,
        pairs=pairs,
        procedures=await count(connection, scope, below, period, split[1]),
        all_events=of_named,
        all_procedures=(await count(connection, scope, below, period))[""],
        unnamed=everything - of_named,
        left_out=await left_out(connection, scope),
        without_case=await without_case(connection, scope),
        unheard=await unheard(connection, scope, period, end),
        position=await position(connection),
    )
