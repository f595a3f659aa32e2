"""Lines a second into the real server, beside a bare ASGI app that reads the same bodies and forgets them."""

import gzip
import http.client
import json
import os
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from hashlib import sha256
from pathlib import Path

from chinrest.log.case_events import CaseClosed, CaseOpened, ComfortNoted, StepDone
from chinrest.log.house_events import DeviceEnrolled
from chinrest.log.signing import new_key, public_of, sign
from chinrest.log.write import ChainWriter, new_salt

from .table import Row

LINES = 10_000
BATCH_BYTES = 256 * 1024
BARE = """
async def app(scope, receive, send):
    if scope["type"] == "lifespan":
        while True:
            message = await receive()
            await send({"type": message["type"] + ".complete"})
            if message["type"] == "lifespan.shutdown":
                return
    more = True
    while more:
        more = (await receive()).get("more_body", False)
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
    await send({"type": "http.response.body", "body": b"{}"})
"""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def started(command: list[str], port: int, folder: str) -> Iterator[None]:
    environment = {**os.environ, "PYTHONPATH": folder}
    process = subprocess.Popen(
        command, cwd=folder, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        deadline = time.monotonic() + 60
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                if process.poll() is not None or time.monotonic() > deadline:
                    raise RuntimeError(f"{command} did not start") from None
                time.sleep(0.1)
        yield
    finally:
        process.terminate()
        process.wait(20)


def invented_lines(device: str, public_key: str) -> list[bytes]:
    """An invented day of cases: lines of the kinds and sizes that a phone writes."""
    now = time.time_ns() // 1_000_000
    writer = ChainWriter(device, boot="bench")
    made = [
        writer.write(
            DeviceEnrolled(salt=new_salt(), public_key=public_key, label="bench", site="harbour"),
            at=now,
            mono=0,
        )
    ]
    case = ""
    for i in range(LINES - 1):
        place = i % 50
        if place == 0:
            case = str(uuid.uuid4())
            body = CaseOpened(
                salt=new_salt(),
                code=f"C-{i}",
                eyes=["right", "left"],
                study_eye="right",
                modalities=["fluorescein"],
                cross_sections=False,
                flags=[],
            )
        elif place == 49:
            body = CaseClosed(salt=new_salt(), outcome="completed")
        elif place % 10 == 0:
            body = ComfortNoted(salt=new_salt(), score=2, bothers=["light"])
        else:
            body = StepDone(salt=new_salt(), step=f"step_{place}", eye="right", optic="ultrawide")
        made.append(writer.write(body, at=now + i, mono=i, actor="staff", case=case, pack="0" * 64))
    return [line.envelope_bytes + b"\t" + line.body_bytes for line in made]


def batches(device: str, key: str, lines: list[bytes]) -> list[bytes]:
    """The lines as gzip bodies of about 256 KiB before packing, as the phone sends them."""
    made, part, size = [], [], 0
    seq = 0

    def close() -> None:
        digest = sha256(part[-1].partition(b"\t")[0]).hexdigest()
        head = {
            "device": device,
            "head_seq": seq,
            "head_sha256": digest,
            "signature": sign(key, digest),
            "waiting": len(lines) - seq,
            "now": time.time_ns() // 1_000_000,
            "app": "bench",
            "epoch": None,
            "cursor": None,
        }
        made.append(gzip.compress(json.dumps(head).encode() + b"\n" + b"".join(x + b"\n" for x in part), 6))

    for line in lines:
        part.append(line)
        size += len(line)
        seq += 1
        if size > BATCH_BYTES:
            close()
            part, size = [], 0
    if part:
        close()
    return made


def send_all(port: int, bodies: list[bytes], headers: dict[str, str]) -> float:
    """Seconds for all bodies, one after another on one connection."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    began = time.perf_counter()
    for body in bodies:
        connection.request("POST", "/api/sync", body, headers)
        answer = connection.getresponse()
        said = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{answer.status}: {said[:300]!r}")
        for line in json.loads(said).get("lines", []):
            if line["status"] != "stored":
                raise RuntimeError(f"not stored: {line}")
    seconds = time.perf_counter() - began
    connection.close()
    return seconds


def enrolled(port: int, data: Path, device: str, public_key: str) -> str:
    """Enrols the bench's device by a code of the real command line; returns its token."""
    said = subprocess.run(
        [
            sys.executable,
            "-m",
            "chinrest.cli",
            "enrol",
            "--site",
            "harbour",
            "--label",
            "bench",
            "--data",
            data,
            "--json",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    request = {
        "code": json.loads(said.stdout)["code"],
        "device": device,
        "public_key": public_key,
        "label": "bench",
    }
    connection.request("POST", "/api/enrol", json.dumps(request), {"Content-Type": "application/json"})
    answer = json.loads(connection.getresponse().read())
    connection.close()
    return str(answer["token"])


def folded(data: Path) -> float:
    """Seconds until no line that the server of this folder has stored waits to be folded."""
    began = time.perf_counter()
    with closing(sqlite3.connect(f"file:{data}/chinrest.db?mode=ro", uri=True)) as database:
        while database.execute("SELECT count(*) FROM unfolded").fetchone() != (0,):
            if time.perf_counter() - began > 60:
                raise RuntimeError("it was not folded within a minute")
            time.sleep(0.005)
    return time.perf_counter() - began


def measure() -> list[Row]:
    device, key = str(uuid.uuid4()), new_key()
    public_key = public_of(key)
    bodies = batches(device, key, invented_lines(device, public_key))
    headers = {"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"}
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "bare.py").write_text(BARE)
        port = free_port()
        with started([sys.executable, "-m", "uvicorn", "bare:app", "--port", str(port)], port, folder):
            send_all(port, bodies, headers)  # the first pass warms both ends
            bare = send_all(port, bodies, headers)
        port = free_port()
        data = Path(folder, "data")
        serve = [
            sys.executable,
            "-m",
            "chinrest.cli",
            "serve",
            "--demo",
            "--data",
            str(data),
            "--port",
            str(port),
        ]
        with started(serve, port, folder):
            token = enrolled(port, data, device, public_key)
            seconds = send_all(port, bodies, {**headers, "Authorization": f"Bearer {token}"})
            later = folded(data)
    return [
        Row(
            f"server: {LINES} lines in {len(bodies)} batches, stored and answered",
            f"{LINES / seconds:,.0f} lines/s",
        ),
        Row("the same, and folded", f"{LINES / (seconds + later):,.0f} lines/s"),
        Row("bare ASGI app that discards the same bodies", f"{LINES / bare:,.0f} lines/s"),
        Row("server against bare", f"{seconds / bare:.1f} × the time"),
    ]
