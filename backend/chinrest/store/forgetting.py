"""Taking bodies out of the tables, in the caller's write; whoever does it writes the tombstone."""

from msgspec import Struct
from sqlalchemy import ColumnElement, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.erasure_events import ErasedDecision
from chinrest.log.erasures import without_words
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import decode_envelope
from chinrest.log.registry import decode_body
from chinrest.log.review_events import ReviewBody
from chinrest.store.engines import note_erased
from chinrest.store.lines import chunks
from chinrest.store.tables import lines, refused, stubs

REASON_GONE = "erased"
"""Stands where the reason of a refusal stood: reasons quote what could not be read."""


class Gone(Struct, frozen=True, kw_only=True):
    """Of the bodies that went: their hashes, in the order of the log, and what the server's own review lines
    among them had decided, about which incidents. `bodies`: how many a phone wrote."""

    hashes: list[str]
    decisions: list[ErasedDecision]
    incidents: list[str]
    bodies: int

    def and_those(self, other: "Gone") -> "Gone":
        return Gone(
            hashes=[*self.hashes, *other.hashes],
            decisions=[*self.decisions, *other.decisions],
            incidents=sorted({*self.incidents, *other.incidents}),
            bodies=self.bodies + other.bodies,
        )


async def forget_lines(connection: AsyncConnection, *which: ColumnElement[bool]) -> Gone:
    """Of these lines, the bodies that stand."""
    chosen = (*which, lines.c.body.is_not(None))
    rows = (
        await connection.execute(
            select(lines.c.id, lines.c.envelope, lines.c.body, lines.c.site, lines.c.received_at)
            .where(*chosen)
            .order_by(lines.c.position)
        )
    ).all()
    hashes, decisions, about = [], [], set()
    for row in rows:
        envelope = decode_envelope(row.envelope)
        hashes.append(envelope.body_sha256)
        if row.site == SERVER_SITE:
            body = decode_body(envelope, row.body)
            if isinstance(body, ReviewBody):
                decisions.append(without_words(row.id, body))
                about.add(body.incident)
    await note_erased(connection, {(row.site, row.received_at) for row in rows})
    for part in chunks([row.id for row in rows]):
        await connection.execute(
            update(lines).where(lines.c.id.in_(part)).values(body=None, body_state="erased")
        )
    return Gone(
        hashes=hashes,
        decisions=decisions,
        incidents=sorted(about),
        bodies=sum(row.site != SERVER_SITE for row in rows),
    )


async def forget_refused(connection: AsyncConnection, *which: ColumnElement[bool]) -> int:
    """Of these refused lines, the bytes and the reason, and the reason at their place in the chain; how many
    had bytes."""
    rows = (
        await connection.execute(
            select(refused.c.device, refused.c.envelope_sha256, refused.c.raw.is_not(None).label("kept"))
            .where(*which)
            .where(refused.c.reason != REASON_GONE)
        )
    ).all()
    await connection.execute(update(refused).where(*which).values(raw=None, reason=REASON_GONE))
    for device in sorted({row.device for row in rows}):
        for part in chunks(sorted({row.envelope_sha256 for row in rows if row.device == device})):
            await connection.execute(
                update(stubs)
                .where(stubs.c.device == device, stubs.c.envelope_sha256.in_(part))
                .values(reason=REASON_GONE)
            )
    return sum(row.kept for row in rows)
