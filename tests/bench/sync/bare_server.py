"""The least that a server can do with lines: one gzip body into SQLite, durably, in one transaction.

An ASGI app. It checks nothing and answers only how many it holds.
"""

import os
import sqlite3
import zlib
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]

store = sqlite3.connect(os.environ["BARE_FILE"], isolation_level=None)
store.execute("PRAGMA journal_mode=WAL")
store.execute("PRAGMA synchronous=FULL")
store.execute("CREATE TABLE IF NOT EXISTS lines (run TEXT, seq INTEGER, raw BLOB, PRIMARY KEY (run, seq))")


def take(body: bytes, run: str, first: int) -> bytes:
    lines = zlib.decompress(body, wbits=16 + zlib.MAX_WBITS).split(b"\n")[:-1]
    store.execute("BEGIN IMMEDIATE")
    rows = ((run, first + i, line) for i, line in enumerate(lines))
    store.executemany("INSERT OR IGNORE INTO lines VALUES (?, ?, ?)", rows)
    store.execute("COMMIT")
    [(held,)] = store.execute("SELECT count(*) FROM lines WHERE run = ?", (run,)).fetchall()
    return b"%d" % held


async def app(
    scope: Message, receive: Callable[[], Awaitable[Message]], send: Callable[[Message], Awaitable[None]]
) -> None:
    if scope["type"] == "lifespan":
        while True:
            message = await receive()
            await send({"type": message["type"] + ".complete"})
            if message["type"] == "lifespan.shutdown":
                return
    body, more = bytearray(), True
    while more:
        message = await receive()
        body += message.get("body", b"")
        more = message.get("more_body", False)
    _, run, first = scope["path"].split("/")
    said = take(bytes(body), run, int(first))
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": said})
