"""Fixtures for tests in a real browser: the built front end, one Chromium, phones and desks.

What failed leaves its pages' pictures and what the server said in tests/.artifacts.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from serving import Server

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page, Playwright

ROOT = Path(__file__).resolve().parents[1]
FRONT = ROOT / "frontend"
ARTIFACTS = ROOT / "tests" / ".artifacts"
PATIENCE_MS = 15_000

# Chromium's own word on a request that failed: the page is judged by what it makes of it
ALLOWED_NOISE = ("Failed to load resource",)


def newest(*places: Path) -> float:
    files = [file for place in places for file in (place.rglob("*") if place.is_dir() else [place])]
    return max((file.stat().st_mtime for file in files if file.is_file()), default=0.0)


@pytest.fixture(scope="session")
def front_end() -> Path:
    """frontend/dist, built when it is older than its sources."""
    pages = FRONT / "dist"
    made_from = [FRONT / name for name in ("src", "public", "index.html", "desk.html", "vite.config.ts")]
    built = pages / "sw.js"
    if not built.is_file() or built.stat().st_mtime < newest(*made_from, FRONT / "package-lock.json"):
        bin_ = Path(sys.executable).parent
        env = {**os.environ, "PATH": f"{bin_}{os.pathsep}{os.environ.get('PATH', '')}"}
        done = subprocess.run(
            [bin_ / "npm", "run", "build"], cwd=FRONT, env=env, capture_output=True, text=True
        )
        assert done.returncode == 0, f"the front end does not build:\n{done.stdout}\n{done.stderr}"
    return pages


def chromium_path() -> str:
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if found := shutil.which(name):
            return found
    raise AssertionError("these tests need Chromium, and there is none on PATH")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    browser = playwright.chromium.launch(executable_path=chromium_path())
    print(f"Chromium {browser.version}")
    yield browser
    browser.close()


@pytest.fixture
def server(tmp_path: Path, front_end: Path) -> Iterator[Server]:
    """The demo, served from a folder of this test's own."""
    with Server(tmp_path) as started:
        yield started


class Contexts:
    """Makes browser contexts, remembers their pages for pictures, and holds them to a quiet console."""

    def __init__(self, playwright: Playwright, browser: Browser) -> None:
        self.playwright = playwright
        self.browser = browser
        self.contexts: list[BrowserContext] = []
        self.noise: list[str] = []

    def make(self, **options: Any) -> BrowserContext:
        options.setdefault("timezone_id", "Europe/Oslo")
        context = self.browser.new_context(**options)
        context.set_default_timeout(PATIENCE_MS)
        context.on("weberror", lambda error: self.noise.append(f"uncaught: {error.error}"))
        context.on("console", lambda message: self._hear(message.type, message.text))
        self.contexts.append(context)
        return context

    def _hear(self, kind: str, text: str) -> None:
        if kind == "error" and not any(allowed in text for allowed in ALLOWED_NOISE):
            self.noise.append(text)

    def phone(self, device: str = "Pixel 7", **options: Any) -> BrowserContext:
        known = {k: v for k, v in self.playwright.devices[device].items() if k != "default_browser_type"}
        return self.make(**{**known, **options})

    def desk(self, **options: Any) -> BrowserContext:
        return self.make(**{"viewport": {"width": 1280, "height": 900}, **options})

    def pages(self) -> list[Page]:
        return [page for context in self.contexts for page in context.pages]

    def close(self) -> None:
        for context in self.contexts:
            context.close()


def keep_evidence(name: str, contexts: Contexts, servers: list[Server]) -> None:
    ARTIFACTS.mkdir(parents=True, exist_ok=True)
    stem = re.sub(r"[^\w.-]+", "_", name)
    for number, page in enumerate(contexts.pages()):
        try:
            page.screenshot(path=ARTIFACTS / f"{stem}-{number}.png", timeout=5_000)
            (ARTIFACTS / f"{stem}-{number}.html").write_text(f"<!-- {page.url} -->\n{page.content()}")
        except Exception as error:  # a crashed page must not hide why the test failed
            (ARTIFACTS / f"{stem}-{number}.txt").write_text(f"no picture: {error}")
    for number, server in enumerate(servers):
        (ARTIFACTS / f"{stem}-server-{number}.txt").write_text(server.output())


@pytest.fixture
def contexts(request: pytest.FixtureRequest, playwright: Playwright, chromium: Browser) -> Iterator[Contexts]:
    made = Contexts(playwright, chromium)
    yield made
    report = getattr(request.node, "report_of_call", None)
    failed = report is not None and report.failed
    if failed or made.noise:
        servers = [value for value in request.node.funcargs.values() if isinstance(value, Server)]
        keep_evidence(request.node.nodeid, made, servers)
    made.close()
    if not failed:
        assert made.noise == [], "the page complained in its console"


@pytest.fixture
def allow_noise(contexts: Contexts) -> Callable[[], None]:
    """For a test that breaks something on purpose: forgets what the console said so far."""
    return contexts.noise.clear


def remember_report(item: pytest.Item, report: pytest.TestReport) -> None:
    if report.when == "call":
        item.report_of_call = report  # type: ignore[attr-defined]  # pytest's own way to hand it to fixtures
