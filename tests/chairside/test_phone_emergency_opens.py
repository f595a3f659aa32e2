"""The emergency page leaves all as it was: what lies under it, how far that was scrolled, what had the focus.
The sheet that it was opened in is closed. What is drawn ahead of it is met by nobody."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from browsing import Contexts
from emergency_page import Emergency
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

# whether what lies under a sheet is drawn at all
UNDER = "() => document.getElementById('main').checkVisibility()"
STANDS = "() => [document.documentElement.scrollHeight, scrollY]"
SCROLL_AND_PRESS = """() => {
  scrollTo(0, 150);
  const before = [document.documentElement.scrollHeight, scrollY];
  document.querySelector(".bottom-bar .way-out").click();
  return before;
}"""
DRAWN_AHEAD = """
globalThis.ahead = [];
new MutationObserver((seen) => {
  for (const { addedNodes } of seen)
    for (const node of addedNodes)
      if (node.className === "drawn-ahead")
        globalThis.ahead.push(node.isConnected || node.childNodes.length > 0);
}).observe(document, { childList: true, subtree: true });
"""


def with_a_case(server: Server, contexts: Contexts, code: str) -> Phone:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    phone.begin(code)
    return phone


def back(page: Page) -> None:
    sheet = page.get_by_role("dialog", name="Emergency")
    sheet.get_by_role("button", name="Back", exact=True).click()
    expect(page.locator("dialog")).to_have_count(0)


def test_out_of_a_sheet_and_back_to_where_it_was_opened(server: Server, contexts: Contexts) -> None:
    phone = with_a_case(server, contexts, "HR-4401")
    page = phone.page
    # one that lies over every screen, and one that the screen itself draws
    all_steps = page.get_by_role("button", name=re.compile("All steps$"))
    for opener, title in ((phone.button("Comfort"), "Comfort"), (all_steps, "All steps")):
        opener.click()
        sheet = page.get_by_role("dialog", name=title)
        expect(sheet).to_be_visible()
        Emergency(phone).open(inside=sheet)
        expect(page.locator("dialog")).to_have_count(1)
        assert page.evaluate("document.activeElement.closest('dialog')?.matches('.sheet-danger:modal')")
        back(page)
        expect(opener).to_be_focused()
        # it was really closed: it can be opened again, and the page under it be used
        opener.click()
        expect(sheet).to_be_visible()
        page.keyboard.press("Escape")
        expect(page.locator("dialog")).to_have_count(0)
        expect(opener).to_be_focused()

    page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Emergency").click()
    expect(page.get_by_role("dialog", name="Emergency")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("dialog")).to_have_count(0)
    expect(phone.button("Emergency")).to_be_focused()


def test_what_lies_under_is_left_out_where_it_cannot_be_seen(server: Server, contexts: Contexts) -> None:
    phone = with_a_case(server, contexts, "HR-4402")
    page = phone.page
    Visit(phone).go_through(until="Set the head turn")
    # the record begins, and with it the strip on every screen: what is measured below moves no more
    Emergency(phone).open()
    back(page)
    page.wait_for_function("() => !location.href.includes('over=')")  # so that 'back' scrolls no more
    before = page.evaluate(SCROLL_AND_PRESS)
    assert before[1] == 150

    expect(page.get_by_role("dialog", name="Emergency")).to_be_visible()
    page.wait_for_function(f"() => !({UNDER})()")
    assert page.evaluate(STANDS) == before
    # on a wide screen the page stands beside the sheet, shaded
    phone_size = page.viewport_size
    assert phone_size is not None
    page.set_viewport_size({"width": 1000, "height": 800})
    page.wait_for_function(UNDER)
    page.set_viewport_size(phone_size)
    page.wait_for_function(f"() => !({UNDER})()")
    back(page)
    page.wait_for_function(UNDER)
    page.wait_for_function("() => scrollY === 150")


def test_it_is_drawn_ahead_and_nobody_meets_it(server: Server, contexts: Contexts) -> None:
    context = contexts.phone()
    context.add_init_script(DRAWN_AHEAD)
    phone = Phone(context, server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    page = phone.page
    phone.reload()
    page.wait_for_function("() => globalThis.ahead.length > 0")
    # by the time that anything else of the page runs, it is gone again
    assert not any(page.evaluate("globalThis.ahead"))
    expect(page.locator(".drawn-ahead")).to_have_count(0)
    kept = page.evaluate("Object.keys(localStorage).filter((name) => /emergency|clock|reading/.test(name))")
    assert kept == []
    assert phone.envelopes("reaction.started") == []

    Emergency(phone).open()
    phone.reload()
    expect(page.get_by_role("dialog", name="Emergency")).to_be_visible()  # as always after a crash
    assert len(phone.envelopes("reaction.started")) == 1
