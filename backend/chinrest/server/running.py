"""Runs the application: one process, one worker, since one connection writes."""

import asyncio
import contextlib
import gc
import socket
import ssl
from pathlib import Path

import structlog
import uvicorn
from litestar import Litestar

from chinrest.server.authority import Authority, TlsFiles
from chinrest.server.heads import HeadPatience

log = structlog.get_logger("chinrest.server")
DAY_S = 24 * 3600.0


class _Serving(uvicorn.Server):
    """Ends the desk's streams before it waits for what is still being answered. What stands at its start
    stays to its end, and the collector looks through it no more: each time took it longer than an answer."""

    def __init__(self, config: uvicorn.Config, app: Litestar) -> None:
        super().__init__(config)
        self._app = app

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        gc.collect()
        gc.freeze()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._app.state.live.close()
        await super().shutdown(sockets)


async def run_server(
    app: Litestar,
    bound: socket.socket,
    tls: TlsFiles | None = None,
    authority: Authority | None = None,
    proxy: str | None = None,
) -> None:
    """Serve until told to stop. With an authority its leaf is renewed in time, without a restart.

    `proxy`: the address of a proxy in front, which alone is believed about where a request came from.
    """
    config = uvicorn.Config(
        app,
        http=HeadPatience,
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=proxy is not None,
        forwarded_allow_ips=proxy,
        timeout_graceful_shutdown=5,
        ssl_certfile=tls.certificate if tls else None,
        ssl_keyfile=tls.key if tls else None,
    )
    config.load()
    renewal = None
    if authority is not None and isinstance(config.ssl, ssl.SSLContext):
        renewal = asyncio.create_task(_keep_leaf(authority, config.ssl, DAY_S))
    try:
        await _Serving(config, app).serve(sockets=[bound])
    finally:
        if renewal is not None:
            renewal.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await renewal


async def _keep_leaf(authority: Authority, context: ssl.SSLContext, every_s: float) -> None:
    while True:
        await asyncio.sleep(every_s)
        if authority.renew():
            load_leaf(context, authority.leaf.certificate, authority.leaf.key)
            log.info("renewed", what="the hub's certificate")


def load_leaf(context: ssl.SSLContext, certificate: Path, key: Path) -> None:
    """New connections get the new certificate; those that stand keep theirs."""
    context.load_cert_chain(certificate, key)
