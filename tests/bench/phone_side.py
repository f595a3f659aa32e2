"""On the phone's side, in Chromium: tap to durable beside a bare put, cold start, one fit, a drag."""

import json
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright, sync_playwright

from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.opening import load

from .server_side import free_port, started
from .table import Row, against

ROOT = Path(__file__).resolve().parents[2]
APPENDS = 150


def bundled() -> str:
    esbuild = ROOT / "frontend" / "node_modules" / ".bin" / "esbuild"
    done = subprocess.run(
        [esbuild, ROOT / "tests/bench/page.ts", "--bundle", "--format=iife", "--minify", "--target=es2022"],
        capture_output=True,
        text=True,
        check=True,
        env={
            "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin",
            "NODE_PATH": str(ROOT / "frontend/node_modules"),
        },
    )
    return done.stdout


def new_code(data: Path) -> str:
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
    return str(json.loads(said.stdout)["code"])


def throttle(page: Page, rate: int) -> None:
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def bench_page(playwright: Playwright, base: str, profile: Path, script: str) -> Page:
    """A real profile on disk: a throwaway one keeps its database in memory, where durable means nothing."""
    context = playwright.chromium.launch_persistent_context(
        str(profile), executable_path=shutil.which("chromium"), viewport={"width": 412, "height": 839}
    )
    page = context.new_page()
    page.route(
        "**/bench.html",
        lambda route: route.fulfill(body="<!doctype html><title>bench</title>", content_type="text/html"),
    )
    page.goto(f"{base}/bench.html")
    page.evaluate(script)
    return page


def measure_appends(playwright: Playwright, base: str, data: Path, script: str) -> list[Row]:
    rows = []
    for rate in (1, 4):
        with tempfile.TemporaryDirectory(dir=ROOT) as profile:  # beside the sources: the disk, not memory
            page = bench_page(playwright, base, Path(profile), script)
            throttle(page, rate)
            times: dict[str, list[float]] = page.evaluate(
                "([code, count]) => bench.appends(code, count)", [new_code(data), APPENDS]
            )
            page.context.close()
        ours, bare = times["ours"], times["bare"]
        p95 = percentile(ours, 0.95) / percentile(bare, 0.95)
        rows += [
            Row(
                f"tap to durable, strict, {rate}x throttle, n = {APPENDS}",
                f"p50 {statistics.median(ours):.1f} ms, p95 {percentile(ours, 0.95):.1f} ms",
            ),
            Row(
                "bare strict put in the same run",
                f"p50 {statistics.median(bare):.1f} ms, p95 {percentile(bare, 0.95):.1f} ms",
            ),
            Row(f"p95 against bare, {rate}x", f"{p95:.2f} ×", "≤ 2 ×", p95 <= 2),
        ]
    return rows


def measure_fits(playwright: Playwright, base: str, script: str, pack: dict[str, Any]) -> list[Row]:
    requests = [vector["request"] for vector in pack["fit_vectors"]]
    with tempfile.TemporaryDirectory() as profile:
        page = bench_page(playwright, base, Path(profile), script)
        throttle(page, 4)
        times: list[float] = page.evaluate(
            "([pack, requests]) => bench.fits(pack, requests)", [pack, requests]
        )
        page.context.close()
    return [
        Row(
            f"one fit on the phone, 4x throttle, median of {len(times)} check vectors",
            f"{statistics.median(times):.1f} ms",
        ),
        against("the same, slowest", max(times), 100, "ms"),
    ]


def measure() -> list[Row]:
    script = bundled()
    pack = json.loads(compile_pack(load(demo_path())))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
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
            base = f"http://127.0.0.1:{port}"
            rows = measure_appends(playwright, base, data, script)
            rows += measure_fits(playwright, base, script, pack)
    return rows
