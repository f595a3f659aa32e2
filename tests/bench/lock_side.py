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

TAPS = 60
LINES = 10_000
CASES = LINES // 200
STARTS = 5
FULL = "bench-full"
RATES = (1, 4)


def measure() -> list[Row]:
    script = bundled()
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        port = free_port()
        data = Path(folder, "data")
        serve = [sys.executable, "-m", "chinrest.cli", "serve", "--demo"]
        serve += ["--data", str(data), "--port", str(port)]
        with (
            started(serve, port, folder),
            tempfile.TemporaryDirectory(dir=ROOT) as profile,  # beside the sources: the disk, not memory
        ):
            page = bench_page(playwright, f"http://127.0.0.1:{port}", Path(profile), script)
            # the new phones first: later each would take in the cases of the full one
            fresh: dict[int, dict[str, Any]] = {}
            for rate in RATES:
                throttle(page, rate)
                fresh[rate] = page.evaluate(
                    "(given) => bench.firstPin(...given)", [new_code(data), f"bench-{rate}", TAPS]
                )
            throttle(page, 1)
            late: float = page.evaluate("(given) => bench.fill(...given)", [new_code(data), FULL, LINES])
            rows.append(Row(f"the first PIN on a phone with {LINES} lines, 1x throttle", f"{late:.0f} ms"))
            for rate in RATES:
                throttle(page, rate)
                full: dict[str, Any] = page.evaluate(
                    "(given) => bench.starts(...given)", [FULL, STARTS, CASES, TAPS]
                )
                rows += rows_of({**fresh[rate], **full}, rate)
            page.context.close()
    return rows


def rows_of(told: dict[str, Any], rate: int) -> list[Row]:
    """The rounds of a PIN run outside the page, where the throttle does not reach."""
    rows = []
    for name in ("unlocked", "locked"):
        ours, bare = told[name]["ours"], told[name]["bare"]
        ratio = percentile(ours, 0.95) / percentile(bare, 0.95)
        figure = f"p50 {statistics.median(ours):.1f} ms, p95 {percentile(ours, 0.95):.1f} ms, {ratio:.2f} ×"
        rows.append(Row(f"tap to durable with PINs, {name}, {rate}x throttle, p95 beside a bare put", figure))
    return [
        *rows,
        Row(f"the first PIN on a new phone, {rate}x throttle", f"{told['set']:.0f} ms"),
        Row(f"the log opened, locked, with {LINES} lines, {rate}x throttle", middle(told["start"])),
        Row(f"its unlock, up to the cases, {rate}x throttle", middle(told["unlock"])),
    ]


def middle(times_ms: list[float]) -> str:
    return f"{statistics.median(times_ms):.0f} ms (slowest {max(times_ms):.0f})"
