"""Stands between the browser and one server: counts bytes and requests, and can shut or cut the way.

All that is measured goes through one of these, so that everybody's bytes are counted alike, headers included.
"""

import asyncio
import re
import threading
from dataclasses import dataclass, field
from types import TracebackType

CHUNK_BYTES = 256 * 1024
REQUEST = re.compile(rb"(?:GET|POST|PUT|DELETE|HEAD|OPTIONS) /[^ \r\n]* HTTP/1\.1\r\n")


@dataclass
class Traffic:
    """Bytes as they go over the wire below TCP's own."""

    up_bytes: int = 0
    down_bytes: int = 0
    requests: int = 0


@dataclass
class Relay:
    """`port`: where the browser connects. `shut`: new connections are dropped, standing ones are cut."""

    target_port: int
    port: int = 0
    traffic: Traffic = field(default_factory=Traffic)
    _cut_after_bytes: int | None = None
    _shut: bool = False
    _writers: set[asyncio.StreamWriter] = field(default_factory=set)

    def __enter__(self) -> "Relay":
        ready = threading.Event()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._run, args=(ready,), daemon=True)
        self._thread.start()
        ready.wait(10)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        asyncio.run_coroutine_threadsafe(self._end(), self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    def since(self) -> Traffic:
        """What went through since this was last asked."""
        seen, self.traffic = self.traffic, Traffic()
        return seen

    def turn_to(self, target_port: int) -> None:
        """New connections go to another server, as if it stood at this origin; standing ones are cut."""
        self.target_port = target_port
        self._loop.call_soon_threadsafe(self._cut)

    def shut(self, shut: bool) -> None:
        self._shut = shut
        if shut:
            self._loop.call_soon_threadsafe(self._cut)

    def cut_after(self, up_bytes: int) -> None:
        """Once, as soon as so many more bytes have come up: everything is cut, and the way stays shut."""
        self._cut_after_bytes = self.traffic.up_bytes + up_bytes

    @property
    def is_shut(self) -> bool:
        return self._shut

    def _run(self, ready: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)

        async def listen() -> None:
            server = await asyncio.start_server(self._serve, "127.0.0.1", 0, limit=CHUNK_BYTES)
            self.port = server.sockets[0].getsockname()[1]
            ready.set()

        self._loop.run_until_complete(listen())
        self._loop.run_forever()

    async def _end(self) -> None:
        self._cut()
        await asyncio.gather(*asyncio.all_tasks() - {asyncio.current_task()})

    def _cut(self) -> None:
        for writer in self._writers:
            writer.transport.abort()

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if self._shut:
            writer.transport.abort()
            return
        there, back = await asyncio.open_connection("127.0.0.1", self.target_port, limit=CHUNK_BYTES)
        ends = {writer, back}
        self._writers |= ends
        try:
            await asyncio.gather(self._up(reader, back), self._down(there, writer))
        except OSError:
            pass  # one of the ends has gone, which is the other's end too
        finally:
            self._writers -= ends
            for end in ends:
                end.transport.abort()

    async def _up(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        tail = b""
        while chunk := await reader.read(CHUNK_BYTES):
            known = len(REQUEST.findall(tail))
            self.traffic.requests += len(REQUEST.findall(tail + chunk)) - known
            tail = (tail + chunk)[-512:]
            self.traffic.up_bytes += len(chunk)
            limit = self._cut_after_bytes
            if limit is not None and self.traffic.up_bytes >= limit:
                self._cut_after_bytes, self._shut = None, True
                self._cut()
                return
            writer.write(chunk)
            await writer.drain()
        writer.write_eof()

    async def _down(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while chunk := await reader.read(CHUNK_BYTES):
            self.traffic.down_bytes += len(chunk)
            writer.write(chunk)
            await writer.drain()
        writer.write_eof()
