"""Taking lines in: what stands is read, a plan is made, and lines, chain and folds change in one
transaction."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256
from typing import Any, TypeVar

from sqlalchemy import Select, bindparam, delete, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.answers import LineAnswer
from chinrest.log.envelope import FIRST_PREV
from chinrest.log.line import Line, LineError
from chinrest.store import incident_reviews
from chinrest.store.engines import insert_rows, make_room, note_change, note_erased, standing_ids
from chinrest.store.folds import Seated
from chinrest.store.house import take_positions
from chinrest.store.intake import Aside, Intake, Plan, named_places
from chinrest.store.refolding import refold_after, review_apart
from chinrest.store.standing import Refusal, Slot, Standing
from chinrest.store.tables import chains, lines, refused, stubs

T = TypeVar("T")

# what each batch asks, made once (see devices.py)
_HEAD = select(chains.c.seq, chains.c.sha256).where(chains.c.device == bindparam("of"))
_MOVE_HEAD = (
    update(chains)
    .where(chains.c.device == bindparam("of"))
    .values(seq=bindparam("seq"), sha256=bindparam("sha256"))
)
_LINES_OF = select(lines.c.seq, lines.c.envelope_sha256, lines.c.prev, lines.c.id).where(
    lines.c.device == bindparam("of")
)
_STUBS_OF = select(stubs).where(stubs.c.device == bindparam("of"))
_WAITING = tuple(
    asked.where(table.c.seq > bindparam("head")) for asked, table in ((_LINES_OF, lines), (_STUBS_OF, stubs))
)
_ASIDE = (
    select(refused.c.envelope_sha256, refused.c.code, refused.c.reason)
    .where(refused.c.device == bindparam("of"))
    .where(or_(refused.c.code == "fork", refused.c.seq.is_(None)))
)

CHUNK = 1000
"""Values in one IN list: below the limit on bound values of every database."""


async def take(
    connection: AsyncConnection,
    device: str,
    site: str,
    raw_lines: Sequence[bytes],
    decoded: Sequence[Line | LineError],
    *,
    received_at: int,
    offset_ms: int | None,
) -> list[LineAnswer]:
    """Take a batch of one device; one answer a line, in the order given."""
    if not raw_lines:
        return []
    standing, ids, placeless = await _load(connection, device, decoded)
    before, highest = (standing.seq, standing.sha256), standing.highest
    plan = Intake(device, standing, ids, placeless).plan(raw_lines, decoded)
    gone = await _unseat(connection, device, plan, received_at)
    kept_aside = [aside for aside in plan.aside if aside.raw_sha256 is not None]
    await _insert_aside(connection, device, [_aside_row(device, a, received_at) for a in kept_aside])
    await _mark(connection, device, plan, received_at)
    seated = await seat(connection, plan.seat, site, received_at, offset_ms)
    if (standing.seq, standing.sha256) != before:
        await _move_head(connection, device, standing.seq, standing.sha256, new=before[0] == 0)
    appended = not gone and all(line.envelope.seq > highest for line in plan.seat)
    new = [line.envelope for line in plan.seat]
    later = await refold_after(connection, device, new, gone, seated=seated, appended=appended)
    await review_apart(connection, await incident_reviews.closed_of(connection, new))
    if gone or any(e.case not in later for e in new):  # of the others it is told when they are folded
        note_change(connection, "lines", site)
    if plan.aside:
        note_change(connection, "devices", site)
    return plan.answers


async def seat(
    connection: AsyncConnection, new: Sequence[Line], site: str, received_at: int, offset_ms: int | None
) -> Seated | None:
    """Store lines, each with the next log position. Null where there are none."""
    if not new:
        return None
    await make_room(connection, [(site, received_at)])
    first = await take_positions(connection, len(new))
    rows: list[tuple[Any, ...]] = []
    for place, line in enumerate(new, start=first):
        e = line.envelope
        placed = (e.id, e.device, e.seq, place, place)
        bytes_ = (line.envelope_bytes, line.envelope_sha256, line.body_bytes, "plain")
        rows.append((*placed, *bytes_, e.prev, e.type, e.case, site, received_at, offset_ms))
    await insert_rows(connection, lines, rows)
    return Seated(first=first, new=new, site=site, received_at=received_at, offset_ms=offset_ms)


async def head(connection: AsyncConnection, device: str) -> tuple[int, str]:
    """The head of the device's unbroken chain: (sequence, envelope hash); (0, 64 zeros) before its first
    line."""
    row = (await connection.execute(_HEAD, {"of": device})).first()
    return (0, FIRST_PREV) if row is None else (row.seq, row.sha256)


async def advance_own(connection: AsyncConnection, line: Line, site: str, received_at: int) -> None:
    """Store a line that was made here, on top of its chain."""
    e = line.envelope
    seated = await seat(connection, [line], site, received_at, 0)
    await _move_head(connection, e.device, e.seq, line.envelope_sha256, new=e.seq == 1)
    await refold_after(connection, e.device, [e], set(), seated=seated, appended=True)


async def _move_head(connection: AsyncConnection, device: str, seq: int, digest: str, *, new: bool) -> None:
    if new:
        await connection.execute(insert(chains).values(device=device, seq=seq, sha256=digest))
    else:
        await connection.execute(_MOVE_HEAD, {"of": device, "seq": seq, "sha256": digest})


async def _load(
    connection: AsyncConnection, device: str, decoded: Sequence[Line | LineError]
) -> tuple[Standing, dict[str, str], dict[str, Refusal]]:
    """What stands that a batch may touch: the chain, envelope hashes by id, and refused lines without a
    place."""
    seq, digest = await head(connection, device)
    seqs, ids = named_places(device, decoded)
    # its neighbours are needed where a sound line may take a stub's place; those above the head come anyway
    below = sorted({at for named in seqs if named <= seq for at in (named - 1, named, named + 1)})
    settled: dict[int, Slot] = {}
    waiting: dict[int, list[Slot]] = defaultdict(list)
    for at, slot in await _slots(connection, device, *_WAITING, head=seq):
        waiting[at].append(slot)
    for part in chunks(below):
        in_part = (_LINES_OF.where(lines.c.seq.in_(part)), _STUBS_OF.where(stubs.c.seq.in_(part)))
        found = await _slots(connection, device, *in_part)
        settled.update({at: slot for at, slot in found if at <= seq})
    known_ids: dict[str, str] = {}
    for part_of_ids in chunks(await standing_ids(connection, sorted(ids))):
        named = await connection.execute(
            select(lines.c.id, lines.c.envelope_sha256).where(lines.c.id.in_(part_of_ids))
        )
        known_ids.update({row.id: row.envelope_sha256 for row in named})
    placeless: dict[str, Refusal] = {}
    branch: set[str] = set()
    for aside in await connection.execute(_ASIDE, {"of": device}):
        if aside.code == "fork":
            branch.add(aside.envelope_sha256)
        else:
            placeless[aside.envelope_sha256] = (aside.code, aside.reason)
    standing = Standing(seq=seq, sha256=digest, settled=settled, waiting=dict(waiting), branch=branch)
    return standing, known_ids, placeless


async def _slots(
    connection: AsyncConnection, device: str, of_lines: Select[Any], of_stubs: Select[Any], **given: int
) -> list[tuple[int, Slot]]:
    """The device's lines and stubs at the sequences wanted."""
    found: list[tuple[int, Slot]] = []
    for row in await connection.execute(of_lines, {"of": device, **given}):
        found.append((row.seq, Slot(sha256=row.envelope_sha256, prev=row.prev, line=row.id)))
    for stub in await connection.execute(of_stubs, {"of": device, **given}):
        slot = Slot(sha256=stub.envelope_sha256, prev=stub.prev, code=stub.code, reason=stub.reason)
        found.append((stub.seq, slot))
    return found


async def _unseat(connection: AsyncConnection, device: str, plan: Plan, received_at: int) -> set[str | None]:
    """Take lines that waited, and proved not to fit, out of the log and keep them aside; the cases they
    named."""
    if not plan.unseat:
        return set()
    reasons = {aside.claim.id: aside for aside in plan.aside if aside.raw_sha256 is None}
    gone: set[str | None] = set()
    for part in chunks(plan.unseat):
        rows = (
            await connection.execute(
                select(lines).where(lines.c.device == device).where(lines.c.id.in_(part))
            )
        ).all()
        moved = []
        for row in rows:
            raw = row.envelope + b"\t" + (row.body or b"")
            aside = reasons[row.id]
            gone.add(row.case_id)
            moved.append(
                _aside_row(device, aside, received_at)
                | {
                    "raw": raw,
                    "raw_sha256": sha256(raw).hexdigest(),
                    "type": row.type,
                    "case_id": row.case_id,
                }
            )
        await connection.execute(delete(lines).where(lines.c.device == device).where(lines.c.id.in_(part)))
        await note_erased(connection, {(row.site, row.received_at) for row in rows})
        await _insert_aside(connection, device, moved)
    return gone


async def _insert_aside(connection: AsyncConnection, device: str, rows: Sequence[dict[str, object]]) -> None:
    """Keep each refused line once, however often it is sent."""
    by_hash = {str(row["raw_sha256"]): row for row in rows}
    for part in chunks(sorted(by_hash)):
        known = await connection.execute(
            select(refused.c.raw_sha256)
            .where(refused.c.device == device)
            .where(refused.c.raw_sha256.in_(part))
        )
        there = set(known.scalars())
        new = [by_hash[digest] for digest in part if digest not in there]
        if new:
            await connection.execute(insert(refused), new)


def _aside_row(device: str, aside: Aside, received_at: int) -> dict[str, object]:
    return {
        "device": device,
        "raw_sha256": aside.raw_sha256,
        "seq": aside.claim.seq,
        "line": aside.claim.id,
        "envelope_sha256": aside.envelope_sha256,
        "code": aside.code,
        "reason": aside.reason,
        "type": aside.claim.type,
        "case_id": aside.claim.case,
        "at": aside.claim.at,
        "received_at": received_at,
        "raw": aside.raw,
        "healed": False,
    }


async def _mark(connection: AsyncConnection, device: str, plan: Plan, received_at: int) -> None:
    """Remove stubs that stand no longer, leave the new ones, and note what a sound copy has healed."""
    for part in chunks(plan.healed):
        await connection.execute(
            update(refused)
            .where(refused.c.device == device)
            .where(refused.c.envelope_sha256.in_(part))
            .values(healed=True)
        )
    for part_of_seqs in chunks(plan.stubs_gone):
        await connection.execute(
            delete(stubs).where(stubs.c.device == device).where(stubs.c.seq.in_(part_of_seqs))
        )
    if plan.stubs:
        rows = [
            {
                "device": device,
                "seq": seq,
                "envelope_sha256": slot.sha256,
                "prev": slot.prev,
                "code": slot.code,
                "reason": slot.reason,
                "received_at": received_at,
            }
            for seq, slot in plan.stubs.items()
        ]
        await connection.execute(insert(stubs), rows)


def chunks(values: Sequence[T]) -> Iterator[Sequence[T]]:
    """Parts of at most CHUNK values."""
    return (values[start : start + CHUNK] for start in range(0, len(values), CHUNK))


def as_ranges(seqs: Iterable[int]) -> list[tuple[int, int]]:
    """Inclusive ranges of distinct sequences."""
    ranges: list[tuple[int, int]] = []
    for seq in sorted(seqs):
        if ranges and seq == ranges[-1][1] + 1:
            ranges[-1] = (ranges[-1][0], seq)
        else:
            ranges.append((seq, seq))
    return ranges
