"""A look into, or a write to, the store of a server that runs, by another connection to the same database."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import TypeVar

from chinrest.store import Store
from chinrest.store.engines import Place

T = TypeVar("T")


def at(place: Place, work: Callable[[Store], Awaitable[T]]) -> T:
    async def run() -> T:
        store = await Store.open(place)
        try:
            return await work(store)
        finally:
            await store.close()

    return asyncio.run(run())
