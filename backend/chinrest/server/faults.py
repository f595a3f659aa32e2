"""One shape for every failure: `Fault`, whatever went wrong and wherever."""

import traceback
from pathlib import PurePath
from typing import Any

import structlog
from litestar import Request, Response
from litestar.exceptions import HTTPException, SerializationException, ValidationException

from chinrest.server.wire import Fault

log = structlog.get_logger("chinrest.server")

# what a bare HTTP status means here, where no handler said it better
BARE = {
    400: ("bad_request", "the request could not be read"),
    401: ("not_signed_in", "sign in first"),
    403: ("not_allowed", "this is not allowed to you"),
    404: ("not_found", "there is nothing at this address"),
    405: ("method_not_allowed", "this address does not take that method"),
    413: ("too_large", "the request is larger than this address takes"),
    415: ("wrong_media_type", "this address does not take that kind of content"),
    429: ("too_many_tries", "too many tries; wait and try again"),
    500: ("server_error", "the server failed; what was sent before is kept"),
    503: ("unavailable", "the server cannot answer now; try again"),
}


class RequestError(Exception):
    """Raised anywhere in a handler or guard: becomes an answer with this status and this fault."""

    def __init__(
        self, status: int, code: str, where: str, why: str, headers: dict[str, str] | None = None
    ) -> None:
        super().__init__(f"{code} at {where}: {why}")
        self.status = status
        self.fault = Fault(code=code, where=where, why=why)
        self.headers = headers or {}


def answer(status: int, fault: Fault, headers: dict[str, str] | None = None) -> Response[Fault]:
    return Response(fault, status_code=status, headers=headers, media_type="application/json")


def on_refused(_: Request[Any, Any, Any], error: RequestError) -> Response[Fault]:
    return answer(error.status, error.fault, error.headers)


def on_invalid(request: Request[Any, Any, Any], error: ValidationException) -> Response[Fault]:
    """The first thing wrong, by the name of its field."""
    details = error.extra if isinstance(error.extra, list) else []
    for detail in details:
        if isinstance(detail, dict):
            where = str(detail.get("key") or detail.get("source") or "body")
            return answer(400, Fault(code="invalid", where=where, why=str(detail.get("message", ""))))
    return answer(400, Fault(code="invalid", where=request.url.path, why=str(error.detail)))


def on_unreadable(_: Request[Any, Any, Any], error: SerializationException) -> Response[Fault]:
    return answer(400, Fault(code="malformed", where="body", why=str(error.detail)))


def on_http(request: Request[Any, Any, Any], error: HTTPException) -> Response[Fault]:
    status = error.status_code
    if isinstance(error.__cause__, SerializationException):
        return answer(400, Fault(code="malformed", where="body", why=str(error.__cause__)))
    code, why = BARE.get(status, ("refused", "the request was refused"))
    return answer(status, Fault(code=code, where=request.url.path, why=why), dict(error.headers or {}))


def on_undecodable(request: Request[Any, Any, Any], error: Exception) -> Response[Fault]:
    """Not UTF-8, or nested too deeply: the sender's fault while a body is decoded, ours anywhere else."""
    if any(frame.name == "decode_json" for frame in traceback.extract_tb(error.__traceback__)):
        return answer(400, Fault(code="malformed", where="body", why=f"not readable as JSON: {error}"))
    return on_failure(request, error)


def on_failure(request: Request[Any, Any, Any], error: Exception) -> Response[Fault]:
    """Anything unforeseen. Logged by kind and place only: the text of an error can quote what was sent."""
    frames = traceback.extract_tb(error.__traceback__)
    at = [f"{PurePath(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames[-8:]]
    log.error("failed", kind=type(error).__name__, at=at, route=request.scope.get("path_template"))
    code, why = BARE[500]
    return answer(500, Fault(code=code, where=request.url.path, why=why))


HANDLERS: dict[int | type[Exception], Any] = {
    RequestError: on_refused,
    ValidationException: on_invalid,
    SerializationException: on_unreadable,
    HTTPException: on_http,
    UnicodeDecodeError: on_undecodable,
    RecursionError: on_undecodable,
    Exception: on_failure,
}
