"""What the clinic's lead keeps: phones, enrolment codes, guidance packs."""

import asyncio
from typing import Any

import msgspec
from litestar import get, post
from litestar.params import FromPath, JSONBody

from chinrest.log.signing import fingerprint
from chinrest.pack.proving import faults_of
from chinrest.server.context import Call, now_ms, origin_of, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, lead, own_page, signed_in
from chinrest.server.phones import LABEL_LIMIT, SMALL_BYTES, Sha256
from chinrest.server.scope import WITHIN
from chinrest.server.wire import (
    Approval,
    ApproveRequest,
    DeviceRow,
    EnrolmentCode,
    EnrolmentCodeRequest,
    HubRow,
    PackRow,
    Recall,
    RecallRequest,
    SiteRow,
    WithdrawRequest,
)
from chinrest.store import Store, StoreError
from chinrest.store import rows as kept

CODE_LIVES_MS = 15 * 60 * 1000
PACK_LIMIT_BYTES = 8 * 1024 * 1024
REASON_LIMIT = 2000
CHANGE: dict[str, Any] = {
    "guards": [lead, own_page, json_body],
    "status_code": 200,
    "request_max_body_size": SMALL_BYTES,
}


def reason(text: str) -> str:
    """A reason that somebody can read later."""
    if not 0 < len(text.strip()) <= REASON_LIMIT:
        raise RequestError(400, "invalid", "why", f"give the reason, in 1 to {REASON_LIMIT} characters")
    return text.strip()


@get("/api/sites", guards=[signed_in], opt=WITHIN)
async def sites(request: Call) -> list[SiteRow]:
    """The service's sites, as far as they are seen."""
    return [SiteRow(id=site, name=name) for site, name in (await store_of(request).sites()).items()]


@get("/api/devices", guards=[signed_in], opt=WITHIN)
async def devices(request: Call) -> list[DeviceRow]:
    """Every enrolled phone that is seen: when last heard, what waits, its clock and pack, what is missing."""
    return [_device_row(row) for row in await store_of(request).devices()]


def _device_row(row: kept.DeviceSummary) -> DeviceRow:
    return DeviceRow(**msgspec.structs.asdict(row))


@get("/api/hubs", guards=[signed_in])
async def hubs(request: Call) -> list[HubRow]:
    """Servers that may relay to this one, or might once: each with its key's fingerprint, and when last
    heard."""
    return [
        HubRow(
            id=hub.id,
            name=hub.name,
            fingerprint=fingerprint(hub.public_key),
            approved_at=hub.approved_at,
            last_heard_at=hub.last_heard_at,
            withdrawn=hub.withdrawn,
            said=hub.said,
        )
        for hub in await store_of(request).hubs()
    ]


@post("/api/devices/{device:str}/withdraw", **CHANGE, opt=WITHIN)
async def withdraw(request: Call, device: FromPath[str], data: JSONBody[WithdrawRequest]) -> DeviceRow:
    """A lost or retired phone: its token is no longer honoured. Its lines stay."""
    store = store_of(request)
    try:
        await store.withdraw(device, staff_of(request).id, reason(data.why), now_ms())
    except StoreError as fault:
        if fault.code == "not_enrolled":  # here it is the address that is wrong, not the caller
            raise RequestError(404, "device_unknown", "device", "no such device is enrolled here") from fault
        raise
    (row,) = [row for row in await store.devices() if row.id == device]
    return _device_row(row)


@post("/api/enrolment-codes", **CHANGE, opt=WITHIN)
async def enrolment_code(request: Call, data: JSONBody[EnrolmentCodeRequest]) -> EnrolmentCode:
    """A code for one phone, valid for 15 minutes, once."""
    if not 0 < len(data.label.strip()) <= LABEL_LIMIT:
        raise RequestError(400, "invalid", "label", f"give the phone a name of 1 to {LABEL_LIMIT} characters")
    now = now_ms()
    made = await store_of(request).add_code(data.site, data.label.strip(), now, now + CODE_LIVES_MS)
    url = f"{origin_of(request)}/#enrol={made.code}"
    return EnrolmentCode(code=made.code, expires_at=made.expires_at, url=url)


async def _pack_rows(store: Store) -> list[PackRow]:
    in_force: dict[str, list[str]] = {}
    for site in await store.sites():
        sha256 = await store.pack_in_force(site)
        if sha256:
            in_force.setdefault(sha256, []).append(site)
    names = {person.id: person.name for person in await store.staff()}
    return [
        PackRow(
            sha256=row.sha256,
            version=row.version,
            received_at=row.received_at,
            approvals=[
                Approval(by=names.get(a.by, a.by), at=a.at, sites=a.sites, note=a.note) for a in row.approvals
            ],
            recalls=[Recall(sha256=r.sha256, why=r.why, at=r.at) for r in row.recalls],
            in_force=in_force.get(row.sha256, []),
        )
        for row in await store.packs()
    ]


async def _pack_row(store: Store, sha256: str) -> PackRow:
    (row,) = [row for row in await _pack_rows(store) if row.sha256 == sha256]
    return row


@get("/api/packs", guards=[signed_in], opt=WITHIN)
async def packs(request: Call) -> list[PackRow]:
    """The guidance packs that this server holds, who approved them for which sites, and what was recalled."""
    return await _pack_rows(store_of(request))


@post(
    "/api/packs",
    guards=[lead, own_page, json_body],
    status_code=200,
    request_max_body_size=PACK_LIMIT_BYTES,
)
async def put_pack(request: Call) -> PackRow:
    """Keep a compiled pack, sent as its own bytes, once its figures are proved. No phone uses it before the
    lead approves it."""
    raw = await request.body()
    faults = await asyncio.to_thread(faults_of, raw)
    if faults:
        raise RequestError(400, "bad_pack", faults[0].key or "body", faults[0].reason)
    store = store_of(request)
    return await _pack_row(store, await store.put_pack(raw, now_ms()))


@post("/api/packs/{sha256:str}/approve", **CHANGE)
async def approve(request: Call, sha256: Sha256, data: JSONBody[ApproveRequest]) -> PackRow:
    """Put a pack in force at these sites: phones take it at their next sync, and change between cases."""
    if not data.sites:
        raise RequestError(400, "invalid", "sites", "name at least one site")
    if len(data.note) > REASON_LIMIT:
        raise RequestError(400, "invalid", "note", f"at most {REASON_LIMIT} characters")
    store, sites = store_of(request), list(dict.fromkeys(data.sites))
    await store.approve_pack(sha256, staff_of(request).id, sites, data.note, now_ms())
    return await _pack_row(store, sha256)


@post("/api/packs/{sha256:str}/recall", **CHANGE)
async def recall(request: Call, sha256: Sha256, data: JSONBody[RecallRequest]) -> PackRow:
    """Warn every phone of this pack at its next sync, also in the middle of a case."""
    store = store_of(request)
    await store.recall_pack(sha256, staff_of(request).id, reason(data.why), now_ms())
    return await _pack_row(store, sha256)


ROUTES = [sites, devices, hubs, withdraw, enrolment_code, packs, put_pack, approve, recall]
