"""Who may call what. Guards run before a body is read, so that a stranger learns nothing from its faults."""

from litestar.handlers import BaseRouteHandler

from chinrest.server.context import Connection, now_ms, store_of
from chinrest.server.faults import RequestError
from chinrest.server.scope import check_route
from chinrest.store.rows import DeviceRecord, Staff

COOKIE = "chinrest_session"
PAGE_HEADER = "X-Chinrest"
WITHDRAWN = "an admin has withdrawn your account; ask them about it"


async def _device(connection: Connection) -> DeviceRecord | None:
    """The device of the bearer token, null where none was sent. Refuses an unknown or withdrawn one."""
    scheme, _, token = connection.headers.get("authorization", "").partition(" ")
    if scheme.lower() != "bearer" or not token:
        return None
    device = await store_of(connection).device_by_token(token.strip())
    if device is None:
        why = "this server does not know this phone's token; enrol the phone with a new code"
        raise RequestError(401, "not_enrolled", "Authorization", why)
    if device.withdrawn:
        why = "this phone was withdrawn; it keeps its log: export it, and ask the lead for a new code"
        raise RequestError(403, "device_withdrawn", "Authorization", why)
    return device


def _all_of(device: DeviceRecord | None) -> None:
    """Refuses a token that may only send."""
    if device is not None and device.by == "send":
        why = "this token may only send, and get guidance; unlock the phone for anything else"
        raise RequestError(403, "may_only_send", "Authorization", why)


async def staff_now(connection: Connection) -> Staff | None:
    """Whose session the cookie is of at this moment; null where it ended."""
    token = connection.cookies.get(COOKIE)
    return await store_of(connection).session(token, now_ms()) if token else None


def _keep(connection: Connection, device: DeviceRecord | None, staff: Staff | None) -> None:
    connection.scope["state"]["device"] = device
    connection.scope["state"]["staff"] = staff


async def sender(connection: Connection, _: BaseRouteHandler) -> None:
    """An enrolled phone, locked or not: by its full token, or by the one that may only send."""
    device = await _device(connection)
    if device is None:
        raise RequestError(
            401, "not_enrolled", "Authorization", "send the phone's token; enrol the phone first"
        )
    _keep(connection, device, None)


async def enrolled(connection: Connection, handler: BaseRouteHandler) -> None:
    """An enrolled phone, by its full token."""
    await sender(connection, handler)
    _all_of(connection.scope["state"]["device"])


async def _person(connection: Connection) -> Staff:
    staff = await staff_now(connection)
    if staff is None:
        raise RequestError(401, "not_signed_in", "session", "sign in first; the session may have ended")
    if staff.withdrawn:
        raise RequestError(401, "staff_withdrawn", "session", WITHDRAWN)
    return staff


def _come_in(connection: Connection, staff: Staff, handler: BaseRouteHandler) -> None:
    """Every guard of people ends here: their role is right, and now their site."""
    check_route(staff, handler)
    _keep(connection, None, staff)


async def signed_in(connection: Connection, handler: BaseRouteHandler) -> None:
    """Whoever has an account, by the session's cookie."""
    _come_in(connection, await _person(connection), handler)


async def reviewer(connection: Connection, handler: BaseRouteHandler) -> None:
    """Who reads cases and decides about incidents: the officer, and the clinic's lead."""
    staff = await _person(connection)
    if staff.role not in ("officer", "lead"):
        why = "only the safety officer and the clinic's lead may do this"
        raise RequestError(403, "reviewer_only", "session", why)
    _come_in(connection, staff, handler)


async def overseer(connection: Connection, handler: BaseRouteHandler) -> None:
    """Who sees to it that the whole house keeps what it must: officer, lead and admin."""
    staff = await _person(connection)
    if staff.role not in ("officer", "lead", "admin"):
        why = "only the safety officer, the clinic's lead and an admin may see this"
        raise RequestError(403, "overseer_only", "session", why)
    _come_in(connection, staff, handler)


async def admin(connection: Connection, handler: BaseRouteHandler) -> None:
    """The admin only, who keeps the accounts and sees no case."""
    staff = await _person(connection)
    if staff.role != "admin":
        raise RequestError(403, "admin_only", "session", "only an admin may do this")
    _come_in(connection, staff, handler)


async def lead(connection: Connection, handler: BaseRouteHandler) -> None:
    """The clinic's lead only."""
    staff = await _person(connection)
    if staff.role != "lead":
        raise RequestError(403, "lead_only", "session", "only the clinic's lead may do this")
    _come_in(connection, staff, handler)


async def sender_or_signed_in(connection: Connection, handler: BaseRouteHandler) -> None:
    device = await _device(connection)
    if device is None:
        await signed_in(connection, handler)
    else:
        _keep(connection, device, None)


async def carrier(connection: Connection, handler: BaseRouteHandler) -> None:
    """Whoever may bring a file in: an enrolled phone, or somebody signed in at our own page."""
    await sender_or_signed_in(connection, handler)
    _all_of(connection.scope["state"]["device"])
    if connection.scope["state"]["staff"] is not None:
        await own_page(connection, handler)


async def own_page(connection: Connection, _: BaseRouteHandler) -> None:
    """A page of another site can send a form but not this header: only our own pages may change anything."""
    if connection.headers.get(PAGE_HEADER) != "1":
        raise RequestError(403, "not_own_page", PAGE_HEADER, f"send the header {PAGE_HEADER}: 1")


async def json_body(connection: Connection, _: BaseRouteHandler) -> None:
    """A form of another site cannot send this type either, and a wrong one is said before it is parsed."""
    takes(connection, "application/json")


def takes(connection: Connection, media_type: str) -> None:
    """Raises RequestError (415) unless the request's content is of this type."""
    sent = connection.headers.get("content-type", "").partition(";")[0].strip().lower()
    if sent != media_type:
        why = f"send {media_type}, not {sent[:60] or 'nothing'}"
        raise RequestError(415, "wrong_media_type", "Content-Type", why)
