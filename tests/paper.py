"""What every printed page is held to: no text beyond the paper's edge, and no picture without its table."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

# ISO 216 and ANSI/ASME Y14.1, less the margins of frontend/src/review/print.css; CSS has 96 px to the inch
MM_PX = 96 / 25.4
MARGIN_MM = 14
WIDTH_MM = {"A4": 210.0, "Letter": 215.9}

CUT = """() => {
  const cut = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const words = node.data.trim();
    const parent = node.parentElement;
    if (!words || parent.closest(".only-heard, script, style") || !parent.checkVisibility()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      let [left, right] = [0, document.documentElement.clientWidth];
      for (let at = parent; at; at = at.parentElement) {
        if (at.closest("svg") || getComputedStyle(at).overflowX === "visible") continue;
        const frame = at.getBoundingClientRect();
        [left, right] = [Math.max(left, frame.left), Math.min(right, frame.right)];
      }
      if (box.width > 0 && (box.left < left - 1 || box.right > right + 1)) {
        cut.push(`${words.slice(0, 60)} (${Math.round(box.left)} to ${Math.round(box.right)} px)`);
      }
    }
  }
  return cut;
}"""

BARE = """() => [...document.querySelectorAll("main svg[role=img]")]
  .filter((picture) => picture.checkVisibility())
  .filter((picture) => {
    // what is drawn of the page's own table says so, and has no second one
    const own = /the figures stand in the tables/.test(picture.getAttribute("aria-label"));
    const part = own ? document : picture.closest("section, figure.desk-comfort");
    const tables = [...(part?.querySelectorAll(own ? ".rates-table" : "table") ?? [])];
    return !tables.some((table) => table.checkVisibility());
  })
  .map((picture) => picture.getAttribute("aria-label"))"""


def assert_whole_on_paper(page: Page, paper: str, where: str) -> None:
    """Leaves the page as it is laid out for print, at the width of this paper."""
    width = int((WIDTH_MM[paper] - 2 * MARGIN_MM) * MM_PX)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": width, "height": 1000})
    cut = page.evaluate(CUT)
    assert not cut, f"{where} on {paper}: cut at the edge:\n" + "\n".join(cut)
    bare = page.evaluate(BARE)
    assert not bare, f"{where} on {paper}: pictures without their table: {bare}"
