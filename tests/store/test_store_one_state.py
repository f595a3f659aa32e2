"""Several reads of one state: what others write meanwhile is not seen inside, and by everybody else it is."""

import asyncio

from stored import a_case, opened, runs, send

from chinrest.store.engines import Place


@runs
async def test_what_is_read_inside_is_of_one_state(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        begun = asyncio.Event()

        async def somebody_else() -> int:
            await begun.wait()
            await send(store, phone, phone.raws)
            return await store.position()

        other = asyncio.create_task(somebody_else())
        async with store.one_state():
            before = await store.position()
            begun.set()
            after = await other
            assert after == before + len(phone.raws)
            assert await store.position() == before
            assert await store.holds(phone.device) == []
        assert await store.position() == after
        assert await store.holds(phone.device) == [(1, len(phone.raws))]
