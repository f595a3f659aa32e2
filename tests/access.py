"""What every screen is held to: axe's rules, and no sideways scroll."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

# WCAG 2.2 at levels A and AA, and axe's own best practices
RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


def assert_accessible(page: Page, where: str) -> None:
    """No violation by axe-core. What a running transition would blur is let finish first."""
    from axe_playwright_python.sync_playwright import Axe

    page.wait_for_function("() => document.getAnimations().every((a) => a.playState !== 'running')")
    found = Axe().run(page, options=RULES)
    passed = len(found.response["passes"])
    assert passed > 5, f"{where}: axe looked at almost nothing ({passed} rules)"
    faults = [
        f"{fault['id']}: {fault['help']}\n    "
        + "\n    ".join(
            f"{node['html'][:160]}  ({node.get('failureSummary', '')})" for node in fault["nodes"][:4]
        )
        for fault in found.response["violations"]
    ]
    assert not faults, f"{where}:\n" + "\n".join(faults)


WIDER = """() => {
  const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= wide) {
    const inner = [...document.querySelectorAll("dialog[open], main")];
    if (!inner.some((e) => e.scrollWidth > e.clientWidth + 1)) return [];
  }
  return [...document.querySelectorAll("*")]
    .filter((e) => e.getBoundingClientRect().right > wide + 1)
    .map((e) => `${e.tagName} ${e.className} to ${Math.round(e.getBoundingClientRect().right)} of ${wide}`);
}"""


def assert_no_sideways_scroll(page: Page, where: str) -> None:
    wide = page.evaluate(WIDER)
    assert not wide, f"{where}: wider than the screen:\n" + "\n".join(wide[:12])


def in_both_themes(page: Page, where: str) -> None:
    """In a window as high as the page: what only lies under the bar until it is scrolled is no fault."""
    for theme in ("day", "dark"):
        page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)
        assert_accessible(page, f"{where}, {theme}")


def at_both_sizes(page: Page, where: str) -> None:
    for text in ("largest", "normal"):
        page.evaluate("text => { document.documentElement.dataset.text = text }", text)
        assert_no_sideways_scroll(page, f"{where}, {text} text")
