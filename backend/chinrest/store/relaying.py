"""Carrying lines from a hub to the hospital's server: what a hub still has to send, and what the server
takes of it."""

from collections.abc import Sequence
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Row, bindparam, delete, func, insert, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.answers import LineAnswer
from chinrest.log.backed_up import BackupWord
from chinrest.log.erasures import Tombstone
from chinrest.log.line import BIGGEST, TIME_LIMIT_MS, Line, LineError, is_sha256
from chinrest.log.stub_word import StubWord
from chinrest.store import bare, gone, house
from chinrest.store import devices as device_rows
from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.house import site_names
from chinrest.store.lines import take
from chinrest.store.rows import BatchHead
from chinrest.store.tables import devices, hubs, lines, refused, relayed, stubs, vouchers

MOST_PACKS = 500
WORD_BYTES = 400
"""Of a stub's word on its way, about."""

_PASSED_OF = select(relayed).where(relayed.c.device == bindparam("of"))
"""Each sync asks it: made once (see devices.py)."""


class Hub(Struct, frozen=True, kw_only=True):
    """A server that may relay to this one. `id` is that server's own id."""

    id: str
    name: str
    public_key: str
    approved_at: int
    withdrawn: bool
    last_heard_at: int | None
    said: "HubSaid | None"


class HubSaid(Struct, frozen=True, kw_only=True):
    """What a hub says of itself: lines that the server beyond has not said to hold, how far its clock is
    ahead, its version, the packs that are in force there. `at`: when it said so, by the server's clock."""

    at: int
    waiting: int
    clock_offset_ms: int
    app: str
    packs: list[str]


class Sender(Struct, frozen=True, kw_only=True):
    """A device as its hub knows it."""

    device: str
    label: str
    site: str
    public_key: str
    enrolled_at: int


class Parcel(Struct, frozen=True, kw_only=True):
    """Lines of one device that the other side lacks, up to a head that the device itself has signed. Of one
    whose body was erased the envelope and a tab come; `tombstones`, whose signatures were checked, say of
    which that is so. `stubs`: of refused lines that have no bytes left, their signatures checked likewise."""

    sender: Sender
    raws: list[bytes]
    head_seq: int
    head_sha256: str
    signature: str
    tombstones: list[Tombstone] = []
    stubs: list[StubWord] = []


class Passed(Struct, frozen=True, kw_only=True):
    """What the server beyond said it holds of a device's chain, with its signature. `kind`: a final server,
    or another hub. `backup`: its word of its last backup."""

    device: str
    server: str
    epoch: str
    kind: str
    seq: int
    head_sha256: str
    at: int
    signature: str
    backup: BackupWord | None = None


# at the server that is relayed to
async def add_hub(connection: AsyncConnection, hub: str, name: str, public_key: str, now: int) -> None:
    known = (await connection.execute(select(hubs.c.public_key).where(hubs.c.id == hub))).first()
    values = {"name": name, "public_key": public_key, "approved_at": now, "withdrawn_at": None}
    if known is None:
        await connection.execute(insert(hubs).values(id=hub, **values))
    else:
        await connection.execute(update(hubs).where(hubs.c.id == hub).values(**values))
    note_change(connection, "devices")


async def withdraw_hub(connection: AsyncConnection, hub: str, now: int) -> None:
    done = await connection.execute(update(hubs).where(hubs.c.id == hub).values(withdrawn_at=now))
    if done.rowcount == 0:
        raise StoreError("hub_unknown", "hub", "no such hub is approved here")
    note_change(connection, "devices")


async def all_hubs(connection: AsyncConnection) -> list[Hub]:
    rows = await connection.execute(select(hubs).order_by(hubs.c.name, hubs.c.id))
    return [
        Hub(
            id=row.id,
            name=row.name,
            public_key=row.public_key,
            approved_at=row.approved_at,
            withdrawn=row.withdrawn_at is not None,
            last_heard_at=row.last_heard_at,
            said=_said(row),
        )
        for row in rows
    ]


def _said(row: Row[Any]) -> HubSaid | None:
    if row.said_at is None:
        return None
    return HubSaid(
        at=row.said_at,
        waiting=row.waiting,
        clock_offset_ms=row.clock_offset_ms,
        app=row.app,
        packs=msgspec.json.decode(row.packs, type=list[str]),
    )


async def hear_hub(connection: AsyncConnection, hub: str, said: HubSaid) -> None:
    """Keep what a hub says of itself; the caller has checked its signature. Fault: value."""
    if not 0 <= said.waiting <= BIGGEST:
        raise StoreError("value", "waiting", f"{said.waiting} is not from 0 to 2^53-1")
    if not -TIME_LIMIT_MS <= said.at + said.clock_offset_ms <= TIME_LIMIT_MS:
        raise StoreError("value", "now", "not within 8.64e15 ms of 1970")
    if len(said.app) > device_rows.LONGEST_APP or "\x00" in said.app:
        raise StoreError("value", "app", f"not text of at most {device_rows.LONGEST_APP} characters")
    if len(said.packs) > MOST_PACKS or not all(map(is_sha256, said.packs)):
        raise StoreError("value", "packs", f"not at most {MOST_PACKS} SHA-256 in lower-case hex")
    await connection.execute(
        update(hubs)
        .where(hubs.c.id == hub)
        .values(
            last_heard_at=said.at,
            said_at=said.at,
            waiting=said.waiting,
            clock_offset_ms=said.clock_offset_ms,
            app=said.app,
            packs=msgspec.json.encode(said.packs).decode(),
        )
    )
    note_change(connection, "devices")


async def take_parcel(
    connection: AsyncConnection,
    hub: str,
    parcel: Parcel,
    decoded: Sequence[Line | LineError],
    received_at: int,
) -> list[LineAnswer]:
    """Take a device's lines from a hub; one answer a line. The caller has checked both signatures.

    A device that came by a hub alone has no token here; it is known by its key. One that was withdrawn may
    still have written before that, so its signed lines are taken. Faults: value, site_unknown, device_taken.
    """
    sender = parcel.sender
    head = BatchHead(
        head_seq=parcel.head_seq,
        head_sha256=parcel.head_sha256,
        signature=parcel.signature,
        waiting=0,
        now=received_at,
        app="",
    )
    device_rows.check_head(head)
    device_rows.check_device(sender.device, sender.public_key, sender.label)
    if not sender.label.strip():
        raise StoreError("value", "label", "a device without a name cannot be told from others")
    if not 0 <= sender.enrolled_at <= TIME_LIMIT_MS:
        raise StoreError("value", "enrolled_at", "not a time in milliseconds since 1970")
    await connection.execute(update(hubs).where(hubs.c.id == hub).values(last_heard_at=received_at))
    for site in (None, sender.site):  # the hub, and its phone
        note_change(connection, "devices", site)
    if sender.site not in await site_names(connection):
        raise StoreError("site_unknown", "site", f"there is no site {sender.site!r} on this server")
    known = (await connection.execute(select(devices).where(devices.c.id == sender.device))).first()
    if known is None:
        await connection.execute(
            insert(devices).values(
                id=sender.device,
                kind="phone",
                label=sender.label,
                site=sender.site,
                public_key=sender.public_key,
                enrolled_at=sender.enrolled_at,
            )
        )
    elif known.kind != "phone" or known.public_key != sender.public_key:
        raise StoreError("device_taken", "device", "another device has this id here")
    site = sender.site if known is None else known.site
    names = await connection.execute(select(hubs.c.name).where(hubs.c.id == hub))
    hub_name = names.scalar_one_or_none() or hub
    told = bare.under_tombstones(parcel.raws, decoded, parcel.tombstones, hub_name)
    lost = await gone.as_refused(connection, sender.device, parcel.stubs, parcel.head_seq, hub_name)
    raws = [*parcel.raws, *(b"" for _ in lost)]
    answers = await take(
        connection, sender.device, site, raws, [*told, *lost], received_at=received_at, offset_ms=None
    )
    await device_rows.vouch(connection, sender.device, head, received_at, sent=len(parcel.raws))
    return answers[: len(parcel.raws)]


# at the hub
async def next_parcel(
    connection: AsyncConnection, device: str, after: int, limit_bytes: int
) -> Parcel | None:
    """The lines of a device beyond sequence `after`, as many signed batches as fit into `limit_bytes` (at
    least one); null where nothing waits."""
    row = (
        await connection.execute(
            select(devices).where(devices.c.id == device).where(devices.c.kind == "phone")
        )
    ).one()
    signed = await connection.execute(
        select(vouchers.c.head_seq, vouchers.c.head_sha256, vouchers.c.signature)
        .where(vouchers.c.device == device)
        .where(vouchers.c.head_seq > after)
        .order_by(vouchers.c.head_seq)
    )
    sender = Sender(
        device=row.id,
        label=row.label,
        site=row.site,
        public_key=row.public_key,
        enrolled_at=row.enrolled_at,
    )
    found: Parcel | None = None
    for voucher in signed:
        raws = await _raws(connection, device, after, voucher.head_seq)
        words = await gone.words_of(connection, device, after, voucher.head_seq)
        if found is not None and sum(map(len, raws)) + WORD_BYTES * len(words) > limit_bytes:
            break
        # a batch whose last line is not here can't be told from one that was cut: its head is its proof
        if raws and sha256(raws[-1].partition(b"\t")[0]).hexdigest() == voucher.head_sha256:
            found = Parcel(
                sender=sender,
                raws=raws,
                head_seq=voucher.head_seq,
                head_sha256=voucher.head_sha256,
                signature=voucher.signature,
                stubs=words,
            )
    if found is not None and any(map(bare.is_bare, found.raws)):
        stones = await bare.tombstones_of(connection, device, after, found.head_seq)
        found = replace(found, tombstones=stones)
    if found is not None and found.stubs:
        key = await house.own_key(connection)
        found = replace(found, stubs=gone.signed(device, found.stubs, key))
    return found


async def _raws(connection: AsyncConnection, device: str, after: int, upto: int) -> list[bytes]:
    """Lines by sequence, of an erased one the envelope and the tab, and where one was refused here, its bytes
    as they came: the other side judges for itself."""
    places: dict[int, bytes] = {}
    gone = await connection.execute(
        select(stubs.c.seq, refused.c.raw)
        .join(
            refused,
            (refused.c.device == stubs.c.device) & (refused.c.envelope_sha256 == stubs.c.envelope_sha256),
        )
        .where(stubs.c.device == device)
        .where(stubs.c.seq > after)
        .where(stubs.c.seq <= upto)
    )
    for stub in gone:
        if stub.raw is not None:
            places[stub.seq] = stub.raw
    kept = await connection.execute(
        select(lines.c.seq, lines.c.envelope, lines.c.body)
        .where(lines.c.device == device)
        .where(lines.c.seq > after)
        .where(lines.c.seq <= upto)
    )
    for row in kept:
        places[row.seq] = row.envelope + b"\t" + (row.body or b"")
    return [places[seq] for seq in sorted(places)]


async def public_key_of(connection: AsyncConnection, device: str) -> str:
    key: str = (
        await connection.execute(select(devices.c.public_key).where(devices.c.id == device))
    ).scalar_one()
    return key


async def note_passed(connection: AsyncConnection, passed: Passed) -> None:
    await connection.execute(delete(relayed).where(relayed.c.device == passed.device))
    await connection.execute(
        insert(relayed).values(
            device=passed.device,
            server=passed.server,
            epoch=passed.epoch,
            kind=passed.kind,
            seq=passed.seq,
            head_sha256=passed.head_sha256,
            at=passed.at,
            signature=passed.signature,
            backup=None if passed.backup is None else msgspec.json.encode(passed.backup).decode(),
        )
    )


async def passed_of(connection: AsyncConnection, device: str) -> Passed | None:
    row = (await connection.execute(_PASSED_OF, {"of": device})).first()
    if row is None:
        return None
    return Passed(
        device=row.device,
        server=row.server,
        epoch=row.epoch,
        kind=row.kind,
        seq=row.seq,
        head_sha256=row.head_sha256,
        at=row.at,
        signature=row.signature,
        backup=None if row.backup is None else msgspec.json.decode(row.backup, type=BackupWord),
    )


async def waiting(connection: AsyncConnection) -> int:
    """Phones' lines that stand here and that the server beyond has not said to hold."""
    passed = {row.device: row.seq for row in await connection.execute(select(relayed))}
    phones = (await connection.execute(select(devices.c.id).where(devices.c.kind == "phone"))).scalars().all()
    count = 0
    for device in phones:
        count += (
            await connection.execute(
                select(func.count())
                .select_from(lines)
                .where(lines.c.device == device)
                .where(lines.c.seq > passed.get(device, 0))
            )
        ).scalar_one()
    return count
