"""Compiling in a process of its own: how far it is, how it ends without a word, that it ends with the server.

What it makes is held by `test_server_drafts.py`; here the process is a script.
"""

import asyncio
import os
from pathlib import Path
from typing import Any

import pytest

from chinrest.server import compiling
from chinrest.server.compiling import Compiling
from chinrest.server.drafts_wire import CompileJob

JOB = CompileJob(
    draft="d",
    number=3,
    state="running",
    pieces=0,
    most=54,
    doing="",
    started_at=1,
    ended_at=None,
    pack=None,
    why="",
)


def runs(monkeypatch: pytest.MonkeyPatch, folder: Path, lines: str) -> None:
    script = folder / "process.sh"
    script.write_text(f"#!/bin/sh\n{lines}\n")
    script.chmod(0o700)
    monkeypatch.setattr(compiling.sys, "executable", str(script))


async def until(told: Any) -> None:
    for _ in range(3000):
        if told():
            return
        await asyncio.sleep(0.02)
    raise AssertionError("it did not come to that within a minute")


def begun(folder: Path) -> Compiling:
    made = Compiling(folder)
    store: Any = None  # a job that fails writes nothing
    made.start(store, JOB, b"{}", lambda: 9)
    return made


def test_a_job_tells_how_far_it_is_and_ends_with_the_server(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    runs(
        monkeypatch,
        tmp_path,
        f"""echo $$ > {tmp_path}/pid
echo '{{"piece":"wide, posterior_pole, average.medium.free"}}'
echo '{{"piece":"wide, posterior_pole, average.high.free"}}'
exec sleep 300""",
    )

    async def scenario() -> None:
        made = begun(tmp_path)
        await until(lambda: (made.job("d") or JOB).pieces == 2)
        job = made.job("d")
        assert job is not None
        assert (job.state, job.doing) == ("running", "wide, posterior_pole, average.high.free")
        assert made.busy()
        assert made.job("another") is None
        await made.stop()
        assert not made.busy()

    asyncio.run(scenario())
    with pytest.raises(ProcessLookupError):
        os.kill(int((tmp_path / "pid").read_text()), 0)
    assert list(tmp_path.glob("compiling-*")) == []


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ("exit 3", "without a word"),
        ("exit 0", "without a word"),
        ("""echo '{"faults":[]}'; exit 3""", "without a word"),
        ("""echo '{"faults":[{"file":"f.toml","key":"k","reason":"is wrong"}]}'""", "f.toml: k: is wrong"),
        ("echo 'not JSON'", "the server failed while compiling"),
        ("""echo '{"faults":[]}'""", "the server failed while compiling"),  # and it wrote no pack
    ],
)
def test_a_job_that_fails_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lines: str, why: str
) -> None:
    runs(monkeypatch, tmp_path, lines)

    async def scenario() -> CompileJob | None:
        made = begun(tmp_path)
        await until(lambda: not made.busy())
        return made.job("d")

    job = asyncio.run(scenario())
    assert job is not None
    assert (job.state, job.ended_at, job.pack) == ("failed", 9, None)
    assert why in job.why
