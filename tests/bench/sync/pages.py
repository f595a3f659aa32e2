"""Scripts for the browser, bundled, and pages that run them at a server's own origin."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright

ROOT = Path(__file__).resolve().parents[3]
FRONT_MODULES = ROOT / "frontend" / "node_modules"
LIMIT_MS = 120_000
CALL = """([name, given, limit]) => Promise.race([
    bench[name](...given),
    new Promise((_, reject) => setTimeout(() => reject(new Error(`${name} takes too long`)), limit)),
])"""


def bundled(entry: Path, modules: Path = FRONT_MODULES, *, external: tuple[str, ...] = ()) -> str:
    """One script of `entry` and all that it imports; packages come from `modules` first."""
    command = [str(FRONT_MODULES / ".bin" / "esbuild"), str(entry), "--bundle", "--format=iife", "--minify"]
    command += ["--target=es2022", *(f"--external:{name}" for name in external)]
    environment = {
        "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin",
        "NODE_PATH": os.pathsep.join([str(modules), str(FRONT_MODULES)]),
    }
    return subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout


class Bench:
    """A page of a profile on disk, at `base`'s origin, with a script's `bench` in it."""

    def __init__(self, playwright: Playwright, base: str, profile: Path, script: str) -> None:
        self._context = playwright.chromium.launch_persistent_context(
            str(profile),
            executable_path=shutil.which("chromium"),
            viewport={"width": 412, "height": 839},
            # a page that was made up here counts as from outside, which may not open a socket to this machine
            args=["--disable-features=LocalNetworkAccessChecks,LocalNetworkAccessChecksWebSockets"],
        )
        self.page: Page = self._context.new_page()
        blank = "<!doctype html><title>bench</title>"
        self.page.route("**/bench.html", lambda route: route.fulfill(body=blank, content_type="text/html"))
        self.page.goto(f"{base}/bench.html")
        self.page.unroute_all()  # else every request would make a detour through here
        self._session = self._context.new_cdp_session(self.page)
        self.page.evaluate(script)

    def call(self, name: str, *given: object) -> Any:
        """Raises where it takes longer than two minutes."""
        return self.page.evaluate(CALL, [name, list(given), LIMIT_MS])

    def throttle(self, rate: int) -> None:
        self._session.send("Emulation.setCPUThrottlingRate", {"rate": rate})

    def rest(self, ms: int) -> None:
        self.page.wait_for_timeout(ms)

    def close(self) -> None:
        self._context.close()
