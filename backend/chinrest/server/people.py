"""Signing in and out."""

from litestar import Response, delete, get, post
from litestar.datastructures import Cookie
from litestar.params import JSONBody

from chinrest.server.context import Call, address_of, now_ms, settings_of, staff_of, store_of, tries_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import COOKIE, WITHDRAWN, json_body, own_page, signed_in
from chinrest.server.people_wire import Person, SignInRequest
from chinrest.server.scope import WITHIN
from chinrest.store.people import name_key
from chinrest.store.rows import Staff

SESSION_HOURS = 8
TEXT_LIMIT = 1024  # argon2 would hash any length; nobody types more


def _cookie(request: Call, token: str, seconds: int) -> Cookie:
    return Cookie(
        key=COOKIE,
        value=token,
        path="/",
        max_age=seconds,
        httponly=True,
        samesite="strict",
        secure=settings_of(request).tls,
    )


async def prove_code(request: Call, person: str, code: str) -> None:
    """A code of their authenticator, or a recovery code. Counted by the person, wherever the tries come from:
    only who has the password comes so far, and six digits are soon guessed by many at once."""
    tries = tries_of(request, "code")
    tries.begin(person, "code")
    if not await store_of(request).check_second_factor(person, code[:TEXT_LIMIT], now_ms()):
        why = "not the code of now, or it was used already; wait for the next one"
        raise RequestError(403, "wrong_code", "code", why)
    tries.forget(person)


async def _shown(request: Call, staff: Staff) -> Person:
    names = await store_of(request).sites()
    site_name = None if staff.site is None else names.get(staff.site, staff.site)
    return Person(id=staff.id, name=staff.name, role=staff.role, site=staff.site, site_name=site_name)


@post("/api/session", guards=[own_page, json_body], status_code=200, request_max_body_size=64 * 1024)
async def sign_in(request: Call, data: JSONBody[SignInRequest]) -> Response[Person]:
    """Sign in; the session stands in a cookie that no script can read."""
    if max(len(data.name), len(data.password), len(data.code)) > TEXT_LIMIT:
        raise RequestError(400, "invalid", "password", f"at most {TEXT_LIMIT} characters")
    # one counter for the pair, so that nobody can lock the officer out from elsewhere; one for the address
    pair, address = f"{address_of(request)} {name_key(data.name)}", address_of(request)
    by_pair, by_address = tries_of(request, "pair"), tries_of(request, "address")
    by_pair.begin(pair, "password")
    by_address.begin(address, "password")
    store = store_of(request)
    staff = await store.check_password(data.name, data.password)
    if staff is None:
        raise RequestError(401, "wrong_sign_in", "password", "no such name, or not its password")
    if staff.withdrawn:
        raise RequestError(403, "staff_withdrawn", "name", WITHDRAWN)
    if (await store.second_factor(staff.id)).on:
        if not data.code:
            by_pair.uncount(pair)
            by_address.uncount(address)
            why = "give the code that your authenticator shows, or a recovery code"
            raise RequestError(401, "code_wanted", "code", why)
        await prove_code(request, staff.id, data.code)
    by_pair.forget(pair)
    by_address.uncount(address)
    now, seconds = now_ms(), SESSION_HOURS * 3600
    token = await store.start_session(staff.id, now, now + seconds * 1000)
    person = await _shown(request, staff)
    return Response(person, cookies=[_cookie(request, token, seconds)])


@get("/api/session", guards=[signed_in], opt=WITHIN)
async def who(request: Call) -> Person:
    """Who is signed in here."""
    return await _shown(request, staff_of(request))


@delete("/api/session", guards=[own_page], status_code=204)
async def sign_out(request: Call) -> Response[None]:
    """End the session. Without one there is nothing to end, and that is no failure."""
    token = request.cookies.get(COOKIE)
    if token:
        await store_of(request).end_session(token)
    return Response(None, status_code=204, cookies=[_cookie(request, "", 0)])


ROUTES = [sign_in, who, sign_out]
