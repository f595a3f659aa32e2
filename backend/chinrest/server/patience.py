"""Bounds the time that a request's body may take: a sender that trickles holds a task and its memory."""

import asyncio
import time

from litestar.types import ASGIApp, HTTPReceiveMessage, Receive, Scope, Send
from litestar.types.asgi_types import WebSocketReceiveMessage

from chinrest.server.faults import RequestError

PAUSE_S = 30.0
WHOLE_S = 300.0
"""A full batch of lines (a megabyte before it is packed) still passes at 4 kB a second unpacked; what a phone
or a hub cannot send in this time, it sends again in smaller parts, and nothing is lost."""


class Patience:
    """No pause longer than `pause_s` between two parts of a body, and no body longer than `whole_s`."""

    def __init__(self, pause_s: float = PAUSE_S, whole_s: float = WHOLE_S) -> None:
        self.pause_s = pause_s
        self.whole_s = whole_s

    def __call__(self, app: ASGIApp) -> ASGIApp:
        async def run(scope: Scope, receive: Receive, send: Send) -> None:
            ends = time.monotonic() + self.whole_s
            whole = False

            async def hurried() -> HTTPReceiveMessage | WebSocketReceiveMessage:
                nonlocal whole
                if whole:  # what comes after a body is that the caller goes away, whenever it likes
                    return await receive()
                left = min(self.pause_s, ends - time.monotonic())
                try:
                    message = await asyncio.wait_for(receive(), max(left, 0.0))
                except TimeoutError:
                    why = "the body did not come in time; send it again, in smaller parts"
                    # the rest of the body may never come: this connection is of no more use
                    raise RequestError(408, "too_slow", "body", why, {"Connection": "close"}) from None
                whole = not (message["type"] == "http.request" and message.get("more_body", False))
                return message

            await app(scope, hurried, send)

        return run
