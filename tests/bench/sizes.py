"""Bytes of JavaScript that the chairside page loads: at once, and later."""

import gzip
import re
from collections.abc import Iterable
from pathlib import Path

from .table import Row, against

DIST = Path(__file__).resolve().parents[2] / "frontend" / "dist"


def reached(text: str) -> list[str]:
    """Scripts that a script imports before it runs. What it reads later is named too, but by a call."""
    return re.findall(r'(?:from|import)"\./([\w-]+\.js)"', text)


def at_start() -> set[Path]:
    """What index.html loads before the first screen stands."""
    found: set[Path] = set()
    waiting = re.findall(r'(?:src|href)="/(assets/[^"]+\.js)"', (DIST / "index.html").read_text())
    while waiting:
        path = DIST / waiting.pop()
        if path not in found:
            found.add(path)
            waiting += [f"assets/{name}" for name in reached(path.read_text())]
    return found


def gzipped_kb(paths: Iterable[Path]) -> float:
    return sum(len(gzip.compress(path.read_bytes(), 9)) for path in paths) / 1000


def measure() -> list[Row]:
    start = at_start()
    desk = set((DIST / "assets").glob("desk-*.js"))
    later = set((DIST / "assets").glob("*.js")) - start - desk
    return [
        against("chairside JavaScript at a cold start, with libraries, gzip", gzipped_kb(start), 60, "kB"),
        against("all chairside JavaScript, read later too, gzip", gzipped_kb(start | later), 60, "kB"),
        Row("service worker, gzip, beside it", f"{gzipped_kb([DIST / 'sw.js']):.1f} kB"),
    ]
