"""A phone with PINs, in Chromium: taps beside a bare put, the first PIN, a start and an unlock at size."""

import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from .phone_side import ROOT, bench_page, bundled, new_code, percentile, throttle
from .server_side import free_port, started
from .table import Row

TAPS = 100
LINES = 10_000
STARTS = 3


def measure() -> list[Row]:
    script = bundled()
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        port = free_port()
        data = Path(folder, "data")
        serve = [sys.executable, "-m", "chinrest.cli", "serve", "--demo"]
        serve += ["--data", str(data), "--port", str(port)]
        with started(serve, port, folder):
            base = f"http://127.0.0.1:{port}"
            for rate in (1, 4):
                with tempfile.TemporaryDirectory(
                    dir=ROOT
                ) as profile:  # beside the sources: the disk, not memory
                    page = bench_page(playwright, base, Path(profile), script)
                    throttle(page, rate)
                    told: dict[str, Any] = page.evaluate(
                        "([code, ...more]) => bench.locked(code, ...more)",
                        [new_code(data), TAPS, LINES, STARTS],
                    )
                    page.context.close()
                rows += rows_of(told, rate)
    return rows


def rows_of(told: dict[str, Any], rate: int) -> list[Row]:
    """The rounds of a PIN run outside the page, where the throttle does not reach."""
    rows = []
    for name in ("unlocked", "locked"):
        ours, bare = told[name]["ours"], told[name]["bare"]
        ratio = percentile(ours, 0.95) / percentile(bare, 0.95)
        figure = f"p50 {statistics.median(ours):.1f} ms, p95 {percentile(ours, 0.95):.1f} ms, {ratio:.2f} ×"
        rows.append(Row(f"tap to durable with PINs, {name}, {rate}x throttle, p95 beside a bare put", figure))
    start, unlock = statistics.median(told["start"]), statistics.median(told["unlock"])
    rows += [
        Row(f"the first PIN on a new phone, {rate}x throttle", f"{told['set']:.0f} ms"),
        Row(f"the log opened, locked, with {LINES} lines, {rate}x throttle", f"{start:.0f} ms"),
        Row(f"its unlock, up to the cases, {rate}x throttle", f"{unlock:.0f} ms"),
    ]
    return rows
