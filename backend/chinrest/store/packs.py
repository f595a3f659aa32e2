"""Guidance packs: their bytes, and from the server's own chain who approved or recalled which."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from hashlib import sha256

import msgspec
from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.case_events import Body
from chinrest.log.envelope import Envelope
from chinrest.log.house_events import PackApproved, PackRecalled
from chinrest.log.line import decode_envelope
from chinrest.log.registry import decode_body, type_of
from chinrest.log.write import new_salt
from chinrest.store.engines import note_change
from chinrest.store.engines.changes import ANY
from chinrest.store.faults import StoreError
from chinrest.store.folds import storable
from chinrest.store.house import site_names
from chinrest.store.own import Clock, append_own
from chinrest.store.refolding import refold_for_pack
from chinrest.store.rows import InForce, PackApproval, PackRecall, PackRow
from chinrest.store.scope import Scope
from chinrest.store.tables import devices, lines, packs

Decision = tuple[Envelope, Body]


class _Title(msgspec.Struct):
    version: str = ""
    clinic: str = ""


async def put(connection: AsyncConnection, raw: bytes, now: int) -> str:
    """Keep a compiled pack; its hash. The store doesn't judge it: that was the compiler's and will be the
    phone's part."""
    digest = sha256(raw).hexdigest()
    try:
        title = msgspec.json.decode(raw, type=_Title)
    except (msgspec.MsgspecError, UnicodeDecodeError) as fault:
        raise StoreError("value", "pack", f"not a compiled pack: {fault}") from fault
    if not await _there(connection, digest):
        await connection.execute(
            insert(packs).values(
                sha256=digest,
                raw=raw,
                size_bytes=len(raw),
                version=storable(title.version),
                clinic=storable(title.clinic),
                received_at=now,
            )
        )
        await refold_for_pack(connection, digest)
        note_change(connection, "packs", ANY)
    return digest


async def _there(connection: AsyncConnection, digest: str) -> bool:
    found = await connection.execute(select(packs.c.sha256).where(packs.c.sha256 == digest))
    return found.first() is not None


async def raw_bytes(connection: AsyncConnection, digest: str) -> bytes | None:
    return (
        await connection.execute(select(packs.c.raw).where(packs.c.sha256 == digest))
    ).scalar_one_or_none()


async def approve(
    connection: AsyncConnection,
    clock: Clock,
    digest: str,
    by: str,
    sites: Sequence[str],
    note: str,
    now: int,
) -> None:
    if not await _there(connection, digest):
        raise StoreError("pack_unknown", "sha256", "no such pack is kept here")
    known = await site_names(connection)
    if not sites:
        raise StoreError("value", "sites", "an approval names at least one site")
    for site in sites:
        if site not in known:
            raise StoreError("site_unknown", "sites", f"there is no site {site!r}")
    if digest in {recall.sha256 for recall in await recalls(connection)}:
        raise StoreError(
            "pack_recalled", "sha256", "this pack was recalled; a corrected one has its own hash"
        )
    body = PackApproved(salt=new_salt(), sha256=digest, by=by, sites=list(sites), note=note)
    await append_own(connection, clock, body, actor=by, now=now)
    for site in sites:
        note_change(connection, "packs", site)


async def recall(connection: AsyncConnection, clock: Clock, digest: str, by: str, why: str, now: int) -> None:
    if not await _there(connection, digest):
        raise StoreError("pack_unknown", "sha256", "no such pack is kept here")
    body = PackRecalled(salt=new_salt(), sha256=digest, by=by, why=why)
    await append_own(connection, clock, body, actor=by, now=now)
    note_change(connection, "packs", ANY)


async def rows(connection: AsyncConnection, scope: Scope) -> list[PackRow]:
    """Every pack kept, newest first, with every recall, and the approvals for sites that are seen."""
    approvals: dict[str, list[PackApproval]] = defaultdict(list)
    recalled: dict[str, list[PackRecall]] = defaultdict(list)
    for envelope, body in await _decisions(connection):
        if isinstance(body, PackApproved):
            sites = [site for site in body.sites if scope.sees(site)]
            if sites:
                approvals[body.sha256].append(
                    PackApproval(by=body.by, sites=sites, note=body.note, at=envelope.at)
                )
        elif isinstance(body, PackRecalled):
            recalled[body.sha256].append(_recall(envelope, body))
    kept = await connection.execute(
        select(
            packs.c.sha256, packs.c.version, packs.c.clinic, packs.c.size_bytes, packs.c.received_at
        ).order_by(packs.c.received_at.desc(), packs.c.sha256)
    )
    return [
        PackRow(
            sha256=row.sha256,
            version=row.version,
            clinic=row.clinic,
            size_bytes=row.size_bytes,
            received_at=row.received_at,
            approvals=approvals[row.sha256],
            recalls=recalled[row.sha256],
        )
        for row in kept
    ]


async def in_force(connection: AsyncConnection, site: str) -> str | None:
    """The pack that was last approved for the site. Recalled since, it is in force no longer, and none is: an
    older one isn't brought back unasked."""
    return (await orders(connection, site))[0]


async def orders(connection: AsyncConnection, site: str) -> tuple[str | None, list[PackRecall]]:
    """What is in force at the site, and all recalls."""
    decisions = await _decisions(connection)
    return _in_force(decisions, site), _recalls(decisions)


def _in_force(decisions: Iterable[Decision], site: str) -> str | None:
    current: str | None = None
    for _envelope, body in decisions:
        if isinstance(body, PackApproved) and site in body.sites:
            current = body.sha256
        elif isinstance(body, PackRecalled) and body.sha256 == current:
            current = None
    return current


async def over_time(connection: AsyncConnection) -> dict[str, list[InForce]]:
    """For each site that was ever approved for: the packs in force there, one after the other."""
    spans: dict[str, list[InForce]] = defaultdict(list)

    def end(site: str, at: int) -> None:
        if spans[site] and spans[site][-1].until is None:
            spans[site][-1] = msgspec.structs.replace(spans[site][-1], until=at)

    for envelope, body in await _decisions(connection):
        if isinstance(body, PackApproved):
            for site in body.sites:
                if spans[site] and (spans[site][-1].sha256, spans[site][-1].until) == (body.sha256, None):
                    continue  # approved again: in force since the first time
                end(site, envelope.at)
                spans[site].append(InForce(sha256=body.sha256, by=body.by, since=envelope.at, until=None))
        elif isinstance(body, PackRecalled):
            for site, kept in spans.items():
                if kept and kept[-1].sha256 == body.sha256:
                    end(site, envelope.at)
    return dict(spans)


async def recalls(connection: AsyncConnection) -> list[PackRecall]:
    """The latest recall of each recalled pack, by time. None ends: phones that heard of it hold to it."""
    return _recalls(await _decisions(connection))


def _recalls(decisions: Iterable[Decision]) -> list[PackRecall]:
    latest: dict[str, PackRecall] = {}
    for envelope, body in decisions:
        if isinstance(body, PackRecalled):
            latest[body.sha256] = _recall(envelope, body)
    return list(latest.values())


def _recall(envelope: Envelope, body: PackRecalled) -> PackRecall:
    return PackRecall(sha256=body.sha256, by=body.by, why=body.why, at=envelope.at)


_DECISIONS = (
    select(lines.c.envelope, lines.c.body)
    .join(devices, devices.c.id == lines.c.device)
    .where(devices.c.kind == "server")
    .where(lines.c.type.in_((type_of(PackApproved), type_of(PackRecalled))))
    .order_by(lines.c.position)
)
"""Each sync asks it: made once (see devices.py)."""


async def _decisions(connection: AsyncConnection) -> list[Decision]:
    """Approvals and recalls in the order in which they were made. Only this server's own lines count: a phone
    that writes such a line decides nothing."""
    decisions = []
    for row in await connection.execute(_DECISIONS):
        body = None if row.body is None else house_body(row.envelope, row.body)
        if body is not None:
            decisions.append((decode_envelope(row.envelope), body))
    return decisions


def house_body(envelope: bytes, body: bytes) -> Body | None:
    """A stored line's body; null where this version can't read it."""
    try:
        return decode_body(decode_envelope(envelope), body)
    except ValueError:
        return None
