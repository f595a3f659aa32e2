"""A phone whose two clocks the test moves: time of day, and what the page counts since it was opened.

Real time goes on beneath, so that what the page shows can be held against a clock that nothing has moved.
"""

from __future__ import annotations

from playwright.sync_api import BrowserContext, Page

# the shifts outlive a reload, as a clock that was set does
CLOCKS = """(() => {
  const wall = Date.now.bind(Date);
  const count = performance.now.bind(performance);
  if (location.protocol === "about:") return;
  const shift = (name) => Number(sessionStorage.getItem(name) ?? 0);
  window.realNow = wall;
  Date.now = () => wall() + shift("passed") + shift("set");
  performance.now = () => count() + shift("passed") - Number(window.passedAtStart ?? 0);
  window.passedAtStart = shift("passed");
  window.hiddenNow = false;
  const seen = () => (window.hiddenNow ? "hidden" : "visible");
  Object.defineProperty(document, "visibilityState", { get: seen });
  Object.defineProperty(document, "hidden", { get: () => window.hiddenNow });
})()"""
ADD = """([name, ms]) =>
  sessionStorage.setItem(name, String(Number(sessionStorage.getItem(name) ?? 0) + ms))"""
HIDE = """(hidden) => { window.hiddenNow = hidden; document.dispatchEvent(new Event("visibilitychange")); }"""


def install(context: BrowserContext) -> None:
    context.add_init_script(CLOCKS)


def go_on(context: BrowserContext, seconds: float) -> None:
    """Pages opened from here on stand where the earlier one's clocks stood after `seconds` had gone by."""
    context.add_init_script(
        "if (location.protocol !== 'about:' && sessionStorage.getItem('passed') === null)"
        f" sessionStorage.setItem('passed', '{seconds * 1000:.0f}');"
    )


class PageClock:
    def __init__(self, page: Page) -> None:
        self.page = page

    def passes(self, seconds: float) -> None:
        """Time goes by: both clocks move alike."""
        self.page.evaluate(ADD, ["passed", seconds * 1000])

    def is_set(self, seconds: float) -> None:
        """Somebody sets the time of day; the count goes on."""
        self.page.evaluate(ADD, ["set", seconds * 1000])

    def hidden_for(self, seconds: float) -> None:
        """The page lies in the background, and its count with it does not stand still."""
        self.page.evaluate(HIDE, True)
        self.passes(seconds)
        self.page.evaluate(HIDE, False)

    def slept_for(self, seconds: float) -> None:
        """The phone slept: the time of day went on, the count did not."""
        self.page.evaluate(HIDE, True)
        self.is_set(seconds)
        self.page.evaluate(HIDE, False)

    def true_ms(self) -> float:
        """A clock that nobody sets: real time, and what went by."""
        passed: float = self.page.evaluate(
            "() => window.realNow() + Number(sessionStorage.getItem('passed') ?? 0)"
        )
        return passed
