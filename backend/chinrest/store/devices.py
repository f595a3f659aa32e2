"""Enrolling devices, knowing them by their token, and what the lead sees of them."""

import base64
import binascii
import secrets
from collections import defaultdict
from typing import Any

from sqlalchemy import Row, bindparam, func, insert, select, text, union, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.house_events import DeviceWithdrawn, PackTaken
from chinrest.log.line import BIGGEST, TIME_LIMIT_MS, is_device_id, is_sha256
from chinrest.log.registry import type_of
from chinrest.log.write import new_salt
from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.house import site_names
from chinrest.store.lines import as_ranges, head
from chinrest.store.own import Clock, append_own
from chinrest.store.packs import house_body
from chinrest.store.rows import BatchHead, Branch, DeviceRecord, DeviceSummary, EnrolmentCode, TokenKind
from chinrest.store.scope import Scope
from chinrest.store.tables import chains, devices, enrolment_codes, lines, refused, stubs
from chinrest.store.tokens import check_free, is_any_of, token_hash

# what each sync asks, made once: SQLAlchemy takes longer to make a statement than the database to answer it
_BY_TOKEN = select(devices).where(is_any_of(bindparam("hashed")))
_SITE_OF = (
    select(devices.c.site, devices.c.withdrawn_at)
    .where(devices.c.id == bindparam("device"))
    .where(devices.c.kind == "phone")
)
_HEARD = (
    update(devices)
    .where(devices.c.id == bindparam("device"))
    .values({name: bindparam(name) for name in ("last_heard_at", "waiting", "clock_offset_ms", "app")})
    .returning(devices.c.site)
)
_BEYOND_HEAD = union(
    *(
        select(table.c.seq)
        .where(table.c.device == bindparam("device"))
        .where(table.c.seq > bindparam("head"))
        for table in (lines, stubs)
    )
)

CODE_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base32: no I, L, O, U."""

LOOK_ALIKES = str.maketrans("ILO", "110")
LONGEST_LABEL = 100
LONGEST_APP = 100
LONGEST_SIGNATURE = 200  # ECDSA P-256 in base64 takes 88

VOUCH = text(
    "INSERT INTO vouchers (device, head_seq, head_sha256, signature, received_at) "
    "VALUES (:device, :head_seq, :head_sha256, :signature, :received_at) ON CONFLICT DO NOTHING"
)


def _code_hash(code: str) -> str:
    """However it was typed: any case, with or without the dash, I and L for 1, O for 0."""
    return token_hash("".join(code.upper().translate(LOOK_ALIKES).replace("-", "").split()))


async def add_code(
    connection: AsyncConnection, scope: Scope, site: str, label: str, now: int, expires_at: int
) -> EnrolmentCode:
    """Faults: other_site, site_unknown, value."""
    scope.check(site)
    if site not in await site_names(connection):
        raise StoreError("site_unknown", "site", f"there is no site {site!r}")
    _check_label(label)
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(8))
    code = f"{letters[:4]}-{letters[4:]}"
    await connection.execute(
        insert(enrolment_codes).values(
            code_sha256=_code_hash(code), site=site, label=label, made_at=now, expires_at=expires_at
        )
    )
    return EnrolmentCode(code=code, site=site, label=label, expires_at=expires_at)


async def enrol(
    connection: AsyncConnection,
    code: str,
    device: str,
    public_key: str,
    label: str,
    now: int,
    send_token_sha256: str,
    proved: bool,
) -> tuple[str, str]:
    """Spend a code: (token, site). The device's earlier tokens are void, and so whoever takes a device that
    is known must have `proved` that they hold its key."""
    check_device(device, public_key, label)
    found = (
        await connection.execute(
            select(enrolment_codes).where(enrolment_codes.c.code_sha256 == _code_hash(code))
        )
    ).first()
    if found is None:
        raise StoreError("code_unknown", "code", "no such code; ask for a new one")
    if now >= found.expires_at:
        raise StoreError("code_expired", "code", "the code has run out; ask for a new one")
    known = (await connection.execute(select(devices).where(devices.c.id == device))).first()
    if known is not None and (known.kind != "phone" or known.public_key != public_key):
        raise StoreError("device_taken", "device", "another device has this id")
    if known is not None and not proved:
        why = (
            "this phone is known here, and the code is not signed by its key; load its app anew and try again"
        )
        raise StoreError("not_proved", "proof", why)
    # who was withdrawn needs a new code; the one that was spent still lies about
    withdrawn = known is not None and known.withdrawn_at is not None
    if found.used_at is not None and (found.used_by != device or withdrawn):
        raise StoreError("code_used", "code", "the code was used already; ask for a new one")
    if send_token_sha256:
        await check_free(connection, device, send_token_sha256, {"send"})
    token = secrets.token_urlsafe(32)
    values = {
        "label": label or found.label,
        "site": found.site,
        "token_sha256": token_hash(token),
        "send_token_sha256": send_token_sha256 or None,
        "next_token_sha256": None,
        "enrolled_at": now,
        "withdrawn_at": None,
    }
    if known is None:
        await connection.execute(
            insert(devices).values(id=device, kind="phone", public_key=public_key, **values)
        )
    else:
        await connection.execute(update(devices).where(devices.c.id == device).values(**values))
    await connection.execute(
        update(enrolment_codes)
        .where(enrolment_codes.c.code_sha256 == found.code_sha256)
        .values(used_at=now, used_by=device)
    )
    for site in {found.site, known.site if known is not None else found.site}:  # it may have moved
        note_change(connection, "devices", site)
    return token, found.site


def check_device(device: str, public_key: str, label: str) -> None:
    """Refuse what no device of ours is called, or signs with."""
    if not is_device_id(device):
        raise StoreError("value", "device", "not a UUID in lower case")
    try:
        key = base64.b64decode(public_key, validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if not 0 < len(key) <= 1024:
        raise StoreError("value", "public_key", "not a public key in base64")
    _check_label(label)


def _check_label(label: str) -> None:
    if len(label) > LONGEST_LABEL or any(ord(letter) < 32 for letter in label):
        raise StoreError("value", "label", f"not one line of at most {LONGEST_LABEL} characters")


async def by_token(connection: AsyncConnection, token: str) -> DeviceRecord | None:
    hashed = token_hash(token)
    row = (await connection.execute(_BY_TOKEN, {"hashed": hashed})).first()
    if row is None:
        return None
    kind: TokenKind = "next"
    if row.token_sha256 == hashed:
        kind = "full"
    elif row.send_token_sha256 == hashed:
        kind = "send"
    return _record(row, kind)


async def by_id(connection: AsyncConnection, device: str) -> DeviceRecord | None:
    """A phone that was enrolled here, or came by a hub."""
    found = select(devices).where(devices.c.id == device).where(devices.c.kind == "phone")
    row = (await connection.execute(found)).first()
    return None if row is None else _record(row, None)


def _record(row: Row[Any], by: TokenKind | None) -> DeviceRecord:
    return DeviceRecord(
        id=row.id,
        label=row.label,
        site=row.site,
        public_key=row.public_key,
        withdrawn=row.withdrawn_at is not None,
        by=by,
    )


async def site_of(connection: AsyncConnection, device: str) -> str:
    """The site of a device that may send."""
    row = (await connection.execute(_SITE_OF, {"device": device})).first()
    if row is None:
        raise StoreError("not_enrolled", "device", "this device is not enrolled here")
    if row.withdrawn_at is not None:
        raise StoreError("device_withdrawn", "device", "this device was withdrawn")
    site: str = row.site
    return site


async def heard(
    connection: AsyncConnection,
    device: str,
    now: int,
    *,
    waiting: int | None,
    clock_offset_ms: int | None,
    app: str | None,
) -> None:
    said = {"last_heard_at": now, "waiting": waiting, "clock_offset_ms": clock_offset_ms, "app": app}
    changed = await connection.execute(_HEARD, {"device": device, **said})
    note_change(connection, "devices", changed.scalar_one_or_none())


def check_head(head: BatchHead) -> None:
    """Refuse numbers that no column could hold, before they disturb the lines."""
    for name, value in (("head_seq", head.head_seq), ("waiting", head.waiting)):
        if not 0 <= value <= BIGGEST:
            raise StoreError("value", name, f"{value} is not from 0 to 2^53-1")
    if not -TIME_LIMIT_MS <= head.now <= TIME_LIMIT_MS:
        raise StoreError("value", "now", "not within 8.64e15 ms of 1970")
    if not is_sha256(head.head_sha256):
        raise StoreError("value", "head_sha256", "not a SHA-256 in lower-case hex")
    for name, said, most in (
        ("app", head.app, LONGEST_APP),
        ("signature", head.signature, LONGEST_SIGNATURE),
    ):
        if said is not None and (len(said) > most or "\x00" in said):
            raise StoreError("value", name, f"not text of at most {most} characters")


async def vouch(
    connection: AsyncConnection, device: str, head: BatchHead, received_at: int, *, sent: int
) -> None:
    """Keep the signature over a batch's head: it vouches for all lines before it. Where no line was `sent`,
    nobody has checked it."""
    if head.signature is None or head.head_seq == 0 or sent == 0:
        return
    await connection.execute(
        VOUCH,
        {
            "device": device,
            "head_seq": head.head_seq,
            "head_sha256": head.head_sha256,
            "signature": head.signature,
            "received_at": received_at,
        },
    )


async def withdraw(
    connection: AsyncConnection, clock: Clock, scope: Scope, device: str, by: str, why: str, now: int
) -> None:
    changed = await connection.execute(
        update(devices)
        .where(devices.c.id == device, *scope.of(devices.c.site))
        .where(devices.c.kind == "phone")
        .values(withdrawn_at=func.coalesce(devices.c.withdrawn_at, now))
        .returning(devices.c.site)
    )
    row = changed.first()
    if row is None:
        raise StoreError("not_enrolled", "device", "this device is not enrolled here")
    note_change(connection, "devices", row.site)
    body = DeviceWithdrawn(salt=new_salt(), withdrawn=device, by=by, why=why)
    await append_own(connection, clock, body, actor=by, now=now)


async def holds(connection: AsyncConnection, device: str) -> list[tuple[int, int]]:
    """Inclusive ranges of what stands here of the device's chain."""
    seq, _ = await head(connection, device)
    found = await connection.execute(_BEYOND_HEAD, {"device": device, "head": seq})
    ranges = as_ranges(found.scalars())
    return [(1, seq), *ranges] if seq else ranges


async def summaries(connection: AsyncConnection, scope: Scope) -> list[DeviceSummary]:
    rows = await connection.execute(
        select(devices)
        .where(devices.c.kind == "phone", *scope.of(devices.c.site))
        .order_by(devices.c.label, devices.c.id)
    )
    refusals = await connection.execute(
        select(refused.c.device, func.count()).where(~refused.c.healed).group_by(refused.c.device)
    )
    counts = {row[0]: row[1] for row in refusals}
    gaps = await _gaps(connection, scope)
    branches = await _branches(connection)
    packs = await _packs(connection)
    return [
        DeviceSummary(
            id=row.id,
            label=row.label,
            site=row.site,
            enrolled_at=row.enrolled_at,
            last_heard_at=row.last_heard_at,
            waiting=row.waiting,
            clock_offset_ms=row.clock_offset_ms,
            pack=packs.get(row.id),
            app=row.app,
            withdrawn=row.withdrawn_at is not None,
            refused=counts.get(row.id, 0),
            gaps=gaps.get(row.id, []),
            branch=branches.get(row.id),
        )
        for row in rows
    ]


async def _gaps(connection: AsyncConnection, scope: Scope) -> dict[str, list[tuple[int, int]]]:
    """What is missing between each chain's head and the lines that wait above it."""
    heads = {row.device: row.seq for row in await connection.execute(select(chains))}
    above: dict[str, set[int]] = defaultdict(set)
    # device by device, so that the index by device and sequence leads past all that stands below the head
    known = await connection.execute(select(devices.c.id).where(*scope.of(devices.c.site)))
    for device in known.scalars().all():
        for table in (lines, stubs):
            found = await connection.execute(
                select(table.c.seq).where(table.c.device == device).where(table.c.seq > heads.get(device, 0))
            )
            above[device] |= set(found.scalars())
    gaps: dict[str, list[tuple[int, int]]] = {}
    for device, seqs in above.items():
        if not seqs:
            continue
        missing, last = [], heads.get(device, 0)
        for first, end in as_ranges(seqs):
            if first > last + 1:
                missing.append((last + 1, first - 1))
            last = end
        gaps[device] = missing
    return gaps


async def _branches(connection: AsyncConnection) -> dict[str, Branch]:
    rows = await connection.execute(
        select(
            refused.c.device,
            func.min(refused.c.seq),
            func.max(refused.c.seq),
            func.count(),
            func.max(refused.c.received_at),
        )
        .where(refused.c.code == "fork")
        .where(~refused.c.healed)
        .group_by(refused.c.device)
    )
    return {
        device: Branch(first_seq=first, last_seq=last, lines=count, last_received_at=received)
        for device, first, last, count, received in rows
    }


async def _packs(connection: AsyncConnection) -> dict[str, str]:
    """The pack that each device last said it took."""
    rows = await connection.execute(
        select(lines.c.device, lines.c.envelope, lines.c.body)
        .where(lines.c.type == type_of(PackTaken))
        .where(lines.c.body.is_not(None))
        .order_by(lines.c.device, lines.c.seq)
    )
    taken: dict[str, str] = {}
    for row in rows:
        body = house_body(row.envelope, row.body)
        if isinstance(body, PackTaken):
            taken[row.device] = body.sha256
    return taken
