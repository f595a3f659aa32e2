"""Cases and incidents as rows, folded from the lines in the transaction that changes them."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import delete, insert, select
from sqlalchemy.engine import Row
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.amendments import Standing, stand
from chinrest.log.case_events import (
    CaseClosed,
    CaseOpened,
    ComfortNoted,
    FaceMeasured,
    FrameTaken,
    LineAmended,
    OpticChosen,
    PoseAdvised,
    PoseFound,
    SafetyNoted,
    StepSkipped,
)
from chinrest.log.cases import CaseFact, fold_case
from chinrest.log.dye_events import DyeInjected
from chinrest.log.envelope import Envelope
from chinrest.log.erasure_events import BodiesErased
from chinrest.log.incidents import IncidentFact, fold_incidents, fold_loose
from chinrest.log.kept import SERVER_SITE, KeptLine
from chinrest.log.line import Line, decode_envelope
from chinrest.log.reaction_events import (
    PracticeEnded,
    ReactionAttached,
    ReactionEnded,
    ReactionObserved,
    ReactionSign,
    ReactionStarted,
)
from chinrest.log.registry import type_of
from chinrest.log.review_events import ReactionParted
from chinrest.log.series_events import SeriesBurst, SeriesLaid, SeriesStopped
from chinrest.log.tallies import CaseTallies, fold_tallies
from chinrest.log.windows import LayoutsOf, layouts_in
from chinrest.store import stones, sums
from chinrest.store.engines import note_change
from chinrest.store.feeds import closed_feed, feed_again, newly_shown
from chinrest.store.tables import cases, incidents, lines, packs, tallies

FOLDED_TYPES = {
    type_of(cls)
    for cls in (
        CaseOpened,
        CaseClosed,
        SafetyNoted,
        PoseFound,
        LineAmended,
        ReactionStarted,
        ReactionSign,
        ReactionObserved,
        ReactionEnded,
        ReactionAttached,
        PracticeEnded,
        DyeInjected,
        OpticChosen,
        StepSkipped,
        FrameTaken,
        ComfortNoted,
        FaceMeasured,
        PoseAdvised,
        SeriesLaid,
        SeriesBurst,
        SeriesStopped,
        ReactionParted,
        BodiesErased,
    )
}
"""The types that a fold's outcome hangs on."""

PART = 200
"""Cases folded at a time."""

RULES = 5
"""Raised whenever the same lines would fold to something else: the folds are then made anew."""

LAID = type_of(SeriesLaid)

KEPT_COLUMNS = (
    lines.c.envelope,
    lines.c.body,
    lines.c.body_state,
    lines.c.received_at,
    lines.c.offset_ms,
    lines.c.site,
    lines.c.feed,
)


class Seated(Struct, frozen=True, kw_only=True):
    """Lines that this very write has stored, as `KeptLine` has the rest: they needn't be read back. Their log
    positions, and their feeds, are `first` and those that follow; all others' are below."""

    first: int
    new: Sequence[Line]
    site: str
    received_at: int
    offset_ms: int | None

    def of(self, case_ids: Collection[str]) -> tuple[dict[str, list[KeptLine]], dict[str, int]]:
        """Those of these cases, by case; and the feed of each, by its id."""
        wanted = set(case_ids)
        by_case: dict[str, list[KeptLine]] = defaultdict(list)
        feeds: dict[str, int] = {}
        for feed, line in enumerate(self.new, start=self.first):
            e = line.envelope
            if e.case in wanted:
                feeds[e.id] = feed
                kept = KeptLine(
                    envelope=e,
                    body=line.body_bytes,
                    received_at=self.received_at,
                    offset_ms=self.offset_ms,
                    site=self.site,
                )
                by_case[e.case].append(kept)
        return by_case, feeds


_layouts: dict[str, Any] = {}
"""Of packs read before, by their hash: what stands under a hash never changes."""
LAYOUTS_KEPT = 8


async def _layouts_for(connection: AsyncConnection, envelopes: Iterable[Envelope]) -> LayoutsOf:
    named = {e.pack for e in envelopes if e.pack is not None and e.type == LAID}
    found = {}
    for digest in sorted(named):
        if digest not in _layouts:
            raw = await connection.execute(select(packs.c.raw).where(packs.c.sha256 == digest))
            there = raw.scalar_one_or_none()
            if there is None:
                continue
            while len(_layouts) >= LAYOUTS_KEPT:
                _layouts.pop(next(iter(_layouts)))
            _layouts[digest] = layouts_in(there)
        found[digest] = _layouts[digest]
    return found.get


async def refold_cases(
    connection: AsyncConnection, case_ids: Iterable[str], seated: Seated | None = None, *, summed: bool = True
) -> None:
    """`summed`: the sums follow at once; else the caller makes them anew."""
    ordered = sorted(case_ids)
    for start in range(0, len(ordered), PART):
        await _refold_part(connection, ordered[start : start + PART], seated, summed)


async def _refold_part(
    connection: AsyncConnection, part: Sequence[str], seated: Seated | None, summed: bool
) -> None:
    stored = select(*KEPT_COLUMNS).where(lines.c.case_id.in_(part))
    by_case: dict[str, list[KeptLine]] = defaultdict(list)
    feeds: dict[str, int] = {}
    if seated is not None:
        stored = stored.where(lines.c.position < seated.first)
        new, fed = seated.of(part)
        by_case.update(new)
        feeds.update(fed)
    for row in (await connection.execute(stored)).all():
        kept = kept_line(row)
        by_case[kept.envelope.case or ""].append(kept)
        feeds[kept.envelope.id] = row.feed
    earlier = {
        row.case_id: row for row in await connection.execute(select(cases).where(cases.c.case_id.in_(part)))
    }
    layouts = await _layouts_for(
        connection, (kept.envelope for kept_lines in by_case.values() for kept in kept_lines)
    )
    known = sorted(earlier)  # a case that was never folded has no row anywhere
    before_sums = await sums.of_cases(connection, known) if known and summed else {}
    if known:
        await connection.execute(delete(incidents).where(incidents.c.case_id.in_(known)))
        await connection.execute(delete(cases).where(cases.c.case_id.in_(known)))
        await connection.execute(delete(tallies).where(tallies.c.case_id.in_(known)))
    case_rows, incident_rows, tally_rows = [], [], []
    for case, kept_lines in by_case.items():
        _tell_every_site(connection, kept_lines)
        standing = stand(kept_lines)
        fact = fold_case(case, standing)
        before = earlier.get(case)
        if before is not None and newly_shown(before, fact):
            await feed_again(connection, case)
        case_rows.append(
            {
                "case_id": case,
                "site": fact.site,
                "code": storable(fact.code),
                "opened": fact.opened,
                "state": fact.state,
                "outcome": fact.outcome,
                "practice": fact.practice,
                "closed_feed": closed_feed(standing, feeds) if fact.state == "closed" else None,
            }
        )
        found = fold_incidents(standing)
        incident_rows += [_incident_row(incident) for incident in found]
        tally_rows += _tally_rows(fact, standing, found, layouts)
    if case_rows:
        await connection.execute(insert(cases), case_rows)
    if incident_rows:
        await connection.execute(insert(incidents), incident_rows)
    if tally_rows:
        await connection.execute(insert(tallies), tally_rows)
    if summed:
        await sums.change(connection, before_sums, tally_rows)


def _tell_every_site(connection: AsyncConnection, kept_lines: Iterable[KeptLine]) -> None:
    """Where phones of several sites wrote in a case, all of them see it."""
    sites = {kept.site for kept in kept_lines} - {SERVER_SITE}
    if len(sites) > 1:
        for site in sites:
            note_change(connection, "lines", site)


async def fold_of(
    connection: AsyncConnection, case: str
) -> tuple[CaseFact, list[IncidentFact], CaseTallies | None]:
    """The case, its incidents and its counts as they stand; at least one line names it."""
    rows = (await connection.execute(select(*KEPT_COLUMNS).where(lines.c.case_id == case))).all()
    kept = [kept_line(row) for row in rows]
    layouts = await _layouts_for(connection, (line.envelope for line in kept))
    standing = stand(kept)
    fact, found = fold_case(case, standing), fold_incidents(standing)
    return fact, found, fold_tallies(fact, standing, found, layouts)


def _tally_rows(
    fact: CaseFact, standing: Sequence[Standing], found: Sequence[IncidentFact], layouts: LayoutsOf
) -> list[dict[str, Any]]:
    counted = fold_tallies(fact, standing, found, layouts)
    if counted is None:
        return []
    summed: Counter[tuple[str, str, str]] = Counter()
    for tally in counted.tallies:
        # what a phone claims may be longer than a column: its beginning tells it apart well enough
        summed[tally.kind, _short(tally.key), _short(tally.sub)] += tally.n
    return [
        {
            "case_id": fact.case,
            "kind": kind,
            "key": key,
            "sub": sub,
            "n": n,
            "site": fact.site,
            "month": counted.month,
            "at": counted.at,
        }
        for (kind, key, sub), n in summed.items()
    ]


def _short(text: str) -> str:
    return (storable(text) or "")[:200]


async def refold_loose(connection: AsyncConnection, device: str) -> None:
    """A device's lines that belong to no case."""
    found = [_incident_row(incident) for incident in await loose_facts(connection, device)]
    await connection.execute(
        delete(incidents).where(incidents.c.case_id.is_(None)).where(incidents.c.device == device)
    )
    if found:
        await connection.execute(insert(incidents), found)


async def loose_facts(connection: AsyncConnection, device: str) -> list[IncidentFact]:
    """The incidents among a device's lines that belong to no case, erased ones too."""
    rows = await connection.execute(
        select(*KEPT_COLUMNS)
        .where(lines.c.device == device)
        .where(lines.c.case_id.is_(None))
        .where(lines.c.type.in_(FOLDED_TYPES))
    )
    standing = stand(kept_line(row) for row in rows)
    return fold_loose(standing, await stones.kept_of_loose(connection, device))


def kept_line(row: Row[*tuple[Any, ...]]) -> KeptLine:
    """From KEPT_COLUMNS. A sealed body can't be read here, so it is as good as gone."""
    return KeptLine(
        envelope=decode_envelope(row.envelope),
        body=row.body if row.body_state == "plain" else None,
        received_at=row.received_at,
        offset_ms=row.offset_ms,
        site=row.site,
    )


def storable(text: str | None) -> str | None:
    """Text that any database can hold: no NUL, which some refuse, however legal in JSON."""
    return None if text is None else text.replace("\x00", "\ufffd")


def _incident_row(incident: IncidentFact) -> dict[str, object]:
    row = msgspec.structs.asdict(incident)
    row["case_id"] = row.pop("case")
    del row["again"]  # it is in the counts already, and `seen` is null
    row["seen"] = None if incident.seen is None else storable(msgspec.json.encode(incident.seen).decode())
    for name in ("case_code", "what", "optic", "note"):
        row[name] = storable(row[name])
    row["search"] = f"{row['case_code'] or ''}\n{row['note']}".casefold()
    return row
