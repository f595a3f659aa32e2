"""Bytes of JavaScript that the chairside page loads: its entry and all that it imports, at once or later."""

import gzip
import re
from pathlib import Path

from .table import Row, against

DIST = Path(__file__).resolve().parents[2] / "frontend" / "dist"


def chairside_scripts() -> list[Path]:
    """Every script reachable from index.html by import, static or lazy."""
    found: list[Path] = []
    waiting = re.findall(r'(?:src|href)="/(assets/[^"]+\.js)"', (DIST / "index.html").read_text())
    while waiting:
        path = DIST / waiting.pop()
        if path in found:
            continue
        found.append(path)
        waiting += [f"assets/{name}" for name in re.findall(r'"\./([\w-]+\.js)"', path.read_text())]
        waiting += re.findall(r'"(assets/[\w-]+\.js)"', path.read_text())
    return sorted(found)


def measure() -> list[Row]:
    scripts = chairside_scripts()
    size = sum(len(gzip.compress(path.read_bytes(), 9)) for path in scripts) / 1000
    worker = len(gzip.compress((DIST / "sw.js").read_bytes(), 9)) / 1000
    return [
        against(f"chairside JavaScript with its libraries, gzip ({len(scripts)} files)", size, 60, "kB"),
        Row("service worker, gzip, beside it", f"{worker:.1f} kB"),
    ]
