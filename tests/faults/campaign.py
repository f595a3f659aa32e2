"""The campaign: every kind of bad day, from a seed. A day raises where anything was lost or doubled."""

from __future__ import annotations

import hashlib
import os
import random
import tempfile
import time
import traceback
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from browsing import Contexts, chromium_path
from postgresql import Postgres

if TYPE_CHECKING:
    from playwright.sync_api import Playwright


class Tools:
    """What days share and is slow to start. `close` ends it."""

    def __init__(self, playwright: Callable[[], Playwright]) -> None:
        self._playwright = playwright
        self._ends = ExitStack()

    @cached_property
    def playwright(self) -> Playwright:
        return self._playwright()

    @cached_property
    def postgres(self) -> Postgres:
        server = Postgres().start()
        self._ends.callback(server.stop)
        return server

    @contextmanager
    def contexts(self) -> Iterator[Contexts]:
        """A browser of one day's own: a day may leave it unwell."""
        browser = self.playwright.chromium.launch(executable_path=chromium_path())
        made = Contexts(self.playwright, browser)
        try:
            yield made
        finally:
            made.close()
            browser.close()

    def close(self) -> None:
        self._ends.close()


@dataclass
class Ground:
    """What one day has: a folder of its own, dice from its seed, and how much is to go wrong (`rounds`)."""

    folder: Path
    dice: random.Random
    tools: Tools
    rounds: int

    def room(self, name: str) -> Path:
        made = self.folder / name
        made.mkdir()
        return made

    @contextmanager
    def environment(self, **values: str) -> Iterator[None]:
        before = {name: os.environ.get(name) for name in values}
        os.environ.update(values)
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value


@dataclass(frozen=True)
class Survived:
    """How often the thing really happened, how many lines were held against what was written, and what else
    was counted."""

    faults: int
    lines: int
    note: str = ""


Day = Callable[[Ground], Survived]


@dataclass(frozen=True)
class Done:
    """`fault`: why the day was not survived; null where it was."""

    name: str
    seed: int
    survived: Survived | None
    fault: str | None
    seconds: float


def run_day(name: str, day: Day, seed: int, rounds: int, tools: Tools) -> Done:
    """One day, to its end; whatever it raises is kept."""
    dice = random.Random(int.from_bytes(hashlib.sha256(f"{name}/{seed}".encode()).digest()[:8], "big"))
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="chinrest-day-", ignore_cleanup_errors=True) as folder:
        try:
            survived = day(Ground(Path(folder), dice, tools, rounds))
            if survived.faults == 0:
                raise AssertionError("nothing went wrong: nothing was tested")
        except Exception:  # the campaign goes on, and tells it at its end
            return Done(name, seed, None, traceback.format_exc(), time.monotonic() - began)
    return Done(name, seed, survived, None, time.monotonic() - began)


def table(done: Iterable[Done]) -> str:
    """One row a kind of day: how many days, how many survived, what happened in them."""
    by_name: dict[str, list[Done]] = defaultdict(list)
    for each in done:
        by_name[each.name].append(each)
    rows = [f"{'what':42}{'days':>5}{'survived':>10}{'times':>7}{'lines held':>12}{'seconds':>9}"]
    for name, days in by_name.items():
        good = [day.survived for day in days if day.survived is not None]
        notes = "; ".join(sorted({each.note for each in good if each.note})) if len(days) == 1 else ""
        rows.append(
            f"{name:42}{len(days):5}{len(good):10}{sum(each.faults for each in good):7}"
            f"{sum(each.lines for each in good):12}{sum(day.seconds for day in days):9.0f}"
            + (f"  {notes}" if notes else "")
        )
    everything = [day.survived for days in by_name.values() for day in days if day.survived is not None]
    count = sum(len(days) for days in by_name.values())
    rows.append(
        f"{'all':42}{count:5}{len(everything):10}{sum(each.faults for each in everything):7}"
        f"{sum(each.lines for each in everything):12}"
    )
    return "\n".join(rows)
