"""What everybody does for themselves: the password, the second factor, taking an invitation."""

import base64
from typing import Any

from litestar import get, post
from litestar.params import JSONBody

from chinrest.server.context import Call, address_of, now_ms, staff_of, store_of, tries_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import COOKIE, json_body, own_page, signed_in
from chinrest.server.people import TEXT_LIMIT, prove_code
from chinrest.server.people_wire import (
    ConfirmRequest,
    InvitationPerson,
    InvitationRequest,
    JoinRequest,
    OwnAccount,
    PasswordRequest,
    RecoveryCodes,
    SecondFactorOffRequest,
    SecondFactorRequest,
    SecondFactorSecret,
)
from chinrest.server.phones import SMALL_BYTES
from chinrest.server.scope import WITHIN
from chinrest.store import StoreError
from chinrest.store.second_factors import address_of as address_for_scanning

CHANGE: dict[str, Any] = {
    "guards": [signed_in, own_page, json_body],
    "opt": WITHIN,
    "status_code": 200,
    "request_max_body_size": SMALL_BYTES,
}
BY_LINK: dict[str, Any] = {**CHANGE, "guards": [own_page, json_body]}


async def _prove_password(request: Call, password: str, where: str) -> None:
    """Whoever sits at an open desk is not yet the one who opened it."""
    if len(password) > TEXT_LIMIT:
        raise RequestError(400, "invalid", where, f"at most {TEXT_LIMIT} characters")
    person, tries = staff_of(request), tries_of(request, "own")
    tries.begin(person.id, where)
    if await store_of(request).check_password(person.name, password) is None:
        raise RequestError(403, "wrong_password", where, "this is not your password")
    tries.forget(person.id)


@get("/api/account", guards=[signed_in], opt=WITHIN)
async def account(request: Call) -> OwnAccount:
    """What protects one's own account."""
    state = await store_of(request).second_factor(staff_of(request).id)
    return OwnAccount(second_factor=state.on, recovery_left=state.recovery_left)


@post("/api/account/password", **{**CHANGE, "status_code": 204})
async def change_password(request: Call, data: JSONBody[PasswordRequest]) -> None:
    """A new password for oneself. Every other session of the same person ends."""
    await _prove_password(request, data.old, "old")
    if len(data.new) > TEXT_LIMIT:
        raise RequestError(400, "invalid", "new", f"at most {TEXT_LIMIT} characters")
    try:
        await store_of(request).change_password(
            staff_of(request).id, data.new, request.cookies[COOKIE], now_ms()
        )
    except StoreError as fault:
        raise RequestError(400, fault.code, "new", fault.why) from fault


@post("/api/account/second-factor", **CHANGE)
async def begin_second_factor(request: Call, data: JSONBody[SecondFactorRequest]) -> SecondFactorSecret:
    """A secret for an authenticator. It is asked for only once a code of it was confirmed."""
    await _prove_password(request, data.password, "password")
    person = staff_of(request)
    secret = await store_of(request).begin_second_factor(person.id)
    return SecondFactorSecret(
        address=address_for_scanning(secret, person.name), secret=base64.b32encode(secret).decode()
    )


@post("/api/account/second-factor/confirm", **CHANGE)
async def confirm_second_factor(request: Call, data: JSONBody[ConfirmRequest]) -> RecoveryCodes:
    """From now on each sign-in asks for a code. The recovery codes are shown here and never again."""
    person = staff_of(request)
    tries = tries_of(request, "code")
    tries.begin(person.id, "code")
    codes = await store_of(request).confirm_second_factor(person.id, data.code[:TEXT_LIMIT], now_ms())
    tries.forget(person.id)
    return RecoveryCodes(codes=codes)


@post("/api/account/second-factor/off", **{**CHANGE, "status_code": 204})
async def turn_second_factor_off(request: Call, data: JSONBody[SecondFactorOffRequest]) -> None:
    """Signing in asks for the password alone again."""
    await _prove_password(request, data.password, "password")
    person, store = staff_of(request), store_of(request)
    if (await store.second_factor(person.id)).on:
        await prove_code(request, person.id, data.code)
    await store.turn_second_factor_off(person.id, person.id, "", now_ms())


@post("/api/invitations/look", **BY_LINK)
async def look(request: Call, data: JSONBody[InvitationRequest]) -> InvitationPerson:
    """Whose the invitation is; it stays open."""
    tries, address = tries_of(request, "invitation"), address_of(request)
    tries.begin(address, "token")
    found = await store_of(request).invited(data.token, now_ms())
    tries.uncount(address)
    return InvitationPerson(name=found.name, role=found.role, expires_at=found.expires_at)


@post("/api/invitations/take", **BY_LINK)
async def take(request: Call, data: JSONBody[JoinRequest]) -> InvitationPerson:
    """Set one's password by the link, once. Then sign in."""
    if len(data.password) > TEXT_LIMIT:
        raise RequestError(400, "invalid", "password", f"at most {TEXT_LIMIT} characters")
    tries, address = tries_of(request, "invitation"), address_of(request)
    tries.begin(address, "token")
    try:
        found = await store_of(request).take_invitation(data.token, data.password, now_ms())
    except StoreError as fault:
        if fault.code == "short_password":  # the link may be right: nothing was guessed
            tries.uncount(address)
        raise
    tries.uncount(address)
    return InvitationPerson(name=found.name, role=found.role, expires_at=found.expires_at)


ROUTES = [
    account,
    change_password,
    begin_second_factor,
    confirm_second_factor,
    turn_second_factor_off,
    look,
    take,
]
