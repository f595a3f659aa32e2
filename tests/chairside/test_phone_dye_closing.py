"""Seeing the patient off on the phone: the watch by its clock, the arm, the card in their language."""

from __future__ import annotations

import re
from typing import Any

import pytest
from dye_case import dye_phone, screen, types
from playwright.sync_api import expect

import page_clock
import visit_dye
from browsing import Contexts
from page_clock import PageClock
from phone_page import settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(420)]

SHARE = """() => {
  globalThis.shared = [];
  globalThis.refuse = true;
  navigator.share = async (what) => {
    if (globalThis.refuse) throw new DOMException("put away", "AbortError");
    globalThis.shared.push(what);
  };
}"""


def at_watch(server: Server, contexts: Contexts, code: str) -> Visit:
    phone = dye_phone(server, contexts)
    phone.begin(code, asked=("Fluorescein",))
    visit = Visit(phone)
    visit.go_through(until="Keep the patient where")
    return visit


def test_the_watch_counts_from_the_injection_and_the_card_speaks_the_patients_language(
    server: Server, contexts: Contexts
) -> None:
    visit = at_watch(server, contexts, "HR-4401")
    phone, page = visit.phone, visit.page
    (injected,) = phone.bodies("dye.injected")
    expect(visit.main.get_by_role("timer")).to_have_text(re.compile(r"^2[89]:\d\d$"))
    visit.press("Begin the watch")
    (watch,) = phone.bodies("watch.started")
    assert (watch["minutes"], watch["since"]) == (30, injected["pressed_at"])

    # early only with a reason; unwell is not sent home without a word on who took over
    phone.pick("Look and ask: is the patient well?", re.compile("^Well$"))
    expect(visit.main.get_by_role("button", name="End the watch early")).to_be_disabled()
    phone.pick("Look and ask: is the patient well?", re.compile("^Not well$"))
    expect(visit.main.get_by_role("heading", name="Nobody goes home unwell")).to_be_visible()
    page_clock.install(phone.context)
    phone.reload()
    clock = PageClock(page)
    clock.passes((injected["pressed_at"] - clock.true_ms()) / 1000 + 31 * 60)
    expect(visit.main).to_contain_text("Beyond:")
    phone.reload()
    expect(visit.main).to_contain_text("Beyond:")
    phone.pick("Look and ask: is the patient well?", re.compile("^Well$"))
    visit.press_and_leave("The watch is over")
    (ended,) = phone.bodies("watch.ended")
    assert (ended["after_min"], ended["early"], ended["well"]) == (31, False, True)

    visit.go_through(until="Look at the arm")
    visit.press_and_leave("Nothing seen")
    assert [leak["moment"] for leak in phone.bodies("leak.asked")] == ["at_injection", "at_the_end"]

    visit.go_through(until="Give the take-away card")
    visit.main.get_by_role("radio", name=re.compile("Arabic")).check()
    card = visit.main.locator("article.takeaway")
    expect(card).to_have_attribute("dir", "rtl")
    expect(card).to_have_attribute("lang", "ar")
    expect(visit.main).to_contain_text("Wording not yet reviewed")
    # the number to call is read from left to right, whatever runs around it
    number = card.locator("bdi").filter(has_text="555-01").first
    expect(number).to_have_attribute("dir", "ltr")
    page.evaluate(SHARE)
    phone.reload()  # the language that was picked outlives it
    expect(card).to_have_attribute("lang", "ar")
    page.evaluate(SHARE)
    visit.main.get_by_role("radio", name=re.compile("Spanish")).check()
    visit.main.get_by_role("radio", name=re.compile("Arabic")).check()
    visit.main.get_by_role("button", name="Share the card").click()
    page.wait_for_timeout(200)
    assert phone.bodies("takeaway.given") == []  # put away: nothing was given
    page.evaluate("globalThis.refuse = false")
    visit.press_and_leave("Share the card")
    (given,) = phone.bodies("takeaway.given")
    assert (given["language"], given["how"]) == ("ar", "shared")
    shared: list[Any] = page.evaluate("globalThis.shared")
    assert len(shared) == 1
    assert "\u2066555-01" in shared[0]["text"]
    assert "HR-4401" not in shared[0]["text"]
    visit.go_through()
    visit.close()
    settle(phone)


def test_something_at_the_arm_becomes_an_event_and_a_longer_watch(server: Server, contexts: Contexts) -> None:
    visit = at_watch(server, contexts, "HR-4402")
    phone = visit.phone
    visit_dye.watch(visit)
    visit.go_through(until="Look at the arm")
    visit.press("Something")
    sheet = visit.page.get_by_role("dialog", name="Event")
    sheet.get_by_role("button", name=re.compile("^Moderate")).click()
    expect(sheet.get_by_role("heading", name="Recorded: Leak or swelling at the needle")).to_be_visible()
    sheet.get_by_role("button", name="The rest later").click()
    visit.put_away(sheet)
    (event,) = phone.stands("safety.noted")
    assert (event["what"], event["step"]) == ("leak_at_needle", "arm_after")
    screen(visit, "step", "watched_after||")
    expect(visit.main).to_contain_text("An hour; the physician looks at the arm")
    visit.press("Watch for 60 min now")
    expect(visit.main.get_by_role("button", name="End the watch early")).to_be_visible()
    assert [watch["minutes"] for watch in phone.bodies("watch.started")] == [30, 60]
    assert types(phone).count("dye.injected") == 1
    settle(phone)
