"""Days on which the server, its database or its disk fails beneath phones that are sending."""

import contextlib
import os
import resource
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from campaign import Ground, Survived
from holding import hold
from simulated import AtOnce, Simulated, enrolled, post

from chinrest.store.refolding import AT_ONCE
from serving import Server

PHONES = 4


def killed(ground: Ground) -> Survived:
    """SIGKILL while four phones send, some of it at once so much that it is folded after the answer."""
    with Server(ground.folder) as server:
        phones = enrolled(server, PHONES, ground.dice)
        with AtOnce(phones, lambda phone, stop: _keep_sending(phone, [server.port], stop, much=True)):
            kills = 0
            while kills < ground.rounds or not sum(phone.broken for phone in phones):
                assert kills < ground.rounds + 10, "no request was under way at any of the kills"
                time.sleep(ground.dice.uniform(0.02, 0.5))
                server.kill()
                kills += 1
                server.start()
        broken = sum(phone.broken for phone in phones)
        return Survived(kills, hold(server.data / "chinrest.db", phones), f"{broken} requests broken")


def _keep_sending(phone: Simulated, ports: list[int], stop: threading.Event, *, much: bool = False) -> None:
    """`much`: now and then, more than is folded in the write that stores it."""
    while not stop.is_set():
        if much and phone.dice.random() < 0.1 and len(phone.lines) < 400:
            phone.live(AT_ONCE + 40)
            phone.send(phone.dice.choice(ports), 10 * AT_ONCE)
        elif len(phone.waiting()) < 100:
            phone.live(phone.dice.randint(1, 6))
        phone.send(phone.dice.choice(ports), phone.dice.randint(1, 20))
        time.sleep(0.02)  # the server is what is tried here, and not how fast phones can write
    phone.send_all(ports[0])


def restarted_postgresql(ground: Ground) -> Survived:
    """The database is stopped at once and started again, beneath two servers on it."""
    postgres = ground.tools.postgres
    address = postgres.fresh()
    with (
        ground.environment(CHINREST_DATABASE=address),
        Server(ground.room("one")) as one,
        Server(ground.room("two")) as two,
    ):
        phones = enrolled(one, PHONES, ground.dice)
        with AtOnce(phones, lambda phone, stop: _keep_sending(phone, [one.port, two.port], stop)):
            for _ in range(ground.rounds):
                time.sleep(ground.dice.uniform(0.05, 0.6))
                postgres.restart()
            time.sleep(0.3)
        away = sum(phone.turned_away for phone in phones)
        return Survived(ground.rounds, hold(address, phones), f"{away} batches turned away")


def full_disk(ground: Ground) -> Survived:
    """No room, by a limit on how large the database's files may grow, and by a file system that is full."""
    ways = [_limited] if os.geteuid() else [_limited, _small_disk]
    lines = away = 0
    for number, way in enumerate(ways):
        folder = ground.room(f"disk-{number}")
        with way(folder, ground) as (server, fill, free):
            phones = enrolled(server, 2, ground.dice)
            for _ in range(ground.rounds):
                with AtOnce(phones, lambda phone, stop: _keep_sending(phone, [server.port], stop)):
                    time.sleep(ground.dice.uniform(0.05, 0.3))
                    before = sum(phone.turned_away for phone in phones)
                    fill()
                    until = time.monotonic() + 20
                    while sum(phone.turned_away for phone in phones) == before:
                        assert time.monotonic() < until, "the disk never filled up"
                        assert server.process is not None
                        assert server.process.poll() is None, f"the server died:\n{server.output()}"
                        time.sleep(0.02)
                    free()
            away += sum(phone.turned_away for phone in phones)
            lines += hold(server.data / "chinrest.db", phones)
    return Survived(len(ways) * ground.rounds, lines, f"{away} batches turned away")


@contextmanager
def _limited(folder: Path, ground: Ground) -> Iterator[tuple[Server, object, object]]:
    """Writes past a size fail, as they do when a quota is used up."""
    with Server(folder) as server:

        def fill() -> None:
            assert server.process is not None
            now = max(file.stat().st_size for file in server.data.glob("chinrest.db*"))
            most = now + ground.dice.randint(0, 30_000)
            resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))

        def free() -> None:
            assert server.process is not None
            unlimited = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
            resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, unlimited)

        yield server, fill, free


@contextmanager
def _small_disk(folder: Path, ground: Ground) -> Iterator[tuple[Server, object, object]]:
    """A file system of its own, which something else fills (only root may mount one)."""
    data = folder / "data"
    data.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", data], check=True)
    other = data / "other"
    try:
        with Server(folder) as server:

            def fill() -> None:
                room = shutil.disk_usage(data).free - ground.dice.randint(0, 30_000)
                # the server writes meanwhile: what doesn't go in any more is not needed
                with contextlib.suppress(OSError), other.open("wb", buffering=0) as file:
                    file.write(bytes(max(room, 0)))

            yield server, fill, other.unlink
    finally:
        subprocess.run(["umount", data], check=True)


def read_only(ground: Ground) -> Survived:
    """The file may not be written, as after a restore under another name: the server says so and keeps
    nothing; put right, all goes on."""
    server = Server(ground.folder).start()
    try:
        phones = enrolled(server, 2, ground.dice)
        database = server.data / "chinrest.db"
        refusals = 0
        for number in range(ground.rounds):
            for phone in phones:
                phone.live(ground.dice.randint(3, 12))
                phone.send(server.port, ground.dice.randint(1, 10))
            server.stop()
            if number % 2:  # the file alone, and the folder with it
                server.data.chmod(0o555)
            database.chmod(0o444)
            said = _start_as_anyone(server)
            assert "readonly" in said or "read-only" in said or "Permission denied" in said, said
            for phone in phones:
                phone.live(3)
                assert not phone.send(server.port), "somebody answered"
            refusals += 1
            server.data.chmod(0o755)
            database.chmod(0o644)
            server.start()
            for phone in phones:
                phone.send_all(server.port)
        return Survived(refusals, hold(database, phones))
    finally:
        server.data.chmod(0o755)
        server.stop()


def _start_as_anyone(server: Server) -> str:
    """Start it as somebody to whom the modes of files apply (not so to root); what it said as it ended."""
    command = [sys.executable, "-m", "chinrest.cli", "serve", "--data", str(server.data)]
    command += ["--port", str(server.port), *server.arguments]
    if os.geteuid() == 0:
        command = ["setpriv", "--bounding-set", "-dac_override", "--inh-caps", "-dac_override", *command]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, cwd="/")
    assert done.returncode not in (0, -signal.SIGKILL), "it serves from a file that it may not write"
    assert "Traceback" not in done.stderr, done.stderr
    return done.stdout + done.stderr


def fifty_phones(ground: Ground) -> Survived:
    """Fifty phones send at once to one server, and to two on one PostgreSQL database."""
    lines = 0
    with Server(ground.room("alone")) as server:
        lines += _crowd(ground, server, [server.port], server.data / "chinrest.db")
    address = ground.tools.postgres.fresh()
    with (
        ground.environment(CHINREST_DATABASE=address),
        Server(ground.room("one")) as one,
        Server(ground.room("two")) as two,
    ):
        lines += _crowd(ground, one, [one.port, two.port], address)
    return Survived(2, lines, "50 phones each time")


def _crowd(ground: Ground, server: Server, ports: list[int], place: Path | str) -> int:
    phones = enrolled(server, 50, ground.dice)
    together = threading.Barrier(len(phones))

    def visit(phone: Simulated, _stop: threading.Event) -> None:
        phone.live(20)
        together.wait(60)
        while phone.waiting():
            assert phone.send(phone.dice.choice(ports), 8), "a server that runs turned a phone away"

    with AtOnce(phones, visit):
        pass
    assert post(server.port, "/api/enrol", b"{}", {})[0] == 400  # still itself
    return hold(place, phones)
