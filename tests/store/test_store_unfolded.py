"""A large batch is stored, with its chain, and answered; its new cases are folded directly afterwards, and
nobody reads of any before that."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from invented import START, Phone
from msgspec.structs import replace
from stored import HEAD, folds, opened, rows, runs, said, send, stored_raws

import chinrest.store.folds
import chinrest.store.refolding
from chinrest.log.review_events import IncidentCommented
from chinrest.log.write import new_salt
from chinrest.store import Store
from chinrest.store.counting import Period
from chinrest.store.engines import Place, is_postgresql
from chinrest.store.refolding import AT_ONCE
from chinrest.store.review import IncidentFilter
from chinrest.store.settling import PAUSE_S

FEW = 3
YEAR_MS = 366 * 24 * 3_600_000
EVER = Period()


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Batches of more than FEW lines are large, and folded when somebody asks."""
    monkeypatch.setattr(chinrest.store.refolding, "AT_ONCE", FEW)


def a_day(name: str, cases: int = 2, prefix: str = "") -> Phone:
    """A phone's cases, with a safety event in each; the last of them is open."""
    phone = Phone(name)
    for number in range(cases):
        case = f"{prefix or name}-{number}"
        phone.write("case.opened", case, code=f"T-{number}")
        phone.write("safety.noted", case, note=f"of {case}")
        phone.write("step.done", case)
        if number < cases - 1:
            phone.write("case.closed", case)
    return phone


def unfolded(file: Place) -> list[str]:
    return [case for (case,) in rows(file, "SELECT case_id FROM unfolded ORDER BY case_id")]


async def hold_anew(store: Store, file: Place) -> None:
    """The folds that stand are those made of the lines alone."""
    found = folds(file)
    await store.refold()
    assert folds(file) == found


def comment(phone: Phone) -> IncidentCommented:
    return IncidentCommented(salt=new_salt(), incident=event_of(phone), by="staff-1", text="seen")


def event_of(phone: Phone) -> str:
    return next(line.envelope.id for line in phone.lines if line.envelope.type == "safety.noted")


ASKED: dict[str, tuple[Callable[[Store, Phone], Awaitable[Any]], Callable[[Any], bool]]] = {
    "incidents": (lambda s, p: s.incidents(q=f"of {p.name}-0"), lambda x: x.total == 1),
    "incident": (lambda s, p: s.incident(event_of(p)), lambda x: x is not None),
    "incident_counts": (
        lambda s, p: s.incident_counts(IncidentFilter(q=f"of {p.name}-"), "2026-11-05"),
        lambda x: x.new == 2,
    ),
    "exported_incidents": (
        lambda s, p: s.exported_incidents(
            limit=9, site=None, kind=None, what=None, harm=None, practice=None, state=None, q=f"of {p.name}-"
        ),
        lambda x: len(x) == 2,
    ),
    "like_incidents": (lambda s, p: s.like_incidents(event_of(p)), lambda x: len(x) > 0),
    "counted": (
        lambda s, p: s.counted("visit", "use", EVER, ("none", "none"), START),
        lambda x: (
            x.left_out == {"practice": 0, "not_opened": 0, "cancelled": 0, "misdated": 0} and x.all_events > 0
        ),
    ),
    "case_counts": (
        lambda s, p: s.case_counts("visit", "use", EVER),
        lambda x: sum(each.events for each in x) > 0,
    ),
    "seen_reactions": (lambda s, p: s.seen_reactions(EVER, oral=False), lambda x: x == []),
    "craft_counts": (lambda s, p: s.craft_counts(EVER), lambda x: x.kinds["visit"]["", ""] > 0),
    "review_of": (lambda s, p: s.review_of(event_of(p)), lambda x: x.state == "new"),
    "reviews_of": (lambda s, p: s.reviews_of([event_of(p)]), lambda x: len(x) == 1),
    "timeline": (lambda s, p: s.timeline(f"{p.name}-0"), lambda x: x is not None and x.code == "T-0"),
    "decide": (lambda s, p: s.decide(comment(p), 0, START), lambda x: x.count == 1),
    "due_case": (lambda s, p: s.due_case(f"{p.name}-0", START), lambda x: x.held == "open_review"),
    "due_before": (
        lambda s, p: s.due_before(START + YEAR_MS),
        lambda x: {due.held for due in x} == {"open_review"},
    ),
}


@runs
async def test_whoever_reads_folds_reads_those_of_every_line(file: Place, few: None) -> None:
    phones = [a_day(f"phone-{number}") for number in range(len(ASKED))]
    async with opened(file, *phones) as store:
        for phone, (name, (ask, right)) in zip(phones, ASKED.items(), strict=True):
            assert said(await send(store, phone, phone.raws)) == ["stored"] * len(phone.lines)
            assert unfolded(file) == [f"{phone.name}-0", f"{phone.name}-1"]
            assert rows(file, "SELECT * FROM cases WHERE case_id = ?", f"{phone.name}-0") == []
            assert right(await ask(store, phone)), name
            assert unfolded(file) == [], f"{name} was answered while lines were not folded"
        await hold_anew(store, file)


@runs
async def test_another_phone_is_told_of_every_case_and_the_own_phone_waits_for_none(
    file: Place, few: None
) -> None:
    one, two = a_day("one", 3), Phone("two")
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        first = await store.pull("north", one.device, None, 10**6)
        async with store.one_state(own=one.device):
            assert await store.pull("north", one.device, None, 10**6) == first
        assert first.lines == []
        assert len(unfolded(file)) == 3
        cursor = first.cursor - len(one.lines)  # before all this
        async with store.one_state(own=two.device):
            pulled = await store.pull("north", two.device, cursor, 10**6)
        assert unfolded(file) == []
        assert pulled.lines == one.raws  # open ones, and such as were closed since
        assert (await store.pull("north", two.device, None, 10**6)).lines == one.raws[-3:]
        assert (await store.pull("north", one.device, None, 10**6)).lines == []


@runs
async def test_in_a_state_that_is_not_settled_no_other_fold_can_be_read(file: Place, few: None) -> None:
    phone = a_day("one")
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        async with store.one_state(own=phone.device):
            with pytest.raises(RuntimeError, match="not made"):
                await store.incidents()


@runs
async def test_what_just_happened_is_folded_with_the_answer(file: Place, few: None) -> None:
    """A few lines, and any lines of a case that is known, are folded in the write that stores them."""
    phone = a_day("one")
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        emergency = phone.write("safety.noted", "one-1", note="now")
        await send(store, phone, [emergency.raw])
        assert unfolded(file) == ["one-0"]
        query = "SELECT note FROM incidents ORDER BY at"
        assert rows(file, query) == [("of one-1",), ("now",)]
        more = [phone.write("safety.noted", "one-1", note=f"more {n}").raw for n in range(FEW + 1)]
        await send(store, phone, more)
        assert len(rows(file, query)) == 2 + len(more)
        assert unfolded(file) == ["one-0"]
        await store.settle()
        await hold_anew(store, file)


@runs
async def test_a_case_that_two_phones_bring_is_folded_with_the_second(file: Place, few: None) -> None:
    one, two = a_day("one", prefix="c"), a_day("two", prefix="c")
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        assert unfolded(file) == ["c-0", "c-1"]
        await send(store, two, two.raws)
        assert unfolded(file) == []
        assert len((await store.pull("north", one.device, None, 10**6)).lines) == 3
        await hold_anew(store, file)


@runs
async def test_a_killed_server_folds_when_it_starts_what_it_had_left(file: Place, few: None) -> None:
    phone = a_day("one", 3)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
    # closed or killed, the database is the same: nothing was begun
    assert len(unfolded(file)) == 3
    async with opened(file) as store:
        assert unfolded(file) == []
        assert stored_raws(file, phone.device) == phone.raws
        assert (await store.incidents()).total == 3
        await hold_anew(store, file)


@pytest.mark.several_servers
@runs
async def test_of_two_processes_one_folds_and_the_other_reads(file: Place, few: None) -> None:
    phones = [a_day(name, 3) for name in ("one", "two")]
    async with opened(file, *phones) as here, opened(file) as there:
        await send(here, phones[0], phones[0].raws)
        assert (await there.incidents()).total == 3
        await send(here, phones[1], phones[1].raws)
        await asyncio.gather(here.settle(), there.settle())
        assert unfolded(file) == []
        assert (await here.incidents()).total == 6
        await hold_anew(there, file)


@runs
async def test_a_large_batch_is_told_to_the_desk_once_it_is_folded(file: Place) -> None:
    """Without anybody asking; at AT_ONCE lines and one more, as it is set."""
    small, large = a_day("small"), Phone("large")
    while len(large.lines) <= AT_ONCE:
        large.write("safety.noted", f"case-{len(large.lines) // 40}")
    async with opened(file, small, large) as store:
        with store.hear() as hearing:
            # where the database itself tells, the first thing heard is that it is listened to
            while is_postgresql(file) and "sessions" not in await hearing.next(30):
                pass
            await send(store, large, large.raws)
            while "lines" not in await hearing.next(30):
                pass
            assert unfolded(file) == []
            assert rows(file, "SELECT count(*) FROM incidents") == [(AT_ONCE + 1,)]
        await hold_anew(store, file)


@runs
async def test_the_small_end_of_a_large_sync_has_it_folded_directly(file: Place) -> None:
    large = Phone("large")
    while len(large.lines) <= AT_ONCE + 1:
        large.write("safety.noted", f"case-{len(large.lines) // 40}")
    async with opened(file, large) as store:
        await store.take_batch(large.device, large.raws[:-1], START, replace(HEAD, waiting=len(large.lines)))
        await store.take_batch(large.device, large.raws[-1:], START, replace(HEAD, waiting=1))
        timer = store._later._timer
        assert timer is None or timer.when() - asyncio.get_running_loop().time() <= PAUSE_S
