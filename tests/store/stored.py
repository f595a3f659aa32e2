"""A store for tests, filled by invented phones, and a look into its tables past its door."""

import asyncio
import functools
import json
import sqlite3
from collections.abc import AsyncIterator, Callable, Coroutine, Iterable, Sequence
from contextlib import asynccontextmanager, closing
from hashlib import sha256
from typing import Any, ParamSpec

import psycopg
from invented import START, Phone

from chinrest.log.answers import LineAnswer
from chinrest.store import Store
from chinrest.store.engines import Place
from chinrest.store.rows import BatchHead
from chinrest.store.tables import metadata

P = ParamSpec("P")

SITES = {"north": "North clinic", "south": "South clinic"}
HEAD = BatchHead(head_seq=0, head_sha256="0" * 64, signature=None, waiting=0, now=START + 250, app="0.1.0")


def runs(test: Callable[P, Coroutine[Any, Any, None]]) -> Callable[P, None]:
    """Run an asynchronous test to its end."""

    @functools.wraps(test)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        asyncio.run(test(*args, **kwargs))

    return run


@asynccontextmanager
async def opened(file: Place, *phones: Phone, site: str = "north") -> AsyncIterator[Store]:
    """The store, with these phones enrolled if they are not yet."""
    store = await Store.open(file, sites=SITES)
    try:
        there = {device.id for device in await store.devices()}
        for phone in phones:
            if phone.device not in there:
                await enrol(store, phone, site)
        yield store
    finally:
        await store.close()


async def enrol(store: Store, phone: Phone, site: str = "north") -> str:
    code = await store.add_code(site, phone.name, START, START + 900_000)
    token, _site = await store.enrol(code.code, phone.device, "AAAA", phone.name, START)
    return token


async def send(store: Store, phone: Phone, raws: Iterable[bytes], at: int = START) -> list[LineAnswer]:
    return await store.take_batch(phone.device, list(raws), at, HEAD)


def said(answers: Sequence[LineAnswer]) -> list[str]:
    """Each answer in a word: its status, or the code of its refusal."""
    return [answer.code or answer.status for answer in answers]


def rows(file: Place, query: str, *values: object) -> list[tuple[Any, ...]]:
    if isinstance(file, str):
        with psycopg.connect(file) as database:
            return [tuple(row) for row in database.execute(query.replace("?", "%s"), values).fetchall()]
    with closing(sqlite3.connect(file)) as embedded:
        return embedded.execute(query, values).fetchall()


def meddle(file: Place, *statements: str) -> None:
    """Change a database past the store's door."""
    if isinstance(file, str):
        with psycopg.connect(file) as database:
            for statement in statements:
                database.execute(statement)
        return
    with closing(sqlite3.connect(file)) as embedded, embedded:
        for statement in statements:
            embedded.execute(statement)


def stored_raws(file: Place, device: str) -> list[bytes]:
    """The device's lines as they stand in the file, by sequence."""
    found = rows(file, "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq", device)
    return [envelope + b"\t" + body for envelope, body in found]


def folds(file: Place) -> tuple[list[tuple[Any, ...]], ...]:
    """The folded tables, but for where phones find what (that hangs on when lines came)."""
    return (
        rows(
            file, "SELECT case_id, site, code, opened, state, outcome, practice FROM cases ORDER BY case_id"
        ),
        rows(file, "SELECT * FROM incidents ORDER BY line"),
        rows(file, "SELECT * FROM tallies ORDER BY case_id, kind, key, sub"),
        rows(file, "SELECT * FROM sums ORDER BY kind, key, sub, site, month"),
        rows(file, "SELECT * FROM reviews ORDER BY incident"),
        rows(file, "SELECT * FROM review_lines ORDER BY line"),
    )


def everything(file: Place) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table."""
    tables = sorted(metadata.tables)
    return {table: sorted(rows(file, f"SELECT * FROM {table}"), key=repr) for table in tables}


SAFETY = b'{"salt":"s","what":"faint","reached_patient":true,"harm":null,"signs":[],"done":[],"told":[]}'
"""The body of a safety event."""


def a_case(name: str = "phone", lines: int = 8, case: str = "c1") -> Phone:
    phone = Phone(name)
    phone.write("case.opened", case)
    while len(phone.lines) < lines:
        phone.write("step.done", case, step=f"step_{len(phone.lines)}")
    return phone


def restored(phone: Phone, at: int, lines: int) -> Phone:
    """The same phone put back to its first `at` lines, then going on otherwise."""
    other = a_case(phone.name, at)
    other.at += 77
    for number in range(lines):
        other.write("step.done", "c1", step=f"other_{number}")
    return other


def altered(raw: bytes, **changes: object) -> bytes:
    """A line whose envelope says something else."""
    envelope, body = raw.split(b"\t")
    return json.dumps({**json.loads(envelope), **changes}, separators=(",", ":")).encode() + b"\t" + body


def envelope_hash(raw: bytes) -> str:
    return sha256(raw.split(b"\t")[0]).hexdigest()
