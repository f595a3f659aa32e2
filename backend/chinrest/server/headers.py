"""Headers that every answer carries, and the one line that is logged of each."""

import time
from typing import Any

import structlog
from litestar.datastructures import MutableScopeHeaders
from litestar.types import Message, Scope

log = structlog.get_logger("chinrest.server")

# Nothing inline, nothing from elsewhere. The one Trusted Types policy is for the address of the service
# worker: `navigator.serviceWorker.register` is a script sink.
POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types chinrest-sw",
    ]
)

# No Strict-Transport-Security: it would hold for every port of the hub's name, also for the plain page that
# hands out the hub's certificate.
FIXED = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=()",
}


async def stamp(message: Message, scope: Scope) -> None:
    """Litestar's `before_send` hook, which also runs for what no route and no handler answered."""
    if message["type"] != "http.response.start":
        return
    headers = MutableScopeHeaders.from_message(message)
    for name, value in FIXED.items():
        headers.setdefault(name, value)
    headers.setdefault("Cache-Control", "no-store")
    _log(message["status"], scope)


def _log(status: int, scope: Any) -> None:
    """The route's template and not the path: a path can name a case."""
    began = scope["state"].get("began")
    took = None if began is None else round((time.perf_counter() - began) * 1000, 1)
    log.info("answered", method=scope["method"], route=scope.get("path_template"), status=status, ms=took)
