"""Lines of which a hub has only the envelope left, on their way to a server that was set back and lacks them:
the envelope and a tab travel, and the tombstones that say by whose order the body went."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.erasure_events import BodiesErased
from chinrest.log.erasures import Tombstone
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import Line, LineError, decode_envelope, read_envelope
from chinrest.log.registry import decode_body, type_of
from chinrest.store.tables import lines


def is_bare(raw: bytes) -> bool:
    return raw.endswith(b"\t")


async def tombstones_of(connection: AsyncConnection, device: str, after: int, upto: int) -> list[Tombstone]:
    """By which bodies of the device's lines beyond `after` and up to `upto` were erased here."""
    bare = await connection.execute(
        select(lines.c.case_id, lines.c.envelope)
        .where(lines.c.device == device, lines.c.body.is_(None))
        .where(lines.c.seq > after, lines.c.seq <= upto)
    )
    wanted = {(row.case_id, decode_envelope(row.envelope).body_sha256) for row in bare}
    stones = await connection.execute(
        select(lines.c.case_id, lines.c.envelope, lines.c.body)
        .where(lines.c.type == type_of(BodiesErased), lines.c.site == SERVER_SITE)
        .order_by(lines.c.position)
    )
    found = []
    for row in stones:
        body = None if row.body is None else decode_body(decode_envelope(row.envelope), row.body)
        if isinstance(body, BodiesErased) and any((row.case_id, digest) in wanted for digest in body.bodies):
            found.append(Tombstone(case=row.case_id, body=body))
    return found


def under_tombstones(
    raws: Sequence[bytes],
    decoded: Sequence[Line | LineError],
    tombstones: Sequence[Tombstone],
    hub: str,
) -> list[Line | LineError]:
    """The same lines, and of each envelope that came alone, under a tombstone that names its body, that it
    was erased, and by whose order at the hub of that name. It will leave a stub, so that the chain goes on.
    """
    stones = {(stone.case, digest): stone.body for stone in tombstones for digest in stone.body.bodies}
    told: list[Line | LineError] = []
    for raw, item in zip(raws, decoded, strict=True):
        line = read_envelope(raw[:-1]) if isinstance(item, LineError) and is_bare(raw) else None
        if isinstance(item, LineError) and isinstance(line, Line):
            stone = stones.get((line.envelope.case, line.envelope.body_sha256))
            if stone is not None:
                rule = f"after {stone.years} years" if stone.rule == "age" else "by request"
                why = f"erased at the hub {hub}, {rule}, by {stone.by}"
                item = LineError("erased", "body", why, item.claim, item.envelope_sha256)
        told.append(item)
    return told
