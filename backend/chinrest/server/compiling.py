"""Drafts are compiled in a process of their own, off the request, one at a time."""

import asyncio
import contextlib
import sys
import tempfile
from pathlib import Path
from typing import Any

import msgspec
import structlog
from msgspec import structs

from chinrest.pack.faults import PackFault
from chinrest.server.drafts_wire import CompileJob
from chinrest.store import Store

log = structlog.get_logger("chinrest.server")
PLANS = "drafts.plans.gz"
"""In the data folder: what was worked out for earlier drafts; it only saves time."""
MOST_LINE_BYTES = 4 * 1024 * 1024


class _Told(msgspec.Struct):
    piece: str = ""
    faults: list[PackFault] | None = None


class Compiling:
    """The job that runs, and how the last one of each draft went."""

    def __init__(self, data: Path) -> None:
        self._data = data
        self._jobs: dict[str, CompileJob] = {}
        self._task: asyncio.Task[None] | None = None

    def job(self, draft: str) -> CompileJob | None:
        return self._jobs.get(draft)

    def busy(self) -> bool:
        return self._task is not None and not self._task.done()

    def start(self, store: Store, job: CompileJob, tables: bytes, now: Any) -> None:
        """Begins, where none runs. `now` gives ms since 1970."""
        self._jobs[job.draft] = job
        self._task = asyncio.get_running_loop().create_task(self._run(store, job, tables, now))

    async def stop(self) -> None:
        """Ends what runs: whoever asked asks again, and goes on where the kept plans end."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

    async def _run(self, store: Store, job: CompileJob, tables: bytes, now: Any) -> None:
        def ended(**fields: Any) -> None:
            self._jobs[job.draft] = structs.replace(self._jobs[job.draft], ended_at=now(), doing="", **fields)

        try:
            with tempfile.TemporaryDirectory(dir=self._data, prefix="compiling-") as folder:
                source, target = Path(folder, "source.json"), Path(folder, "pack.json")
                await asyncio.to_thread(source.write_bytes, tables)
                faults = await self._work(job.draft, source, target)
                if faults is None:
                    ended(state="failed", why="the compiler ended without a word; its log is the server's")
                elif faults:
                    ended(state="failed", why=str(faults[0]))
                else:
                    sha256 = await store.put_pack(await asyncio.to_thread(target.read_bytes), now())
                    await store.note_draft_compiled(job.draft, job.number, sha256)
                    ended(state="done", pack=sha256)
        except asyncio.CancelledError:
            raise
        except Exception as error:
            log.error("compiling", kind=type(error).__name__)
            ended(state="failed", why="the server failed while compiling; try again")

    async def _work(self, draft: str, source: Path, target: Path) -> list[PackFault] | None:
        """Runs the process and hears what it tells; its faults, None where it ended without a word."""
        command = [sys.executable, "-m", "chinrest.pack.working", source, target, self._data / PLANS]
        process = await asyncio.create_subprocess_exec(
            *map(str, command), stdout=asyncio.subprocess.PIPE, limit=MOST_LINE_BYTES
        )
        faults: list[PackFault] | None = None
        try:
            if process.stdout is None:  # never, with a pipe
                return None
            async for line in process.stdout:
                told = msgspec.json.decode(line, type=_Told)
                if told.piece:
                    job = self._jobs[draft]
                    self._jobs[draft] = structs.replace(job, doing=told.piece, pieces=job.pieces + 1)
                faults = told.faults if told.faults is not None else faults
            return faults if await process.wait() == 0 else None
        finally:
            if process.returncode is None:
                process.kill()
                await process.wait()
