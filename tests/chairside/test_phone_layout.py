"""A narrow phone with enlarged text costs no word, no sideways scroll, and never the place of the way out.

Here: sheets and questions that only some visits meet. Those of every visit are in test_phone_access.py.
"""

from __future__ import annotations

import re

import pytest
from dye_case import at_screening, dye_phone, finish_arrival, screen
from playwright.sync_api import Locator, expect

import visit_dye
from access import at_both_sizes
from browsing import Contexts
from emergency_page import Emergency, in_a_series
from phone_page import Phone
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

NARROW = {"width": 360, "height": 740}
HIVES = {"Has a dye": "Itching, hives or rash"}

CORNER = """() => {
  const seen = [...document.querySelectorAll("dialog[open]")].at(-1) ?? document.body;
  const all = [...seen.querySelectorAll("button")].filter((b) => b.textContent === "Emergency");
  return all.map((b) => b.getBoundingClientRect())
    .map((box) => [box.left, innerWidth - box.right, innerHeight - box.bottom].map(Math.round));
}"""


class Looks:
    """Looks at screens one after the other."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.corners: dict[str, list[int]] = {}

    def __call__(self, where: str, shown: Locator) -> None:
        expect(shown).to_be_visible()
        at_both_sizes(self.phone.page, where)
        # the text is as large as it was chosen again
        (corner,) = self.phone.page.evaluate(CORNER)
        self.corners[where] = corner


def the_questions_around_a_dose(phone: Phone, look: Looks) -> None:
    visit = at_screening(phone, "HR-9101")
    visit_dye.answer_questions(visit, HIVES)
    look("open before the dye", visit.main.get_by_role("button", name="The answer was different"))
    visit.main.get_by_role("button", name=re.compile("^Has a dye for eye pictures")).click()
    visit_dye.question(visit).locator(".big-answers").get_by_role("button").first.click()
    changes = visit.main.get_by_role("region", name="The answer changes")
    look("why the answer changes", changes)
    changes.get_by_role("button", name="Pressed by mistake").click()
    visit.press("Go on")
    finish_arrival(visit)
    screen(visit, "dose")
    visit_dye.fill_dose(visit)
    visit.press("Keep this working")
    second = visit.main.get_by_role("region", name="Second person")
    look("second check, before", second)
    second.get_by_label("Volume to draw up, in mL").fill("4")
    second.get_by_role("button", name="Compare").click()
    look("second check, compared", second.get_by_role("button", name="It differs"))


def the_sheets_over_a_series(phone: Phone, look: Looks) -> None:
    page = phone.page
    in_a_series(phone, "HR-9102", ago_s=70)
    ways = page.get_by_role("navigation", name="Ways out")
    look("series", page.get_by_role("region", name="This frame"))
    frame = page.get_by_role("region", name="This frame")
    moved = frame.get_by_role("button", name="Moved, and back in place")
    if moved.is_visible():
        moved.click()
    frame.get_by_role("button", name="Again").click()
    sheet = page.get_by_role("dialog")
    look("why again", sheet.get_by_role("button", name="Blink"))
    sheet.get_by_role("button", name="Blink").click()
    expect(sheet).to_have_count(0)
    ways.get_by_role("button", name="Event").click()
    sheet.get_by_role("button", name="Faint or near faint").click()
    look("event, recorded", sheet.get_by_role("heading", name="Did it reach the patient?"))
    for answer in ("Yes", "Mild"):
        sheet.get_by_role("button", name=re.compile(rf"^{answer}\b")).click()
    look("event, the rest", sheet.get_by_role("button", name="The rest later"))
    sheet.get_by_role("button", name="The rest later").click()
    expect(sheet).to_have_count(0)
    ways.get_by_role("button", name="Comfort").click()
    look("comfort", sheet.get_by_role("button", name="Hard to take"))
    sheet.get_by_role("button", name="Hard to take").click()
    sheet.get_by_role("button", name="Note 8 of 10").click()
    look("comfort, noted", sheet.get_by_role("heading", name="Offer a pause"))
    sheet.get_by_role("button", name="Go on without").click()
    expect(sheet).to_have_count(0)
    emergency = Emergency(phone).open()
    emergency.sign("Itching")
    emergency.end("Over: back to the case")
    strip = page.get_by_role("region", name="The dye's clock")
    page.evaluate("to => { location.hash = to; }", f"#/case/{phone.case_id}/step")
    expect(strip).to_contain_text("Fluorescein sodium")
    look("a step with the dye's clock", strip)
    page.get_by_role("button", name=re.compile("to finish$")).click()
    look("is it the same thing", sheet.get_by_role("button", name=re.compile("^Yes: Faint or near faint")))


def test_words_stay_whole_and_the_way_out_stays_in_its_corner(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts, viewport=NARROW)
    look = Looks(phone)
    phone.home()
    look("home", phone.page.get_by_role("link", name="Begin a case"))
    the_questions_around_a_dose(phone, look)
    the_sheets_over_a_series(phone, look)
    assert len(look.corners) > 12
    assert len(set(map(tuple, look.corners.values()))) == 1, look.corners
