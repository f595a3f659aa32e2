"""Refused lines of which a hub has not even the bytes left: they were too large to keep, or erased since. A
server beyond that lacks them as well could never go on from them, and would call no later line of that phone
final: so the hub's signed word of each stub travels, and leaves a stub there."""

from collections.abc import Sequence
from typing import cast, get_args

from msgspec.structs import replace
from sqlalchemy import ColumnElement, exists, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.answers import RefusalCode
from chinrest.log.line import Claim, LineError, is_sha256
from chinrest.log.signing import sign
from chinrest.log.stub_word import StubWord, stub_text
from chinrest.store.lines import chunks
from chinrest.store.tables import lines, refused, stubs


async def words_of(connection: AsyncConnection, device: str, after: int, upto: int) -> list[StubWord]:
    """Of the device's stubs beyond `after` and up to `upto` of which no bytes are here; not signed yet."""
    here: ColumnElement[bool] = exists().where(
        refused.c.device == stubs.c.device,
        refused.c.envelope_sha256 == stubs.c.envelope_sha256,
        refused.c.raw.is_not(None),
    )
    found = await connection.execute(
        select(stubs)
        .where(stubs.c.device == device, stubs.c.seq > after, stubs.c.seq <= upto, ~here)
        .order_by(stubs.c.seq)
    )
    return [
        StubWord(seq=row.seq, envelope_sha256=row.envelope_sha256, prev=row.prev, code=row.code, signature="")
        for row in found
    ]


def signed(device: str, words: Sequence[StubWord], key: str) -> list[StubWord]:
    return [replace(word, signature=sign(key, stub_text(device, word))) for word in words]


async def as_refused(
    connection: AsyncConnection, device: str, words: Sequence[StubWord], upto: int, hub: str
) -> list[LineError]:
    """As lines that are refused here, whose bytes did not come. Not those at whose place something stands:
    whoever has more than the hub's word keeps it."""
    named = [word.seq for word in words]
    there: set[int] = set()
    for part in chunks(named):
        for table in (lines, stubs):
            found = await connection.execute(
                select(table.c.seq).where(table.c.device == device, table.c.seq.in_(part))
            )
            there.update(found.scalars())
    return [
        LineError(
            _code(word.code),
            "line",
            f"the hub {hub} refused it, and its bytes are gone there",
            Claim(device=device, seq=word.seq, prev=word.prev),
            word.envelope_sha256,
        )
        for word in words
        if word.seq not in there and 0 < word.seq <= upto and _is_sound(word)
    ]


def _is_sound(word: StubWord) -> bool:
    return is_sha256(word.envelope_sha256) and (word.prev is None or is_sha256(word.prev))


def _code(said: str) -> RefusalCode:
    """A newer hub may know others."""
    return cast(RefusalCode, said) if said in get_args(RefusalCode) else "malformed"
