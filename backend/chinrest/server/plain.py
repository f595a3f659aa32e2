"""Refuses text that not every database can hold, once, before any handler has it."""

import re

from chinrest.server.context import Call
from chinrest.server.faults import RequestError

# as JSON writes it: a NUL must be escaped there, and a backslash before it may itself be an escaped one
_ESCAPED = re.compile(rb"(?<!\\)(?:\\\\)*\\u0000")
WHY = "holds a NUL character, which no text here may"


async def refuse_nul(request: Call) -> None:
    """Litestar's `before_request` hook: after the guards, so that a stranger's body is not read for this.

    Lines of the log are not looked at: they are kept as bytes, and have rules of their own.
    """
    path = request.scope["path"]
    if not path.startswith("/api/"):
        return
    if "\x00" in path:
        raise RequestError(400, "invalid", "path", WHY)
    for name, value in request.query_params.multi_items():
        if "\x00" in name or "\x00" in str(value):
            raise RequestError(400, "invalid", name.replace("\x00", "") or "query", WHY)
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if request.method == "POST" and kind == "application/json" and _ESCAPED.search(await request.body()):
        raise RequestError(400, "invalid", "body", WHY)
