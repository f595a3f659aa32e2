"""Who hears is told of what kind of thing changed, once it is committed, and by whichever process."""

import pytest
from invented import Phone
from stored import a_case, opened, runs, send

from chinrest.store import Store, StoreError
from chinrest.store.engines import Hearing, Place, is_postgresql

LONG_S = 30.0  # a bound for a machine that stands still, not a time that anything takes
QUIET_S = 0.3


async def begun(hearing: Hearing, file: Place) -> None:
    """Where the database itself tells, the first thing heard is that it is listened to."""
    if is_postgresql(file):
        await heard(hearing, "sessions")


async def heard(hearing: Hearing, kind: str) -> set[str]:
    """All that is told until this kind is."""
    told: set[str] = set()
    while kind not in told:
        now = await hearing.next(LONG_S)
        assert now, f"{kind} was never told, only {told}"
        told |= now
    return told


@runs
async def test_lines_and_devices_are_told_and_a_reading_is_not(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        with store.hear() as hearing:
            await begun(hearing, file)
            await send(store, phone, phone.raws)
            assert await heard(hearing, "lines") == {"lines", "devices"}
            # the same again changes no line
            await send(store, phone, phone.raws)
            assert await heard(hearing, "devices") == {"devices"}
            await store.sites()
            assert await hearing.next(QUIET_S) == frozenset()


@runs
async def test_a_pack_that_comes_is_approved_or_recalled_is_told_and_one_that_is_there_is_not(
    file: Place,
) -> None:
    async with opened(file, a_case()) as store:
        with store.hear() as hearing:
            await begun(hearing, file)
            digest = await store.put_pack(b'{"version": "1"}', 1)
            assert await heard(hearing, "packs") == {"packs"}
            await store.put_pack(b'{"version": "1"}', 2)
            assert await hearing.next(QUIET_S) == frozenset()
            await store.approve_pack(digest, "lead", ["north"], "", 3)
            assert await heard(hearing, "packs") == {"packs"}
            await store.recall_pack(digest, "lead", "an error", 4)
            assert await heard(hearing, "packs") == {"packs"}


@runs
async def test_what_is_undone_is_told_to_nobody(file: Place) -> None:
    phone, stranger = a_case(), Phone("stranger")
    stranger.write("case.opened", "c2")
    async with opened(file, phone) as store:
        with store.hear() as hearing:
            await begun(hearing, file)

            async def undone(connection: object) -> None:
                from chinrest.store.engines import note_change

                note_change(connection, "reviews")  # type: ignore[arg-type]  # any connection of the store's
                raise StoreError("value", "test", "undone")

            with pytest.raises(StoreError):
                await store._engine.write(undone)
            with pytest.raises(StoreError):
                await send(store, stranger, stranger.raws)
            assert await hearing.next(QUIET_S) == frozenset()
            await send(store, phone, phone.raws)
            assert await heard(hearing, "lines") == {"lines", "devices"}


@runs
async def test_who_stops_hearing_is_forgotten_and_a_slow_one_is_told_once(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        with store.hear() as gone:
            await begun(gone, file)
        with store.hear() as hearing:
            for raw in phone.raws:
                await send(store, phone, [raw])
            assert await heard(hearing, "lines") == {"lines", "devices"}
            assert await gone.next(QUIET_S) == frozenset()


@pytest.mark.several_servers
@runs
async def test_another_process_is_heard_through_the_database(file: Place) -> None:
    """Two stores with connections of their own stand for two processes; `test_store_two_servers` has real
    ones."""
    phone = a_case()
    async with opened(file, phone) as one:
        two = await Store.open(file)
        with two.hear() as hearing:
            await begun(hearing, file)
            await send(one, phone, phone.raws)
            assert "lines" in await heard(hearing, "lines")
        await two.close()
