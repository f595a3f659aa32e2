"""What new lines change in the folds. A case that cannot be folded, a fault of ours, costs no line and no
other case: its lines are stored and answered, and it is written down as failed (`unfolded`). What a device
noted outside any case is folded as one, and fails as one."""

import traceback
from collections.abc import Awaitable, Callable, Collection, Iterable, Sequence
from functools import partial
from pathlib import Path

import structlog
from sqlalchemy import and_, delete, select
from sqlalchemy.exc import DatabaseError, InterfaceError, OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.envelope import Envelope
from chinrest.store import incident_reviews, sums, unfolded
from chinrest.store.feeds import feed_again
from chinrest.store.folds import FOLDED_TYPES, PART, Seated, refold_cases, refold_loose
from chinrest.store.tables import cases, incidents, lines, tallies

AT_ONCE = 50
"""A batch of up to so many lines is folded in the write that stores it: what has just happened is in the
officer's list with the answer."""

log = structlog.get_logger("chinrest.store")


async def refold_after(
    connection: AsyncConnection,
    device: str,
    new: Sequence[Envelope],
    gone: set[str | None],
    *,
    seated: Seated | None,
    appended: bool,
) -> Collection[str]:
    """Fold again what a device's new lines, and its lines gone from the cases in `gone`, may have changed;
    those that are not folded now: new cases of a large batch, left for later, and cases that cannot be.

    `seated`: the new lines as they were stored, null where there are none. `appended`: every new
    line comes after all that its device had. Then a line of another type than FOLDED_TYPES changes nothing in
    a case that is opened already: it cannot move any other in the order.
    """
    named = {e.case for e in new if e.case is not None}
    touched = {e.case for e in new if e.case is not None and (e.type in FOLDED_TYPES or not appended)}
    others = sorted(named - touched)
    for start in range(0, len(others), PART):
        part = others[start : start + PART]
        opened = await connection.execute(
            select(cases.c.case_id).where(cases.c.case_id.in_(part)).where(cases.c.opened)
        )
        touched |= set(part) - set(opened.scalars())
    touched |= {case for case in gone if case is not None}
    marked = await unfolded.marks(connection, touched | named)
    later: set[str] = set()
    if len(new) > AT_ONCE:
        tried_now = {case for case, mark in marked.items() if mark.failed or mark.device != device}
        later = await unfolded.new_among(connection, touched - tried_now)
    await unfolded.add(connection, device, later - marked.keys())
    again = {case for case, mark in marked.items() if mark.failed}
    failed = await refold_apart(connection, touched - later - again, seated)
    await unfolded.remove(connection, (marked.keys() & touched) - later - failed - again)
    failed |= await refold_again(connection, again)
    if None in gone or any(e.case is None and e.type in FOLDED_TYPES for e in new):
        await refold_outside(connection, [device])
    return later | failed


async def refold_all(connection: AsyncConnection) -> None:
    """Make every fold anew from the lines (and the packs that they name) alone, but for reviews."""
    await refold_again(connection, await unfolded.failed(connection))  # phones have passed their lines by
    for table in (incidents, tallies):
        await connection.execute(delete(table))
    named = await connection.execute(select(lines.c.case_id).where(lines.c.case_id.is_not(None)).distinct())
    known = await connection.execute(select(cases.c.case_id))
    await unfolded.remove_all(connection)
    await refold_apart(connection, {*named.scalars(), *known.scalars()}, summed=False)
    await sums.anew(connection)
    loose = await connection.execute(select(lines.c.device).where(lines.c.case_id.is_(None)).distinct())
    await refold_outside(connection, loose.scalars())


async def refold_for_pack(connection: AsyncConnection, digest: str) -> None:
    """Count again the cases that followed a layout of a pack which has come only now."""
    waiting = await connection.execute(
        select(tallies.c.case_id).where(tallies.c.kind == "no_pack").where(tallies.c.key == digest)
    )
    counted = set(waiting.scalars())
    again = {case for case, mark in (await unfolded.marks(connection, counted)).items() if mark.failed}
    await refold_apart(connection, counted - again)
    await refold_again(connection, again)


async def refold_again(connection: AsyncConnection, case_ids: Iterable[str]) -> set[str]:
    """Fold cases that could not be folded before; those that still can't be. Phones have passed their lines
    by meanwhile, and are given them anew; reviews were made without what is folded only now."""
    ordered = sorted(case_ids)
    failed = await refold_apart(connection, ordered)
    for case in ordered:
        if case in failed:
            continue
        begun = await incident_reviews.begun_of(connection, incidents.c.case_id == case)
        if await review_apart(connection, begun):
            failed.add(case)
        else:
            await feed_again(connection, case)
            await refold_cases(connection, [case])  # by the new places
    await unfolded.remove(connection, set(ordered) - failed)
    return failed


async def refold_apart(
    connection: AsyncConnection, case_ids: Iterable[str], seated: Seated | None = None, *, summed: bool = True
) -> set[str]:
    """Fold these, each that cannot be by itself: those, now written down as failed and told in the log. What
    was folded of them before stands as it was. `summed` as in `refold_cases`."""
    ordered = sorted(case_ids)
    failed: set[str] = set()
    for start in range(0, len(ordered), PART):
        part = ordered[start : start + PART]
        if (
            await _fault_of(connection, partial(refold_cases, connection, part, seated, summed=summed))
            is None
        ):
            continue
        for case in part:
            fault = await _fault_of(
                connection, partial(refold_cases, connection, [case], seated, summed=summed)
            )
            if fault is not None:
                failed.add(case)
                await unfolded.note_failed(connection, case)
                log.error("a case cannot be folded", case=case, why=_why(fault))
    return failed


async def refold_outside(connection: AsyncConnection, devices: Iterable[str]) -> None:
    """Fold what these devices noted outside any case, each by itself. What can't be is written down and told
    in the log, as a case is; what was folded of it before stands. No phone is given such lines."""
    for device in sorted(devices):
        fault = await _fault_of(connection, partial(refold_loose, connection, device))
        if fault is None:
            if await unfolded.remove(connection, [unfolded.outside(device)]):
                of_it = and_(incidents.c.case_id.is_(None), incidents.c.device == device)
                await review_apart(connection, await incident_reviews.begun_of(connection, of_it))
        else:
            await unfolded.note_failed(connection, unfolded.outside(device), device)
            log.error("a device's lines outside cases cannot be folded", device=device, why=_why(fault))


async def review_apart(connection: AsyncConnection, about: Sequence[str]) -> set[str]:
    """Make the reviews of these incidents anew, each that cannot be by itself: those. The case is written
    down as failed then, or what its device noted outside any; the row of the review stands as it was."""

    async def each(of: Sequence[str]) -> None:
        for incident in of:
            await incident_reviews.refold_review(connection, incident)

    if not about or await _fault_of(connection, partial(each, about)) is None:
        return set()
    failed: set[str] = set()
    for incident in about:
        fault = await _fault_of(connection, partial(each, [incident]))
        if fault is not None:
            failed.add(incident)
            told = await connection.execute(
                select(lines.c.case_id, lines.c.device).where(lines.c.id == incident)
            )
            for row in told:
                await unfolded.note_failed(
                    connection, row.case_id or unfolded.outside(row.device), row.device
                )
            log.error("a review cannot be folded", incident=incident, why=_why(fault))
    return failed


def _why(fault: Exception) -> str:
    """Never its words, in which a case's own may stand."""
    where = traceback.extract_tb(fault.__traceback__)[-1]
    return f"{type(fault).__name__} at {Path(where.filename).name}:{where.lineno}"


async def _fault_of(connection: AsyncConnection, fold: Callable[[], Awaitable[None]]) -> Exception | None:
    """Fold these, or none of them: what went wrong, then."""
    try:
        async with connection.begin_nested():
            await fold()
    except Exception as fault:
        if isinstance(fault, OperationalError | InterfaceError) or type(fault) is DatabaseError:
            raise  # the database's trouble, and no case's
        return fault
    return None
