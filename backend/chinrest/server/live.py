"""Tells the desk that something changed, as server-sent events (HTML Living Standard, 9.2). A message says
only of what kind; what changed is asked for in the usual way, by the usual rules. A person with a site hears
of nothing that happens at other sites."""

import asyncio
import time
from collections import Counter
from collections.abc import AsyncGenerator, Iterator
from contextlib import contextmanager
from typing import Annotated, get_args

import msgspec
from litestar import get
from litestar.params import QueryParameter
from litestar.response import ServerSentEvent, ServerSentEventMessage

from chinrest.server.context import Call, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import signed_in, staff_now
from chinrest.server.pages import PACKED
from chinrest.server.scope import WITHIN
from chinrest.server.wire import Changed, DeskKind
from chinrest.store import StoreError
from chinrest.store.engines import Hearing

STREAMS_EACH = 4
"""Open at once for one person and process: a browser holds six connections to a server, and the desk needs
some to ask with. A page that is out of sight closes its own."""

BEAT_S = 15.0
PAUSE_S = 1.0
"""Between two messages, so that a busy hour is one message a second and not one a batch."""

LONGEST_S = 3600
"""A stream ends by then at the latest, and the page opens another."""

DESK_KINDS: tuple[DeskKind, ...] = get_args(DeskKind)


class Live:
    """The streams that this process holds open."""

    def __init__(self) -> None:
        self.closing = False
        self._open: Counter[str] = Counter()
        self._hearing: set[Hearing] = set()

    def full(self, person: str) -> bool:
        return self._open[person] >= STREAMS_EACH

    def close(self) -> None:
        """End every stream, so that the server needs not wait for any."""
        self.closing = True
        for hearing in self._hearing:
            hearing.hurry()

    @contextmanager
    def held(self, person: str, hearing: Hearing) -> Iterator[None]:
        self._open[person] += 1
        self._hearing.add(hearing)
        try:
            yield
        finally:
            self._hearing.discard(hearing)
            self._open[person] -= 1
            if not self._open[person]:
                del self._open[person]


def _live(request: Call) -> Live:
    live: Live = request.app.state.live
    return live


@get("/api/changes", guards=[signed_in], opt={PACKED: True, **WITHIN})
async def changes(
    request: Call, seconds: Annotated[int, QueryParameter(ge=0, le=LONGEST_S)] = LONGEST_S
) -> ServerSentEvent:
    """Events: `changed` with a Changed, as kinds of things change; `beat` at the beginning and every 15
    seconds. It ends with the session, with the server, and after `seconds`. At most four at once a person."""
    if _live(request).full(staff_of(request).id):
        why = "as many pages of yours update by themselves already; close one of them"
        raise RequestError(429, "too_many", "session", why, {"Retry-After": "60"})
    return ServerSentEvent(_said(request, seconds), headers={"Cache-Control": "no-store"})


def _message(event: str, data: object) -> ServerSentEventMessage:
    return ServerSentEventMessage(event=event, data=msgspec.json.encode(data).decode())


async def _still_signed_in(request: Call) -> bool:
    """As the same person with the same role and site."""
    try:
        return await staff_now(request) == staff_of(request)
    except StoreError:  # it is logged there; the page asks again, and is told
        return False


async def _said(request: Call, seconds: int) -> AsyncGenerator[ServerSentEventMessage, None]:
    live, staff, ends = _live(request), staff_of(request), time.monotonic() + seconds
    with store_of(request).hear() as hearing, live.held(staff.id, hearing):
        yield _message("beat", {})
        spoken = time.monotonic()
        while not live.closing and time.monotonic() < ends:
            kinds = await hearing.next(min(spoken + BEAT_S, ends) - time.monotonic())
            if live.closing or not await _still_signed_in(request):
                return
            shown = [kind for kind in DESK_KINDS if kind in kinds]
            if shown:
                yield _message("changed", Changed(kinds=shown))
                spoken = time.monotonic()
                await asyncio.sleep(PAUSE_S)
            elif time.monotonic() >= spoken + BEAT_S:
                yield _message("beat", {})
                spoken = time.monotonic()


ROUTES = [changes]
