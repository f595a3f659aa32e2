"""What cannot be folded, a fault of ours, costs no line, no other case and no batch; the desk is told, and it
is tried again."""

from hashlib import sha256
from typing import Any

import pytest
from invented import START, Phone
from stored import HEAD, meddle, opened, rows, runs, said, send, stored_raws
from structlog.testing import capture_logs
from test_store_erasing import reviewed
from test_store_unfolded import FEW, YEAR_MS, a_day, few, hold_anew, unfolded

import chinrest.store.folds
import chinrest.store.incident_reviews
import chinrest.store.refolding
from chinrest.log.amendments import Standing
from chinrest.log.cases import CaseFact, fold_case
from chinrest.log.erasure_events import ErasedIncident
from chinrest.log.incidents import IncidentFact, fold_loose
from chinrest.log.reviews import Review, ReviewLine, fold_review
from chinrest.store import Store
from chinrest.store.engines import Place
from chinrest.store.erasing import Erased, Order
from chinrest.store.folds import RULES
from chinrest.store.refolding import AT_ONCE
from chinrest.store.review import IncidentFilter
from chinrest.store.scope import Scope

__all__ = ["few"]


async def unread(store: Store, site: str | None) -> int:
    """How many cases the desk is told of that could not be made of their lines."""
    return (await store.within(Scope(site=site)).incident_counts(IncidentFilter(), "2026-01-01")).unread_cases


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


@pytest.mark.parametrize("case", ["one-0", None], ids=["of a case", "of no case"])
@pytest.mark.parametrize("mended_by", ["more lines", "a start", "a start by new rules", "a refold"])
@runs
async def test_a_review_that_cannot_be_folded_costs_no_line_and_keeps_no_server_from_starting(
    file: Place, mended_by: str, case: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone, other = Phone("one"), Phone("other")
    event = phone.write("safety.noted", case, note="of it").envelope.id
    second = other.write("safety.noted", case and "other-0").envelope.id
    broken = [event]

    def fold(incident: str, kept: list[ReviewLine], last: int | None) -> Review:
        if incident in broken:
            raise ValueError("words of a patient")
        return fold_review(incident, kept, last)

    def late() -> dict[str, bool]:
        return {incident: bool(said) for incident, said in rows(file, "SELECT incident, late FROM reviews")}

    async with opened(file, phone, other) as store:
        for each in (phone, other):
            await send(store, each, each.raws)
        await reviewed(store)
        monkeypatch.setattr(chinrest.store.incident_reviews, "fold_review", fold)
        for each, of, line in ((phone, case, event), (other, case and "other-0", second)):
            each.write("line.amended", of, line=line, body=None, why="late")
            with capture_logs() as logs:
                assert said(await send(store, each, each.raws[-1:])) == ["stored"]
            assert "words of a patient" not in str(logs)
        assert late() == {event: False, second: True}
        assert await unread(store, None) + await unread_devices(store, None) == 1
    if mended_by == "a start by new rules":
        meddle(file, f"UPDATE house SET folds = {RULES - 1}")
    async with opened(file) as store:
        assert await unread(store, None) + await unread_devices(store, None) == 1
        broken.clear()
        if mended_by == "more lines":
            phone.write("safety.noted", case)
            await send(store, phone, phone.raws[-1:])
        if mended_by == "a refold":
            await store.refold()
    async with opened(file) as store:
        assert unfolded(file) == []
        assert late() == {event: True, second: True}
        await hold_anew(store, file)
