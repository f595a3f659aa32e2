"""What the lead reads around an approval: what a pack computes to, what differs from another."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import TypeVar

from litestar import get

from chinrest.pack.class_fits import HOW, class_fits
from chinrest.pack.compiled import decode_pack, pack_name
from chinrest.pack.difference.difference import PackDifference, difference
from chinrest.pack.faults import PackFaults
from chinrest.server.context import Call, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import lead
from chinrest.server.phones import Sha256
from chinrest.server.rollout_wire import PackFits
from chinrest.server.scope import WITHIN

T = TypeVar("T")
_one_by_one = ThreadPoolExecutor(1, thread_name_prefix="pack-views")
"""Seconds of work each: one at a time, in no thread that phones wait for."""


async def worked_out(work: Callable[[], T]) -> T:
    """In the one thread for such work, after what is already there."""
    return await asyncio.get_running_loop().run_in_executor(_one_by_one, work)


async def pack_bytes(request: Call, sha256: str) -> bytes:
    """Raises RequestError (404) where there is no such pack."""
    raw = await store_of(request).pack_bytes(sha256)
    if raw is None:
        raise RequestError(404, "pack_unknown", "sha256", "this server holds no such guidance pack")
    return raw


@lru_cache(maxsize=16)
def _fits(raw: bytes) -> PackFits:
    pack = decode_pack(raw)
    return PackFits(
        sha256=pack_name(raw),
        version=pack.version,
        clinic=pack.clinic,
        margin_mm=pack.limits.margin_mm,
        optics=[(optic.id, optic.name) for optic in pack.optics],
        rows=class_fits(pack),
        how=HOW,
    )


@lru_cache(maxsize=16)
def _difference(older: bytes, newer: bytes) -> PackDifference:
    return difference(decode_pack(older), decode_pack(newer))


def unreadable(error: PackFaults) -> RequestError:
    """A pack that is kept here and that this version cannot read."""
    fault = error.faults[0]
    return RequestError(409, "pack_unreadable", fault.key or "pack", fault.reason)


@get("/api/packs/{sha256:str}/fits", guards=[lead], opt=WITHIN)
async def fits(request: Call, sha256: Sha256) -> PackFits:
    """Turn, gap and words of every optic of a pack, for every kind of face that is planned for."""
    raw = await pack_bytes(request, sha256)
    try:
        return await worked_out(lambda: _fits(raw))
    except PackFaults as error:
        raise unreadable(error) from None


@get("/api/packs/{sha256:str}/difference/{older:str}", guards=[lead], opt=WITHIN)
async def pack_difference(request: Call, sha256: Sha256, older: Sha256) -> PackDifference:
    """All in which a pack differs from an older one, in words, the most dangerous first."""
    now, was = await pack_bytes(request, sha256), await pack_bytes(request, older)
    try:
        return await worked_out(lambda: _difference(was, now))
    except PackFaults as error:
        raise unreadable(error) from None


ROUTES = [fits, pack_difference]
