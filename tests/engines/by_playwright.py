"""Chromium and Firefox, driven by Playwright."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playwright.sync_api import Error
from screen import NotYetError, Screen

if TYPE_CHECKING:
    from playwright.sync_api import Page

STEP_MS = 2_000


class PlaywrightScreen(Screen):
    def __init__(self, page: Page, downloads: Path) -> None:
        self.page = page
        self.downloads = downloads

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

    def saved(self, press: Callable[[], None], into: Path) -> None:
        if self.downloads.is_dir():  # the browser was told to keep them there
            return super().saved(press, into)
        with self.page.expect_download() as coming:
            press()
        return coming.value.save_as(into)

    def give(self, element: Any, file: Path) -> None:
        element.set_input_files(file)

    def go(self, address: str) -> None:
        self.page.goto(address)

    def reload(self) -> None:
        self.page.reload()

    def picture(self, file: Path) -> None:
        self.page.screenshot(path=file, timeout=5_000)
