"""A large batch is stored, with its chain, and answered; its new cases are folded directly afterwards, and
nobody reads of any before that."""

import asyncio
from collections.abc import Awaitable, Callable
from hashlib import sha256
from typing import Any

import pytest
from invented import START, Phone
from msgspec.structs import replace
from stored import HEAD, folds, meddle, opened, rows, runs, said, send, stored_raws
from structlog.testing import capture_logs
from test_store_erasing import reviewed

import chinrest.store.folds
import chinrest.store.refolding
from chinrest.log.amendments import Standing
from chinrest.log.cases import CaseFact, fold_case
from chinrest.log.erasure_events import ErasedIncident
from chinrest.log.incidents import IncidentFact, fold_loose
from chinrest.log.review_events import IncidentCommented
from chinrest.log.write import new_salt
from chinrest.store import Store
from chinrest.store.counting import Period
from chinrest.store.engines import Place, is_postgresql
from chinrest.store.erasing import Erased, Order
from chinrest.store.folds import RULES
from chinrest.store.refolding import AT_ONCE
from chinrest.store.review import IncidentFilter
from chinrest.store.scope import Scope
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


async def unread(store: Store, site: str | None) -> int:
    """How many cases the desk is told of that could not be made of their lines."""
    return (await store.within(Scope(site=site)).incident_counts(IncidentFilter(), "2026-01-01")).unread_cases


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


def failing(monkeypatch: pytest.MonkeyPatch, broken: str) -> list[str]:
    """Folding this case fails for as long as it stands in the list."""
    cases = [broken]

    def fold(case: str, standing: list[Standing]) -> CaseFact:
        if case in cases:
            raise ValueError("words of a patient")
        return fold_case(case, standing)

    monkeypatch.setattr(chinrest.store.folds, "fold_case", fold)
    return cases


@runs
async def test_a_case_that_cannot_be_folded_costs_no_line_and_no_other_case(
    file: Place, few: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = a_day("one", 3)
    cases = failing(monkeypatch, "one-1")
    async with opened(file, phone) as store:
        assert said(await send(store, phone, phone.raws)) == ["stored"] * len(phone.lines)
        with capture_logs() as logs:
            assert (await store.incidents()).total == 2
        [told] = [entry for entry in logs if entry["event"] == "a case cannot be folded"]
        assert (told["log_level"], told["case"]) == ("error", "one-1")
        assert "words of a patient" not in str(told)
        assert rows(file, "SELECT case_id, failed FROM unfolded") == [("one-1", True)]
        assert await unread(store, None) == await unread(store, "north") == 1
        assert await unread(store, "south") == 0
        late = phone.write("safety.noted", "one-1", note="late")
        assert said(await send(store, phone, [late.raw])) == ["stored"]
        assert (await store.incidents()).total == 2
        assert stored_raws(file, phone.device) == phone.raws
        # lines of it come again, after what was wrong is mended
        cases.clear()
        late = phone.write("step.done", "one-1")
        assert said(await send(store, phone, [late.raw])) == ["stored"]
        assert (await store.incidents()).total == 4
        assert await unread(store, None) == 0
        assert unfolded(file) == []
        await hold_anew(store, file)


@pytest.mark.parametrize("mended_by", ["more lines", "a start", "a start by new rules", "a refold"])
@runs
async def test_phones_that_synced_before_it_could_be_folded_get_all_of_it_afterwards(
    file: Place, few: None, monkeypatch: pytest.MonkeyPatch, mended_by: str
) -> None:
    one, two = a_day("one"), Phone("two")
    open_case = one.raws[-3:]
    cases = failing(monkeypatch, "one-1")
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        before = await store.pull("north", two.device, None, 10**6)
        assert before.lines == []
        cases.clear()
        if mended_by == "more lines":
            open_case.append(one.write("step.done", "one-1").raw)
            await send(store, one, open_case[-1:])
            assert (await store.pull("north", two.device, before.cursor, 10**6)).lines == open_case
        if mended_by == "a refold":
            await store.refold()
            assert (await store.pull("north", two.device, before.cursor, 10**6)).lines == open_case
    if mended_by == "a start by new rules":
        meddle(file, f"UPDATE house SET folds = {RULES - 1}")
    if mended_by.startswith("a start"):
        async with opened(file) as store:
            assert (await store.pull("north", two.device, before.cursor, 10**6)).lines == open_case


@runs
@pytest.mark.parametrize("known", [False, True], ids=["a new case", "a case that was folded before"])
async def test_a_small_batch_is_taken_though_a_case_of_it_cannot_be_folded(
    file: Place, known: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing that came is held up by a fault of ours: no line behind it, no other case, no later batch."""
    phone = a_day("one", 3)
    first = 1 if known else 0
    async with opened(file, phone) as store:
        if known:
            await send(store, phone, phone.raws[: len(a_day("one", 2).raws)])
        cases = failing(monkeypatch, "one-0")
        phone.write("safety.noted", "one-0", note="late")
        for part in (phone.raws[:5], phone.raws[5:]):
            assert set(said(await send(store, phone, part))) <= {"stored", "repeat"}
        assert stored_raws(file, phone.device) == phone.raws
        assert (await store.incidents()).total == 2 + first
        assert rows(file, "SELECT case_id, failed FROM unfolded") == [("one-0", True)]
        assert await unread(store, None) == await unread(store, "north") == 1
        await store.refold()
        assert (await store.incidents()).total == 2
        assert await unread(store, None) == 1
        cases.clear()
        phone.write("step.done", "one-0")
        await send(store, phone, phone.raws[-1:])
        assert ((await store.incidents()).total, await unread(store, None)) == (4, 0)
        await hold_anew(store, file)


@runs
async def test_a_phone_is_told_what_others_wrote_in_its_case_that_could_not_be_folded(
    file: Place, few: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = a_day("one"), Phone("two")
    cases = failing(monkeypatch, "one-1")
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        await store.settle()
        two.write("safety.noted", "one-1")
        await send(store, two, two.raws)
        assert await unread(store, "north") == 1
        assert await unread(store, "south") == 0
        cases.clear()
        two.write("step.done", "one-1")
        await send(store, two, two.raws[1:])
        async with store.one_state(own=one.device):
            assert (await store.pull("north", one.device, None, 10**6)).lines == two.raws


@runs
async def test_what_could_not_be_folded_is_tried_when_the_store_is_opened(
    file: Place, few: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = a_day("one")
    cases = failing(monkeypatch, "one-0")
    async with opened(file, phone) as store:
        await store.take_batch(phone.device, phone.raws, START, HEAD)
        await store.settle()
    async with opened(file) as store:
        assert unfolded(file) == ["one-0"]
        assert (await store.incidents()).total == 1
    cases.clear()
    async with opened(file) as store:
        assert unfolded(file) == []
        assert (await store.incidents()).total == 2


def failing_outside(monkeypatch: pytest.MonkeyPatch, phone: Phone) -> list[str]:
    """Folding what this phone noted outside any case fails for as long as it stands in the list."""
    devices = [phone.device]

    def fold(standing: list[Standing], erased: list[ErasedIncident]) -> list[IncidentFact]:
        if any(line.kept.envelope.device in devices for line in standing):
            raise ValueError("words of a patient")
        return fold_loose(standing, erased)

    monkeypatch.setattr(chinrest.store.folds, "fold_loose", fold)
    return devices


async def unread_devices(store: Store, site: str | None) -> int:
    bound = store.within(Scope(site=site))
    return (await bound.incident_counts(IncidentFilter(), "2026-01-01")).unread_devices


@pytest.mark.parametrize("mended_by", ["more lines", "a start"])
@pytest.mark.parametrize("known", [False, True], ids=["nothing folded yet", "folded before"])
@pytest.mark.parametrize("size", ["small", "large"])
@runs
async def test_an_event_outside_any_case_that_cannot_be_folded_costs_no_line(
    file: Place, size: str, known: bool, mended_by: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(chinrest.store.refolding, "AT_ONCE", FEW if size == "large" else AT_ONCE)
    phone, other = a_day("one"), Phone("other")
    other.write("safety.noted", note="from the other home")
    first = 0
    async with opened(file, phone, other) as store:
        await send(store, other, other.raws)
        if known:
            first = 1
            early = phone.write("safety.noted", note="early")
            await send(store, phone, phone.raws)
            phone.write("safety.noted", "one-late")
        devices = failing_outside(monkeypatch, phone)
        phone.write("safety.noted", note="from home")
        phone.write("step.done", "one-1")
        with capture_logs() as logs:
            assert set(said(await send(store, phone, phone.raws))) <= {"stored", "repeat"}
        [told] = [entry for entry in logs if entry["log_level"] == "error"]
        assert told["device"] == phone.device
        assert "words of a patient" not in str(told)
        assert stored_raws(file, phone.device) == phone.raws
        # what could be read of it before stands, and so do the cases and the other's
        listed = await store.incidents()
        assert listed.total == 3 + 2 * first
        assert known == any(row.line == early.envelope.id for row in listed.rows if known)
        assert await unread_devices(store, None) == await unread_devices(store, "north") == 1
        assert (await unread_devices(store, "south"), await unread(store, None)) == (0, 0)
        # and later batches, of cases and of none
        phone.write("safety.noted", note="again from home")
        phone.write("step.done", "one-1")
        assert said(await send(store, phone, phone.raws[-2:])) == ["stored", "stored"]
        assert await unread_devices(store, None) == 1
        await store.refold()
        assert ((await store.incidents()).total, await unread_devices(store, None)) == (3 + first, 1)
        devices.clear()
        if mended_by == "more lines":
            phone.write("safety.noted", note="and again")
            await send(store, phone, phone.raws[-1:])
    async with opened(file) as store:
        assert (await store.incidents()).total == 5 + 2 * first + (mended_by == "more lines")
        assert await unread_devices(store, None) == 0
        assert unfolded(file) == []
        await hold_anew(store, file)


@runs
async def test_what_a_start_cannot_fold_outside_any_case_stays_written_down(
    file: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = Phone("one")
    phone.write("safety.noted", note="from home")
    failing_outside(monkeypatch, phone)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
    async with opened(file) as store:
        assert await unread_devices(store, None) == 1
        assert await unread_devices(store, "south") == 0


@runs
async def test_what_could_not_be_folded_outside_any_case_is_not_erased(
    file: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody knows whether an incident is among it."""
    phone, other = Phone("one"), Phone("other")
    for each in (phone, other):
        each.write("safety.noted", practice=True)
    by_age = Order(by="olga", rule="age", years=1, why="the rule")
    async with opened(file, phone, other) as store:
        devices = failing_outside(monkeypatch, phone)
        await send(store, other, other.raws)
        await send(store, phone, [*phone.raws, b"not a line"])
        found = {(one.device, one.held): one for one in await store.loose_before(START + YEAR_MS)}
        assert set(found) == {
            (phone.device, None),  # what was kept aside
            (phone.device, "not_folded"),
            (other.device, None),
        }
        for going in ({Erased(), Erased(refused=1), Erased(bodies=1)}, {Erased()}):
            done = {await store.erase_loose(one, by_age, START + YEAR_MS) for one in found.values()}
            assert done == going
        assert stored_raws(file, phone.device) == phone.raws
        assert rows(file, "SELECT device FROM lines WHERE body IS NULL") == [(other.device,)]
        devices.clear()
        phone.write("safety.noted", practice=True)
        await send(store, phone, phone.raws[-1:])
        [due] = await store.loose_before(START + YEAR_MS)
        assert (await store.erase_loose(due, by_age, START + YEAR_MS)).bodies == 2


@pytest.mark.parametrize("case", ["one-0", None], ids=["of a case", "of no case"])
@pytest.mark.parametrize("mended_by", ["more lines", "a start", "a refold"])
@runs
async def test_a_closed_review_is_opened_by_late_lines_though_its_incident_could_not_be_folded_meanwhile(
    file: Place, mended_by: str, case: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = Phone("one")
    event = phone.write("safety.noted", case, note="of it").envelope.id
    amended: Any = {"line": event, "body": None, "why": "late"}
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        broken = failing(monkeypatch, case) if case else failing_outside(monkeypatch, phone)
        await store.refold()
        assert (await store.incidents()).total == 0
        broken.clear()
        if mended_by == "a refold":
            await store.refold()
        if mended_by == "more lines":
            phone.write("safety.noted", case)
            await send(store, phone, phone.raws[-1:])
    async with opened(file) as store:
        assert unfolded(file) == []
        late = mended_by == "more lines" and case is not None
        state = "in_review" if late else "closed"
        assert rows(file, "SELECT case_id, state, late FROM reviews") == [(case, state, late)]
        await hold_anew(store, file)
        phone.write("line.amended", case, **amended)
        await send(store, phone, phone.raws[-1:])
        [row] = [row for row in (await store.incidents()).rows if row.line == event]
        assert (row.late, row.withdrawn) == (True, True)


@runs
async def test_a_case_that_could_not_be_folded_is_tried_when_the_pack_that_it_followed_comes(
    file: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack = b'{"version":"1","clinic":"invented"}'
    phone, other = Phone("one"), Phone("other")
    phone.write("case.opened", "one-0")
    phone.pack = sha256(pack).hexdigest()
    phone.write("series.laid", "one-0", protocol="p", layout="l", eyes=["right"])
    async with opened(file, phone, other) as store:
        await send(store, phone, phone.raws)
        cases = failing(monkeypatch, "one-0")
        phone.write("safety.noted", "one-0")
        await send(store, phone, phone.raws[-1:])
        before = await store.pull("north", other.device, None, 10**6)
        cases.clear()
        await store.put_pack(pack, START)
        assert unfolded(file) == []
        assert (await store.incidents()).total == 1
        assert (await store.pull("north", other.device, before.cursor, 10**6)).lines == phone.raws
        await hold_anew(store, file)
