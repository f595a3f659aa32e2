"""Puts the application together."""

import time
from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager

import structlog
from litestar import Litestar, Request, Response
from litestar.config.compression import CompressionConfig
from litestar.datastructures import State
from litestar.types import ASGIApp, Receive, Scope, Send

from chinrest.server import authority_page, pages
from chinrest.server.compiling import Compiling
from chinrest.server.context import now_ms
from chinrest.server.faults import HANDLERS, answer
from chinrest.server.headers import stamp
from chinrest.server.keeping import say_backup
from chinrest.server.live import Live
from chinrest.server.openapi import openapi
from chinrest.server.pages import PACKED
from chinrest.server.patience import Patience
from chinrest.server.plain import refuse_nul
from chinrest.server.routes import HANDLERS as ROUTES
from chinrest.server.settings import Settings
from chinrest.server.tries import Tries
from chinrest.server.wire import Fault
from chinrest.store import Store, StoreError

log = structlog.get_logger("chinrest.server")

STATUS = {
    "not_enrolled": 401,
    "device_withdrawn": 403,
    "code_unknown": 404,
    "code_used": 409,
    "code_expired": 410,
    "device_taken": 409,
    "not_proved": 403,
    "token_taken": 409,
    "site_unknown": 404,
    "name_taken": 409,
    "staff_unknown": 404,
    "other_site": 403,
    "device_unknown": 404,
    "staff_withdrawn": 409,
    "short_password": 400,
    "invitation_unknown": 404,
    "invitation_expired": 410,
    "second_factor_on": 409,
    "second_factor_unknown": 409,
    "wrong_code": 403,
    "pack_unknown": 404,
    "pack_recalled": 409,
    "draft_unknown": 404,
    "changed_meanwhile": 409,
    "value": 400,
    "file": 503,
}


def on_store_fault(_: Request[object, object, State], error: StoreError) -> Response[Fault]:
    fault = Fault(code=error.code, where=error.where, why=error.why)
    if error.code == "file":  # where it is on this machine is for its log, and nobody else's business
        log.error("database", file=error.where, why=error.why)
        why = f"the server cannot use its database now ({error.why}); what it acknowledged before is kept"
        fault = Fault(code="unavailable", where="database", why=why)
    return answer(STATUS.get(error.code, 400), fault)


def timed(app: ASGIApp) -> ASGIApp:
    """Notes when a request began, for the log."""

    async def run(scope: Scope, receive: Receive, send: Send) -> None:
        scope["state"]["began"] = time.perf_counter()
        await app(scope, receive, send)

    return run


def create_app(settings: Settings) -> Litestar:
    """The whole server. It opens the store when it starts, and closes it when it ends."""

    @asynccontextmanager
    async def lifespan(app: Litestar) -> AsyncGenerator[None, None]:
        settings.data.mkdir(parents=True, exist_ok=True)
        app.state.store = await Store.open(settings.database)
        app.state.compiling = Compiling(settings.data)
        app.state.live = Live()
        await say_backup(app.state.store, settings, now_ms())
        try:
            yield
        finally:
            app.state.live.close()
            await app.state.compiling.stop()
            await app.state.store.close()

    state = State(
        {
            "settings": settings,
            "tries": {
                "pair": Tries(5, 300),
                "address": Tries(30, 300),
                "enrol": Tries(20, 900),
                "invitation": Tries(20, 900),
                "own": Tries(5, 300),
                "code": Tries(10, 900),
            },
        }
    )
    return Litestar(
        route_handlers=[*ROUTES, openapi, *authority_page.ROUTES, *pages.ROUTES],
        state=state,
        lifespan=[lifespan],
        exception_handlers={**HANDLERS, StoreError: on_store_fault},
        before_request=refuse_nul,
        before_send=[stamp],
        middleware=[timed, Patience()],
        # level 9 takes four times as long and makes an answer to a phone no smaller
        compression_config=CompressionConfig(backend="gzip", gzip_compress_level=4, exclude_opt_key=PACKED),
        openapi_config=None,
        logging_config=None,
    )
