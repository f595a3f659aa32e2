"""A body that trickles, or stops, is given up in bounded time; one that is only slow is taken."""

import asyncio
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import uvicorn
from callers import House
from litestar import Litestar, Request, post

from chinrest.server.app import create_app
from chinrest.server.faults import HANDLERS
from chinrest.server.heads import HeadPatience
from chinrest.server.patience import Patience

PAUSE_S, WHOLE_S = 0.4, 1.5


@post("/taken", status_code=200)
async def taken(request: Request[Any, Any, Any]) -> dict[str, int]:
    return {"bytes": len(await request.body())}


@contextmanager
def listening(app: Litestar, http: Any = "auto") -> Iterator[int]:
    """The application behind a real socket, in a thread of its own; gives the port."""
    bound = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, http=http, lifespan="on", log_config=None, access_log=False))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[bound])), daemon=True)
    thread.start()
    try:
        yield bound.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(20)
        bound.close()
    assert not thread.is_alive()


@pytest.fixture
def port() -> Iterator[int]:
    app = Litestar(
        [taken],
        middleware=[Patience(PAUSE_S, WHOLE_S)],
        exception_handlers=HANDLERS,
        openapi_config=None,
        logging_config=None,
    )
    with listening(app) as found:
        yield found


def send(port: int, length: int, parts: Callable[[socket.socket], None]) -> tuple[bytes, bool]:
    """What is answered to a body sent by `parts`, and whether the server then closed the connection."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as wire:
        head = f"POST /taken HTTP/1.1\r\nHost: x\r\nContent-Length: {length}\r\n\r\n"
        wire.sendall(head.encode())
        parts(wire)
        said = b""
        while b"}" not in said:
            got = wire.recv(65536)
            if not got:
                return said, True
            said += got
        wire.settimeout(3)
        try:
            return said, wire.recv(1) == b""
        except TimeoutError:
            return said, False


def trickle(wire: socket.socket, parts: int, every_s: float) -> None:
    for _ in range(parts):
        try:
            wire.sendall(b"x")
        except OSError:  # given up by the other side, which is the point
            return
        time.sleep(every_s)


def test_a_body_that_stops_is_given_up(port: int) -> None:
    began = time.monotonic()
    said, closed = send(port, 100, lambda wire: wire.sendall(b"only this"))
    assert said.startswith(b"HTTP/1.1 408 "), said
    assert set(json.loads(said.partition(b"\r\n\r\n")[2])) == {"code", "where", "why"}
    assert closed, "the rest may never come: the connection must not wait for it"
    assert PAUSE_S <= time.monotonic() - began < 4


def test_a_body_that_never_begins_is_given_up(port: int) -> None:
    said, closed = send(port, 100, lambda _wire: None)
    assert said.startswith(b"HTTP/1.1 408 "), said
    assert closed


def test_a_body_that_trickles_on_and_on_is_given_up(port: int) -> None:
    """Each pause is short, and the whole is not."""
    began = time.monotonic()
    said, closed = send(port, 1000, lambda wire: trickle(wire, 24, 0.1))
    assert said.startswith(b"HTTP/1.1 408 "), said
    assert closed
    assert time.monotonic() - began < 6


def test_a_slow_body_in_time_is_taken(port: int) -> None:
    said, closed = send(port, 5, lambda wire: trickle(wire, 5, 0.1))
    assert said.startswith(b"HTTP/1.1 200 "), said
    assert b'{"bytes":5}' in said
    assert not closed


def test_the_server_has_this_patience(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """The application itself, with a shorter patience: a stranger's body on an address that takes one."""
    monkeypatch.setattr("chinrest.server.app.Patience", lambda: Patience(PAUSE_S, WHOLE_S))
    with (
        listening(create_app(house.settings)) as found,
        socket.create_connection(("127.0.0.1", found), timeout=10) as wire,
    ):
        head = (
            "POST /api/enrol HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 50\r\n"
        )
        wire.sendall(head.encode() + b"\r\n{")
        said = b""
        while got := wire.recv(65536):
            said += got
    assert said.startswith(b"HTTP/1.1 408 "), said
    assert b"too_slow" in said


HEAD_S = 1.0
HEAD = b"POST /taken HTTP/1.1\r\nHost: x\r\nContent-Length: 2\r\n\r\nhi"


class Hurried(HeadPatience):
    head_s = HEAD_S


@pytest.fixture
def heads() -> Iterator[int]:
    with listening(Litestar([taken], openapi_config=None, logging_config=None), Hurried) as found:
        yield found


def answer_of(wire: socket.socket) -> bytes:
    said = b""
    while b"}" not in said and (got := wire.recv(65536)):
        said += got
    return said


def rest_of(wire: socket.socket) -> bytes:
    """All that comes until the other side closes."""
    said = b""
    while got := wire.recv(65536):
        said += got
    return said


def test_a_head_that_trickles_is_given_up_while_others_are_served(heads: int) -> None:
    """Each byte comes within any pause; the whole head does not come in time."""
    with socket.create_connection(("127.0.0.1", heads), timeout=10) as slow:
        began = time.monotonic()
        answered = 0
        for byte in HEAD[:40]:
            try:
                slow.sendall(bytes([byte]))
            except OSError:  # given up by the other side, which is the point
                break
            with socket.create_connection(("127.0.0.1", heads), timeout=10) as other:
                other.sendall(HEAD)
                answered += b'{"bytes":2}' in answer_of(other)
            time.sleep(0.05)
        try:
            said = rest_of(slow)
        except ConnectionResetError:  # it wrote after the other side had closed
            said = b"HTTP/1.1 408 "
        assert said.startswith(b"HTTP/1.1 408 "), said
        assert HEAD_S <= time.monotonic() - began < 10
    assert answered


def test_a_connection_that_says_nothing_is_closed(heads: int) -> None:
    with socket.create_connection(("127.0.0.1", heads), timeout=10) as wire:
        began = time.monotonic()
        rest_of(wire)
        assert HEAD_S <= time.monotonic() - began < 10


def test_the_next_head_on_a_connection_has_its_own_time(heads: int) -> None:
    with socket.create_connection(("127.0.0.1", heads), timeout=10) as wire:
        for _ in range(5):  # longer in all than one head may take
            wire.sendall(HEAD[:20])
            time.sleep(HEAD_S / 4)
            wire.sendall(HEAD[20:])
            assert b'{"bytes":2}' in answer_of(wire)
        wire.sendall(HEAD[:20])
        assert rest_of(wire).startswith(b"HTTP/1.1 408 ")


def test_a_slow_body_is_no_slow_head(heads: int) -> None:
    with socket.create_connection(("127.0.0.1", heads), timeout=10) as wire:
        wire.sendall(HEAD[:-2])
        time.sleep(2 * HEAD_S)
        wire.sendall(b"hi")
        assert b'{"bytes":2}' in answer_of(wire)
