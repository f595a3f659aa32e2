"""Chromium and Firefox, driven by Playwright."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from playwright.sync_api import Error
from screen import NotYetError, Screen

if TYPE_CHECKING:
    from playwright.sync_api import Page

STEP_MS = 2_000


class PlaywrightScreen(Screen):
    def __init__(self, page: Page) -> None:
        self.page = page

    def script(self, code: str, names: str = "", *values: Any) -> Any:
        return self.page.evaluate(f"async ([{names}]) => {{ {code} }}", list(values))

    def element(self, code: str, *values: Any) -> Any:
        try:
            handle = self.page.evaluate_handle(f"([what, name, within]) => {{ {code} }}", list(values))
        except Error as error:
            raise NotYetError from error  # the page was being left
        return handle.as_element()

    def click(self, element: Any, for_s: float = 0.0) -> None:
        try:
            element.click(delay=for_s * 1000, timeout=STEP_MS + for_s * 1000)
        except Error as error:
            raise NotYetError from error

    def type(self, element: Any, text: str) -> None:
        try:
            element.fill(text, timeout=STEP_MS)
        except Error as error:
            raise NotYetError from error

    def go(self, address: str) -> None:
        self.page.goto(address)

    def reload(self) -> None:
        self.page.reload()

    def picture(self, file: Path) -> None:
        self.page.screenshot(path=file, timeout=5_000)
