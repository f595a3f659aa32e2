"""A browser on a folder of its own, which can be killed and opened again on what it had kept."""

from __future__ import annotations

import os
import signal
from pathlib import Path
from typing import TYPE_CHECKING

from browsing import chromium_path

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Playwright


def browsers_on(profile: Path) -> list[int]:
    """The main process of the browser that runs on this profile."""
    found = []
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = place.read_bytes().decode(errors="replace").split("\0")
        except OSError:
            continue  # it has just ended
        if f"--user-data-dir={profile}" in words and not any(word.startswith("--type=") for word in words):
            found.append(int(place.parent.name))
    return found


def kill_browsers_on(profile: Path) -> None:
    for pid in browsers_on(profile):
        os.kill(pid, signal.SIGKILL)


def opened(playwright: Playwright, profile: Path) -> BrowserContext:
    device = {k: v for k, v in playwright.devices["Pixel 7"].items() if k != "default_browser_type"}
    return playwright.chromium.launch_persistent_context(profile, executable_path=chromium_path(), **device)
