"""What every screen is held to: axe's rules, no sideways scroll, and words that stay whole."""

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


PARTED = r"""() => {
  const sheets = document.querySelectorAll("dialog[open]");
  const inside = sheets.length ? sheets[sheets.length - 1] : document.body;
  const found = new Set();
  for (const one of inside.querySelectorAll("button, a.button, label, legend, summary, dt, h1, h2, h3")) {
    if (!one.checkVisibility() || one.closest(".only-heard")) continue;
    const box = one.getBoundingClientRect();
    const texts = document.createTreeWalker(one, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
      // a line may end after a hyphen, a dash or a slash
      for (const word of text.data.matchAll(/[^\s\u002d\u2013\u2014/]+/g)) {
        const range = document.createRange();
        range.setStart(text, word.index);
        range.setEnd(text, word.index + word[0].length);
        const parts = [...range.getClientRects()].filter((part) => part.width > 0.5);
        const lines = new Set(parts.map((part) => Math.round(part.top)));
        const said = `${word[0]}, in ${one.tagName} "${one.textContent.trim().slice(0, 60)}"`;
        if (lines.size > 1) found.add(`parted: ${said}`);
        if (parts.some((part) => part.right > box.right + 1 || part.left < box.left - 1))
          found.add(`runs out: ${said}`);
      }
    }
  }
  return [...found];
}"""


def assert_words_whole(page: Page, where: str) -> None:
    """No word of a button, a label or a heading is parted by the end of its line, or runs out of its box."""
    parted = page.evaluate(PARTED)
    assert not parted, f"{where}:\n" + "\n".join(parted[:12])


def in_both_themes(page: Page, where: str) -> None:
    """In a window as high as the page: what only lies under the bar until it is scrolled is no fault."""
    for theme in ("day", "dark"):
        page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)
        assert_accessible(page, f"{where}, {theme}")


def at_both_sizes(page: Page, where: str) -> None:
    for text in ("largest", "normal"):
        page.evaluate("text => { document.documentElement.dataset.text = text }", text)
        assert_no_sideways_scroll(page, f"{where}, {text} text")
        assert_words_whole(page, f"{where}, {text} text")
