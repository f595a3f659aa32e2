"""WebKit in its two dresses, WebKitGTK and WPE, driven by WebDriver."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from screen import NotYetError, Screen
from selenium.common.exceptions import (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    JavascriptException,
    StaleElementReferenceException,
)
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.remote.file_detector import UselessFileDetector

if TYPE_CHECKING:
    from selenium.webdriver.remote.webdriver import WebDriver

NOT_NOW = (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    JavascriptException,
    StaleElementReferenceException,
)
CALL = """
const values = [...arguments], done = values.pop();
(async (NAMES) => { CODE })(...values).then(
  (value) => done({ value: value ?? null }),
  (error) => done({ error: String(error) }),
);
"""


class WebDriverScreen(Screen):
    def __init__(self, driver: WebDriver, downloads: Path) -> None:
        self.driver = driver
        driver.file_detector = UselessFileDetector()  # the browser is on this machine: nothing to carry there
        self.downloads = downloads

    def script(self, code: str, names: str = "", *values: Any) -> Any:
        said = self.driver.execute_async_script(CALL.replace("NAMES", names).replace("CODE", code), *values)
        if "error" in said:
            raise AssertionError(f"in the page: {said['error']}")
        return said["value"]

    def element(self, code: str, *values: Any) -> Any:
        try:
            return self.driver.execute_script(f"const [what, name, within] = arguments; {code}", *values)
        except NOT_NOW as error:
            raise NotYetError from error

    def click(self, element: Any, for_s: float = 0.0) -> None:
        try:
            if for_s == 0.0:
                element.click()
            else:
                ActionChains(self.driver).click_and_hold(element).pause(for_s).release().perform()
        except NOT_NOW as error:
            raise NotYetError from error

    def type(self, element: Any, text: str) -> None:
        try:
            element.click()
            self.driver.execute_script("arguments[0].select()", element)
            element.send_keys(text)
        except NOT_NOW as error:
            raise NotYetError from error

    def give(self, element: Any, file: Path) -> None:
        element.send_keys(str(file))

    def go(self, address: str) -> None:
        self.driver.get(address)

    def reload(self) -> None:
        self.driver.refresh()

    def picture(self, file: Path) -> None:
        self.driver.save_screenshot(str(file))
