"""At what load to move from the embedded database to PostgreSQL: phones that all sync at once, into one
server process on SQLite and into 1, 2 and 4 on one PostgreSQL, in the same run on the same machine and disk.

Every database forces its commits to the disk here. The phones run in this process and take their part of the
machine, the same part each time.
"""

import http.client
import json
import os
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from chinrest.log.signing import new_key, public_of

from . import server_side
from .server_side import batches, invented_lines
from .table import Row

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from postgresql import Postgres
from serving import Server

PHONES = (4, 16)
LINES_EACH = 500
BATCH_BYTES = 16 * 1024
"""Some 25 lines: what a phone sends that syncs while it is used."""

SITES = ("harbour", "hillside", "lighthouse")


@dataclass
class Sender:
    """A phone that was enrolled at the servers, with its batches made beforehand."""

    token: str
    bodies: list[bytes]


@dataclass
class Load:
    lines_s: float
    p95_ms: float


def lead_of(server: Server) -> tuple[http.client.HTTPConnection, dict[str, str]]:
    name, password = server.sign_in("lead")
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)
    headers = {"Content-Type": "application/json", "X-Chinrest": "1"}
    connection.request("POST", "/api/session", json.dumps({"name": name, "password": password}), headers)
    answer = connection.getresponse()
    answer.read()
    return connection, {**headers, "Cookie": str(answer.getheader("set-cookie")).partition(";")[0]}


def senders(server: Server, count: int) -> list[Sender]:
    connection, headers = lead_of(server)

    def asked(path: str, body: dict[str, str]) -> dict[str, str]:
        connection.request("POST", path, json.dumps(body), headers)
        found: dict[str, str] = json.loads(connection.getresponse().read())
        return found

    made = []
    for number in range(count):
        label, key = f"bench {number}", new_key()
        code = asked("/api/enrolment-codes", {"site": SITES[number % len(SITES)], "label": label})["code"]
        device = str(server_side.uuid.uuid4())
        public = public_of(key)
        token = asked("/api/enrol", {"code": code, "device": device, "public_key": public, "label": label})
        with (
            patch.object(server_side, "LINES", LINES_EACH),
            patch.object(server_side, "BATCH_BYTES", BATCH_BYTES),
        ):
            made.append(Sender(token["token"], batches(device, key, invented_lines(device, public))))
    connection.close()
    return made


def measured(servers: list[Server], count: int) -> Load:
    """All phones at once, each on a connection of its own to one of the servers, one batch after another."""
    phones = senders(servers[0], count)
    ready = threading.Barrier(count + 1)
    took: list[float] = []
    faults: list[str] = []

    def send(sender: Sender, port: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        headers = {
            "Authorization": f"Bearer {sender.token}",
            "Content-Type": "application/x-ndjson",
            "Content-Encoding": "gzip",
        }
        ready.wait()
        for body in sender.bodies:
            began = time.perf_counter()
            connection.request("POST", "/api/sync", body, headers)
            answer = connection.getresponse()
            said = answer.read()
            took.append(time.perf_counter() - began)
            if answer.status != 200 or any(x["status"] != "stored" for x in json.loads(said)["lines"]):
                faults.append(f"{answer.status}: {said[:200]!r}")
        connection.close()

    threads = [
        threading.Thread(target=send, args=(phone, servers[number % len(servers)].port))
        for number, phone in enumerate(phones)
    ]
    for thread in threads:
        thread.start()
    ready.wait()
    began = time.perf_counter()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - began
    if faults:
        raise RuntimeError(faults[0])
    return Load(count * LINES_EACH / seconds, statistics.quantiles(took, n=20)[-1] * 1000)


@contextmanager
def serving(folder: Path, processes: int, database: str | None) -> Iterator[list[Server]]:
    with ExitStack() as stack:
        if database is not None:
            stack.enter_context(patch.dict(os.environ, {"CHINREST_DATABASE": database}))
        servers = []
        for number in range(processes):
            own = folder / str(number)
            own.mkdir(parents=True)
            servers.append(stack.enter_context(Server(own)))
        yield servers


def measure() -> list[Row]:
    rows = []
    postgres = Postgres(durable=True).start()
    try:
        with tempfile.TemporaryDirectory() as temporary:
            folder = Path(temporary)
            embedded: dict[int, Load] = {}
            for name, processes in (
                ("SQLite", 1),
                *((f"PostgreSQL, {n} server {'process' if n == 1 else 'processes'}", n) for n in (1, 2, 4)),
            ):
                database = None if name == "SQLite" else postgres.fresh()
                with serving(folder / name, processes, database) as servers:
                    measured(servers, processes)  # warms every process
                    for count in PHONES:
                        load = measured(servers, count)
                        base = embedded.setdefault(count, load)
                        rows.append(
                            Row(
                                f"{name}, {count} phones at once: lines accepted a second; p95 of an answer",
                                f"{load.lines_s:,.0f} ({load.lines_s / base.lines_s:.2f} ×); "
                                f"{load.p95_ms:.0f} ms ({load.p95_ms / base.p95_ms:.2f} ×)",
                            )
                        )
    finally:
        postgres.stop()
    return rows
