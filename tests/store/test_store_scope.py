"""A store for somebody who sees one site: what is of the other is not there, on either engine."""

import pytest
from invented import START, Phone
from stored import SITES, a_case, opened, runs, send

from chinrest.log.review_events import IncidentCommented
from chinrest.log.write import new_salt
from chinrest.store import Store, StoreError
from chinrest.store.counting import Period
from chinrest.store.engines import Place, is_postgresql
from chinrest.store.review import IncidentFilter
from chinrest.store.scope import EVERYWHERE, Scope

NORTH, SOUTH = Scope(site="north"), Scope(site="south")
QUIET_S, LONG_S = 0.3, 30.0
TODAY = "2026-12-01"


def reporting(name: str, case: str) -> Phone:
    phone = a_case(name, lines=2, case=case)
    phone.write("safety.noted", case, note=f"of {name}")
    return phone


async def both(store: Store, file: Place, north: Phone, south: Phone) -> None:
    async with opened(file, south, site="south"):
        await send(store, north, north.raws)
        await send(store, south, south.raws)


def event_of(phone: Phone) -> str:
    return phone.lines[-1].envelope.id


@runs
async def test_lists_counts_and_pages_hold_one_site(file: Place) -> None:
    north, south = reporting("north", "c1"), reporting("south", "c2")
    async with opened(file, north) as store:
        await both(store, file, north, south)
        for scope, own, other, case, others in (
            (NORTH, north, south, "c1", "c2"),
            (SOUTH, south, north, "c2", "c1"),
        ):
            seen = store.within(scope)
            listed = await seen.incidents()
            assert [(row.line, row.site) for row in listed.rows] == [(event_of(own), scope.site)]
            assert listed.total == 1
            assert (await seen.incident_counts(IncidentFilter(), TODAY)).new == 1
            assert await seen.incident(event_of(own)) is not None
            assert await seen.incident(event_of(other)) is None
            assert await seen.like_incidents(event_of(own)) == []
            assert await seen.timeline(case) is not None
            assert await seen.timeline(others) is None
            assert not await seen.changed_after(case, 10**6)
            assert await seen.changed_after(others, 10**6)
            assert await seen.incident_changed_after(event_of(other), 10**6)
            assert [device.id for device in await seen.devices()] == [own.device]
            assert await seen.sites() == {scope.site: SITES[scope.site or ""]}
            counted = await seen.counted("event", "visit", Period(), ("site", "site"), START + 1)
            assert set(counted.procedures) == {scope.site}
            assert [device.site for device in counted.unheard] == [scope.site]
            assert len(await seen.case_counts("event", "visit", Period())) == 1
        assert (await store.within(EVERYWHERE).incidents()).total == 2


@runs
async def test_another_site_is_refused_alike_whether_it_is_there_or_not(file: Place) -> None:
    north, south = reporting("north", "c1"), reporting("south", "c2")
    async with opened(file, north) as store:
        await both(store, file, north, south)
        seen = store.within(NORTH)
        refusals = []
        for site in ("south", "nowhere"):
            for asked in (
                seen.incidents(site=site),
                seen.counted("event", "visit", Period(site=site), ("none", "none"), START),
                seen.craft_counts(Period(site=site)),
                seen.add_code(site, "x", START, START + 1),
                seen.withdraw_person(site, "AB", "x", "x", START),
                seen.invite("New", "officer", site, "x", START, START + 1),
                seen.invite("New", "officer", None, "x", START, START + 1),
            ):
                with pytest.raises(StoreError) as fault:
                    await asked
                refusals.append((fault.value.code, fault.value.why))
        assert set(refusals) == {("other_site", refusals[0][1])}


@runs
async def test_nothing_of_another_site_is_changed(file: Place) -> None:
    north, south = reporting("north", "c1"), reporting("south", "c2")
    async with opened(file, north) as store:
        await both(store, file, north, south)
        staff = {
            site: (await store.invite(f"Of {site}", "officer", site, "x", START, START + 1)).staff
            for site in ("north", "south", None)
        }
        seen, before = store.within(NORTH), await store.position()
        said = IncidentCommented(salt=new_salt(), incident=event_of(south), by="x", text="x")
        for code, asked in (
            ("incident_unknown", seen.decide(said, None, START)),
            ("not_enrolled", seen.withdraw(south.device, "x", "x", START)),
            ("staff_unknown", seen.withdraw_staff(staff["south"], "x", "x", START)),
            ("staff_unknown", seen.change_staff(staff[None], "lead", "north", "x", START)),
            ("staff_unknown", seen.readmit_staff(staff["south"], "x", "x", START)),
            ("staff_unknown", seen.invite_again(staff[None], "x", "x", START, START + 1)),
            ("staff_unknown", seen.turn_second_factor_off(staff["south"], "x", "x", START)),
            ("other_site", seen.change_staff(staff["north"], "lead", "south", "x", START)),
            ("other_site", seen.change_staff(staff["north"], "lead", None, "x", START)),
            ("device_unknown", seen.refused_lines(south.device)),
        ):
            with pytest.raises(StoreError) as fault:
                await asked
            assert fault.value.code == code
        assert await store.position() == before
        assert [account.site for account in await seen.accounts()] == ["north"]


@runs
async def test_a_case_that_two_sites_wrote_in_is_seen_whole_by_both(file: Place) -> None:
    north, south = reporting("north", "c1"), reporting("south", "c2")
    south.write("step.done", "c1", step="seen_here")
    async with opened(file, north) as store:
        await both(store, file, north, south)
        stories = [await store.within(scope).timeline("c1") for scope in (NORTH, SOUTH)]
        assert stories[0] is not None
        assert stories[0] == stories[1]
        assert {entry.device for entry in stories[0].entries} == {north.device, south.device}
        assert await store.within(SOUTH).incident(event_of(north)) is not None
        assert await store.within(NORTH).timeline("c2") is None


@runs
async def test_what_another_site_reports_in_a_sites_case_is_in_its_list(file: Place) -> None:
    north, south = reporting("north", "c1"), Phone("south")
    south.write("safety.noted", "c1", note="of south")
    async with opened(file, north) as store:
        await both(store, file, north, south)
        assert {row.site for row in (await store.within(NORTH).incidents()).rows} == {"north", "south"}
        assert {row.site for row in (await store.within(SOUTH).incidents()).rows} == {"south"}


@runs
async def test_only_what_changes_at_a_site_is_told_there(file: Place) -> None:
    north, south = reporting("north", "c1"), reporting("south", "c2")
    async with opened(file, north) as store, opened(file, south, site="south"):
        with store.within(NORTH).hear() as at_north, store.within(SOUTH).hear() as at_south:
            if is_postgresql(file):  # the first thing heard is that it is listened to
                for hearing in (at_north, at_south):
                    assert "sessions" in await hearing.next(LONG_S)
            await send(store, north, north.raws)
            told: set[str] = set()
            while told != {"lines", "devices"}:
                now = await at_north.next(LONG_S)
                assert now
                told |= now
            assert await at_south.next(QUIET_S) == frozenset()
            said = IncidentCommented(salt=new_salt(), incident=event_of(north), by="x", text="x")
            await store.decide(said, None, START)
            assert await at_north.next(LONG_S) == {"reviews"}
            assert await at_south.next(QUIET_S) == frozenset()
            # whoever is signed in, anywhere, is told that sessions changed: theirs may have ended
            await store.end_session("x")
            assert await at_south.next(LONG_S) == {"sessions"}
            # a case that both wrote in concerns both
            south.write("safety.noted", "c1", note="of south")
            await send(store, south, south.raws)
            while "lines" not in await at_north.next(LONG_S):
                pass
