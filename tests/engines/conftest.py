"""Every test here runs once in each engine that is promised. One that is missing fails: none is left out."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from browsing import ARTIFACTS
from engines import (
    PROMISED,
    Browser,
    Chromium,
    Engine,
    Firefox,
    OldWebKit,
    WebKitGtk,
    processes_on,
    screen_of_its_own,
)

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

versions: dict[str, str] = {}


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Debian's browsers move with its security updates: which they were stands at the end of the run."""
    for name, version in versions.items():
        terminalreporter.write_line(f"engine: {name} {version}")


@pytest.fixture(scope="session", params=PROMISED)
def engine(
    request: pytest.FixtureRequest, playwright: Playwright, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Engine]:
    runtime = tmp_path_factory.mktemp("runtime")
    runtime.chmod(0o700)
    match request.param:
        case "chromium":
            yield Chromium(playwright)
        case "firefox-esr":
            yield Firefox(playwright)
        case "webkitgtk":
            with screen_of_its_own() as display:
                yield WebKitGtk(display, runtime)
        case "wpewebkit":
            yield OldWebKit(runtime)


Opens = Callable[..., Browser]


@pytest.fixture
def opens(request: pytest.FixtureRequest, engine: Engine, tmp_path: Path, front_end: Path) -> Iterator[Opens]:
    """Opens a browser on a folder of this test's own, by its name. What still runs at the end is ended."""
    opened: list[Browser] = []

    def open_one(name: str = "phone", trusted: Path | None = None) -> Browser:
        browser = engine.open(tmp_path / name, trusted)
        versions[engine.name] = browser.version
        opened.append(browser)
        return browser

    yield open_one
    report = getattr(request.node, "report_of_call", None)
    for number, browser in enumerate(opened):
        if browser.over:
            continue  # killed or closed by the test
        if report is not None and report.failed:
            ARTIFACTS.mkdir(parents=True, exist_ok=True)
            stem = re.sub(r"[^\w.-]+", "_", request.node.nodeid)
            try:
                browser.screen.picture(ARTIFACTS / f"{stem}-{number}.png")
            except Exception as error:  # a crashed page must not hide why the test failed
                (ARTIFACTS / f"{stem}-{number}.txt").write_text(f"no picture: {error}")
        try:
            browser.close()
        finally:
            for pid in processes_on(browser.profile):
                os.kill(pid, signal.SIGKILL)
