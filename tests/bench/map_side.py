"""The map of the retina at 4x throttle: frames a second while twelve fields are drawn anew in each."""

import json
import shutil
import statistics
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.opening import load

from .phone_side import percentile, throttle
from .table import Row

ROOT = Path(__file__).resolve().parents[2]
SOURCES = ROOT / "frontend" / "src"
STYLES = (
    SOURCES / "ui" / "tokens.css",
    SOURCES / "ui" / "base.css",
    SOURCES / "chairside" / "map" / "map.css",
)


def bundled() -> str:
    esbuild = ROOT / "frontend" / "node_modules" / ".bin" / "esbuild"
    options = "--bundle --format=iife --minify --target=es2022 --jsx=automatic --jsx-import-source=preact"
    path = {
        "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin",
        "NODE_PATH": str(ROOT / "frontend/node_modules"),
    }
    command = [esbuild, ROOT / "tests/bench/map.tsx", *options.split(), "--loader:.css=empty"]
    return subprocess.run(command, capture_output=True, text=True, check=True, env=path).stdout


def measure() -> list[Row]:
    pack = json.loads(compile_pack(load(demo_path())))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        page = browser.new_page(
            **{k: playwright.devices["Pixel 7"][k] for k in ("viewport", "device_scale_factor")}
        )
        page.set_content('<!doctype html><html data-theme="dark"><title>map</title><body></body></html>')
        for style in STYLES:
            page.add_style_tag(content=style.read_text("utf-8"))
        page.evaluate(bundled())
        throttle(page, 4)
        drawn = page.evaluate("pack => mapBench.draw(pack)", pack)
        browser.close()
    if not drawn["changed"] or drawn["paths"] < 12:
        raise RuntimeError("the map did not draw")
    first, *gaps = drawn["gaps"]
    rate = 1000 / statistics.mean(gaps)
    return [
        Row("map of 12 fields, 4x throttle: its first drawing", f"{first:.0f} ms"),
        Row(
            f"the same drawn anew in each of the next {len(gaps)} frames: frames a second",
            f"{rate:.1f}",
            "≥ 59",
            rate >= 59,
        ),
        Row("the same: time between frames, p95", f"{percentile(gaps, 0.95):.1f} ms"),
    ]
