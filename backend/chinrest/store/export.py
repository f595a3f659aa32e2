"""The rows of a sealed export: device by device, every line of each unbroken chain in sequence."""

from collections.abc import AsyncIterator
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.envelope import FIRST_PREV
from chinrest.log.export import (
    FORMAT,
    ErasedLine,
    ExportedDevice,
    ExportHeader,
    Sealing,
    Stub,
    Voucher,
    encode_row,
)
from chinrest.log.signing import is_signed
from chinrest.store import house
from chinrest.store.tables import chains, devices, lines, stubs, vouchers

PART = 2000
"""Lines read at a time, so that memory does not grow with the log."""


async def rows(connection: AsyncConnection, now: int) -> AsyncIterator[bytes]:
    """Each row with its line feed; header first, seal last."""
    who = await house.identity(connection)
    sealing = Sealing(await house.own_key(connection))
    known = await _devices(connection)
    header = ExportHeader(
        v=FORMAT,
        server=who.server,
        epoch=who.epoch,
        server_key=who.public_key,
        made_at=now,
        position=await house.position(connection),
        devices=known,
    )
    yield sealing.row(encode_row(header), line=False)
    for device in known:
        beside = await _beside(connection, device)
        after = 0
        while after < device.last_seq:
            part = await _part(connection, device, after)
            places = {row.seq: row for row in part}
            end = part[-1].seq if len(part) == PART else device.last_seq
            for seq in sorted({*places, *(at for at in beside if after < at <= end)}):
                if seq in places:
                    yield _line_row(sealing, places[seq])
                for row in beside.get(seq, []):
                    yield sealing.row(encode_row(row), line=False)
            after = end
    yield sealing.seal()


def _line_row(sealing: Sealing, row: Any) -> bytes:
    """The line, or of one whose body was erased, its envelope."""
    if row.body is None:
        return sealing.row(encode_row(ErasedLine(envelope=row.envelope.decode())), line=False)
    return sealing.row(row.envelope + b"\t" + row.body, line=True)


async def _devices(connection: AsyncConnection) -> list[ExportedDevice]:
    above = (
        select(lines.c.device, func.count().label("above"))
        .join(chains, chains.c.device == lines.c.device, isouter=True)
        .where(lines.c.seq > func.coalesce(chains.c.seq, 0))
        .group_by(lines.c.device)
        .subquery()
    )
    found = await connection.execute(
        select(devices, chains.c.seq, chains.c.sha256, above.c.above)
        .join(chains, chains.c.device == devices.c.id, isouter=True)
        .join(above, above.c.device == devices.c.id, isouter=True)
        .order_by(devices.c.id)
    )
    return [
        ExportedDevice(
            device=row.id,
            kind=row.kind,
            label=row.label,
            site=row.site,
            public_key=row.public_key,
            last_seq=row.seq or 0,
            head_sha256=row.sha256 or FIRST_PREV,
            waiting=row.above or 0,
        )
        for row in found
    ]


async def _part(connection: AsyncConnection, device: ExportedDevice, after: int) -> list[Any]:
    found = await connection.execute(
        select(lines.c.seq, lines.c.envelope, lines.c.body)
        .where(lines.c.device == device.device)
        .where(lines.c.seq > after)
        .where(lines.c.seq <= device.last_seq)
        .order_by(lines.c.seq)
        .limit(PART)
    )
    return list(found)


async def _beside(connection: AsyncConnection, device: ExportedDevice) -> dict[int, list[Stub | Voucher]]:
    """What stands at or right after each sequence of the chain: stubs, then vouchers over that very head."""
    beside: dict[int, list[Stub | Voucher]] = {}
    heads: dict[int, str] = {}
    for row in await connection.execute(
        select(stubs).where(stubs.c.device == device.device).where(stubs.c.seq <= device.last_seq)
    ):
        stub = Stub(
            device=device.device,
            seq=row.seq,
            envelope_sha256=row.envelope_sha256,
            code=row.code,
            reason=row.reason,
        )
        beside[row.seq] = [stub]
        heads[row.seq] = row.envelope_sha256
    signed = await connection.execute(
        select(vouchers, lines.c.seq.label("line_seq"))
        .join(
            lines,
            (lines.c.device == vouchers.c.device) & (lines.c.envelope_sha256 == vouchers.c.head_sha256),
            isouter=True,
        )
        .where(vouchers.c.device == device.device)
        .where(vouchers.c.head_seq <= device.last_seq)
        .order_by(vouchers.c.head_seq)
    )
    for row in signed:
        # a signature over a branch that does not stand in this chain vouches for nothing in it
        stands = row.line_seq == row.head_seq or heads.get(row.head_seq) == row.head_sha256
        if stands and is_signed(device.public_key, row.head_sha256, row.signature):
            voucher = Voucher(
                device=device.device,
                head_seq=row.head_seq,
                head_sha256=row.head_sha256,
                signature=row.signature,
            )
            beside.setdefault(row.head_seq, []).append(voucher)
    return beside
