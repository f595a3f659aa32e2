"""What the signed-in person's site lets them see and do: the one place that decides it.

A person with a site is refused by every route that does not say `opt=WITHIN`: a route that nobody thought
about is closed to them, not open. Where a route says so, the store that its handler gets (`context.store_of`)
sees and changes that site alone, by the queries' own scope.
"""

from typing import Any

from litestar.connection import ASGIConnection
from litestar.datastructures import State
from litestar.handlers import BaseRouteHandler

from chinrest.server.faults import RequestError
from chinrest.store.rows import Staff
from chinrest.store.scope import EVERYWHERE, Scope

_KEY = "within_site"
WITHIN = {_KEY: True}
"""Of a route that a person with a site may call: it gives and changes only what is of their site, what is of
nobody (guidance), or what is their own (their account)."""

WHOLE_HOUSE = "this is about every site; it needs somebody whose account has no site"


def scope_of(connection: ASGIConnection[Any, Any, Any, State]) -> Scope:
    """Of whoever is signed in, as a guard has just read them: a changed site counts from the next request.
    Phones and strangers have no scope of this kind: what they may ask is theirs by their token alone."""
    staff: Staff | None = connection.scope["state"].get("staff")
    return EVERYWHERE if staff is None else Scope(site=staff.site)


def check_route(staff: Staff, handler: BaseRouteHandler) -> None:
    """Refuses a person with a site where the whole house is at stake."""
    if staff.site is not None and not handler.opt.get(_KEY):
        raise RequestError(403, "whole_house", "session", WHOLE_HOUSE)
