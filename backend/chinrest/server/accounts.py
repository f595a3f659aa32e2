"""The admin's page of people: who may sign in, as what, and until when."""

from typing import Any

import msgspec
from litestar import get, post
from litestar.params import FromPath, JSONBody

from chinrest.server.context import Call, now_ms, origin_of, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import admin, json_body, own_page
from chinrest.server.lead import reason
from chinrest.server.people_wire import AccountRequest, AccountRow, InvitationLink, InviteRequest
from chinrest.server.phones import SMALL_BYTES
from chinrest.server.scope import WITHIN
from chinrest.server.wire import WithdrawRequest
from chinrest.store import Store
from chinrest.store.rows import Invitation

INVITATION_LIVES_MS = 72 * 3600 * 1000
CHANGE: dict[str, Any] = {
    "guards": [admin, own_page, json_body],
    "opt": WITHIN,
    "status_code": 200,
    "request_max_body_size": SMALL_BYTES,
}


def invitation_link(origin: str, made: Invitation) -> InvitationLink:
    url = f"{origin}/desk#/invitation/{made.token}"
    return InvitationLink(staff=made.staff, url=url, expires_at=made.expires_at)


async def _rows(store: Store) -> list[AccountRow]:
    return [AccountRow(**msgspec.structs.asdict(row)) for row in await store.accounts()]


async def _row(store: Store, person: str) -> AccountRow:
    (row,) = [row for row in await _rows(store) if row.id == person]
    return row


def _other(request: Call, person: str) -> str:
    """Somebody else's account: so there is always an admin left, who knows what they did."""
    if person == staff_of(request).id:
        raise RequestError(409, "own_account", "staff", "this is your own account; ask another admin")
    return person


@get("/api/people", guards=[admin], opt=WITHIN)
async def people(request: Call) -> list[AccountRow]:
    """Everybody who may sign in, or might once."""
    return await _rows(store_of(request))


@post("/api/people", **CHANGE)
async def invite(request: Call, data: JSONBody[InviteRequest]) -> InvitationLink:
    """Somebody new, and the link by which they set their password within 72 hours."""
    now = now_ms()
    made = await store_of(request).invite(
        data.name, data.role, data.site, staff_of(request).id, now, now + INVITATION_LIVES_MS
    )
    return invitation_link(origin_of(request), made)


@post("/api/people/{staff:str}/invitation", **CHANGE)
async def invite_again(
    request: Call, staff: FromPath[str], data: JSONBody[WithdrawRequest]
) -> InvitationLink:
    """A new link for somebody whose link ran out, or who forgot their password. The earlier one is void."""
    now, by = now_ms(), staff_of(request).id
    made = await store_of(request).invite_again(
        _other(request, staff), by, reason(data.why), now, now + INVITATION_LIVES_MS
    )
    return invitation_link(origin_of(request), made)


@post("/api/people/{staff:str}", **CHANGE)
async def change(request: Call, staff: FromPath[str], data: JSONBody[AccountRequest]) -> AccountRow:
    """Another role or site, from their next contact on."""
    store, by = store_of(request), staff_of(request).id
    await store.change_staff(_other(request, staff), data.role, data.site, by, now_ms())
    return await _row(store, staff)


@post("/api/people/{staff:str}/withdraw", **CHANGE)
async def withdraw(request: Call, staff: FromPath[str], data: JSONBody[WithdrawRequest]) -> AccountRow:
    """Nothing opens for them from their next contact on. What they wrote and decided stays theirs."""
    store, by = store_of(request), staff_of(request).id
    await store.withdraw_staff(_other(request, staff), by, reason(data.why), now_ms())
    return await _row(store, staff)


@post("/api/people/{staff:str}/readmit", **CHANGE)
async def readmit(request: Call, staff: FromPath[str], data: JSONBody[WithdrawRequest]) -> AccountRow:
    """Whoever was withdrawn may sign in again."""
    store, by = store_of(request), staff_of(request).id
    await store.readmit_staff(_other(request, staff), by, reason(data.why), now_ms())
    return await _row(store, staff)


@post("/api/people/{staff:str}/second-factor-off", **CHANGE)
async def second_factor_off(
    request: Call, staff: FromPath[str], data: JSONBody[WithdrawRequest]
) -> AccountRow:
    """For whoever lost both the authenticator and the recovery codes."""
    store, by = store_of(request), staff_of(request).id
    await store.turn_second_factor_off(_other(request, staff), by, reason(data.why), now_ms())
    return await _row(store, staff)


ROUTES = [people, invite, invite_again, change, withdraw, readmit, second_factor_off]
