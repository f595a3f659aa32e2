"""Bounds the time that a request's head may take: a connection that sends none, or trickles one, is closed.

What comes after the head is `chinrest.server.patience`'s.
"""

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 20.0
"""From the connection's beginning, or from the end of the answer before."""
TOO_SLOW = b"HTTP/1.1 408 Request Timeout\r\nconnection: close\r\ncontent-length: 0\r\n\r\n"


class HeadPatience(H11Protocol):
    """One connection. uvicorn itself closes what is idle after an answer, but waits for ever for a first
    head, and for the rest of one that has begun."""

    head_s = HEAD_S
    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop()
        super().connection_lost(exc)

    def _watch(self) -> None:
        """The clock runs while a head is awaited, whatever comes of it."""
        if self.conn.their_state is not h11.IDLE:
            self._stop()
        elif self._late is None and not self.transport.is_closing():
            self._late = self.loop.call_later(self.head_s, self._close)

    def _stop(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _close(self) -> None:
        self._late = None
        if not self.transport.is_closing():
            self.transport.write(TOO_SLOW)
            self.transport.close()
