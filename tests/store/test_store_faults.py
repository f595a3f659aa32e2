"""Bad moments: the server dies between two statements, is killed in mid-batch, or its caller goes away."""

import asyncio
import os
import random
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from invented import START, Phone
from sqlalchemy import event
from stored import everything, folds, opened, rows, runs, said, send, stored_raws

from chinrest.store import Store, StoreError
from chinrest.store.engines import Place
from chinrest.store.standing import Slot, Standing

WRITER = Path(__file__).with_name("writer.py")


class CrashError(Exception):
    """Stands for the machine stopping."""


class CrashAt:
    """Raises before the statement with this number, counted over the store's writes."""

    def __init__(self, store: Store, number: int) -> None:
        self._engine = store._engine.sync_engine
        self._left = number
        event.listen(self._engine, "before_cursor_execute", self._count)

    def _count(self, *_arguments: Any) -> None:
        self._left -= 1
        if self._left == 0:
            raise CrashError

    def stop(self) -> None:
        event.remove(self._engine, "before_cursor_execute", self._count)


def eventful(name: str = "phone") -> Phone:
    phone = Phone(name)
    phone.write("case.opened", "c1", code="T-1")
    phone.write("safety.noted", "c1", note="one")
    phone.write("safety.noted", None, note="of no case")
    phone.write("case.closed", "c1")
    return phone


@runs
async def test_between_any_two_statements_all_or_nothing(file: Place) -> None:
    """A batch that does everything at once: stores, promotes, sets aside, leaves stubs, heals, folds."""
    phone = eventful()
    late = phone.lines[1]
    phone.write_raw("step.done", b'{"salt":"s","step":"x"}', "c1", prev="a" * 64)
    phone.write("line.amended", "c1", line=phone.lines[3].envelope.id, body=None)
    raws = phone.raws
    async with opened(file, phone) as store:
        await send(store, phone, [raws[0], late.raw + b" ", *raws[3:5]])
        before = everything(file)
        batch = [*raws[1:], b"junk"]
        number = 0
        while True:
            number += 1
            crash = CrashAt(store, number)
            try:
                answers = await send(store, phone, batch)
            except CrashError:
                assert everything(file) == before
                continue
            finally:
                crash.stop()
            break
        assert number > 12  # it was stopped before each of a dozen statements
        assert said(answers) == ["stored", "stored", "repeat", "broken_chain", "stored", "malformed"]
        assert said(await send(store, phone, raws)) == ["repeat"] * 4 + ["broken_chain", "repeat"]
        found = folds(file)
        await store.refold()
        assert folds(file) == found
        assert (await store.incidents()).total == 2


@runs
async def test_a_caller_that_goes_away_does_not_stop_a_write_half_way(file: Place) -> None:
    phone = eventful()
    async with opened(file, phone) as store:
        for upto in range(1, 5):
            task = asyncio.ensure_future(send(store, phone, phone.raws[:upto]))
            await asyncio.sleep(random.Random(upto).random() * 0.004)
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task
        # the writes end by themselves; the next one waits its turn
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 4
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_closing_waits_for_running_writes(file: Place) -> None:
    phone = eventful()
    async with opened(file, phone) as store:
        task = asyncio.ensure_future(send(store, phone, phone.raws))
        await asyncio.sleep(0)
    assert said(await task) == ["stored"] * 4
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_two_stores_on_one_file_take_turns(file: Place) -> None:
    """As when a command writes beside the running server: nobody is told that the database is locked."""
    one, two = Phone("one"), Phone("two")
    for phone in (one, two):
        for _ in range(20):
            phone.write("safety.noted", "c1")
    async with opened(file, one) as server, opened(file, two) as command:

        async def one_by_one(store: Store, phone: Phone) -> None:
            for raw in phone.raws:
                assert said(await send(store, phone, [raw])) == ["stored"]

        await asyncio.gather(one_by_one(server, one), one_by_one(command, two))
        assert (await server.incidents()).total == 40
        positions = [row[0] for row in rows(file, "SELECT position FROM lines ORDER BY position")]
        assert positions == list(range(1, 41))


@pytest.mark.parametrize(("after_batches", "size"), [(1, 25), (4, 25), (15, 25), (40, 25), (3, 300)])
def test_killed_in_mid_batch_and_opened_again(
    file: Place, tmp_path: Path, after_batches: int, size: int
) -> None:
    """SIGKILL gives no chance to tidy up. What was acknowledged stands; nothing stands by halves or twice.
    Large batches are answered before they are folded, and the kill comes between."""
    phone = Phone("killed")
    for number in range(3000):
        kind = "safety.noted" if number % 7 == 0 else "step.done"
        phone.write(kind, f"case-{number // 90}", **({} if number % 7 == 0 else {"step": "x"}))
    lines = tmp_path / "lines.ndjson"
    lines.write_bytes(b"".join(raw + b"\n" for raw in phone.raws))

    async def enrol() -> None:
        async with opened(file, phone):
            pass

    asyncio.run(enrol())
    writer = subprocess.Popen(
        [sys.executable, str(WRITER), str(file), phone.device, str(lines), str(size)],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert writer.stdout is not None
    acknowledged = [name for _ in range(after_batches) for name in writer.stdout.readline().split()]
    os.kill(writer.pid, signal.SIGKILL)
    acknowledged += writer.stdout.read().rpartition(b"\n")[0].split()
    writer.stdout.close()
    assert writer.wait() == -signal.SIGKILL
    assert 0 < len(acknowledged) < 3000

    async def check() -> None:
        async with opened(file, phone) as store:
            if isinstance(file, Path):
                assert rows(file, "PRAGMA integrity_check") == [("ok",)]
            standing = stored_raws(file, phone.device)
            assert standing == phone.raws[: len(standing)]
            assert {line.envelope.id for line in phone.lines[: len(standing)]} >= {
                name.decode() for name in acknowledged
            }
            assert await store.holds(phone.device) == [(1, len(standing))]
            found = folds(file)
            await store.refold()
            assert folds(file) == found
            answers = said(await send(store, phone, phone.raws, at=START + 1))
            assert answers == ["repeat"] * len(standing) + ["stored"] * (3000 - len(standing))
        assert stored_raws(file, phone.device) == phone.raws

    asyncio.run(check())


@pytest.mark.embedded
@runs
async def test_a_full_disk_is_said_and_nothing_acknowledged_is_lost(file: Path) -> None:
    phone = eventful()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws[:2])
        with closing(sqlite3.connect(file)) as database:
            pages = database.execute("PRAGMA page_count").fetchone()[0]

        def fill(connection: Any, *_: Any) -> None:
            cursor = connection.cursor()
            cursor.execute(f"PRAGMA max_page_count={pages}")
            cursor.close()

        engine = store._engine.sync_engine
        event.listen(engine, "checkout", fill)
        many = [phone.write("step.done", "c1", step="x" * 8000).raw for _ in range(40)]
        with pytest.raises(StoreError, match=r"file: .*full"):
            await send(store, phone, many)
        assert stored_raws(file, phone.device) == phone.raws[:2]
        assert len((await store.timeline("c1") or pytest.fail("gone")).entries) == 2


def spoil_table(file: Path, name: str) -> None:
    with closing(sqlite3.connect(file)) as database:
        (page,) = database.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (name,)).fetchone()
        (size,) = database.execute("PRAGMA page_size").fetchone()
    content = bytearray(file.read_bytes())
    content[(page - 1) * size : page * size] = b"\xff" * size
    file.write_bytes(content)


@pytest.mark.embedded
@runs
async def test_a_damaged_page_is_said(file: Path) -> None:
    phone = eventful()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
    spoil_table(file, "incidents")
    async with opened(file) as store:
        with pytest.raises(StoreError, match=r"file: .*malformed"):
            await store.incidents()


@pytest.mark.timeout(60)
def test_one_hostile_phone_does_not_stop_the_others() -> None:
    """Each took a time that grew with the square or the cube of what was sent; now it takes a second."""
    waiting = {seq: [Slot(sha256=f"w{seq}", prev=f"v{seq}", line=f"l{seq}")] for seq in range(10, 40_000)}
    standing = Standing(seq=1, sha256="a", waiting=waiting)
    for number in range(20_000):
        standing.fork_off(f"f{number}")
    assert standing.unseated == []
    standing.fork_off("v39999")
    assert [slot.sha256 for _, slot, _ in standing.unseated] == ["w39999"]


@pytest.mark.timeout(60)
@runs
async def test_a_long_chain_of_amendments_beside_a_closing_line(file: Place) -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    last = phone.write("safety.noted", "c1")
    for _ in range(8000):
        last = phone.write("line.amended", "c1", line=last.envelope.id, body=None)
    last = phone.write("case.closed", "c1")
    for _ in range(1000):
        last = phone.write("line.amended", "c1", line=last.envelope.id, body=None)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await store.settle()
        assert [(row[4], row[5]) for row in folds(file)[0]] == [("closed", "completed")]
