"""Everyone can use the phone app: axe on every screen in both themes; narrow screens, text twice as large."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from emergency_page import Emergency
from lead_office import Lead
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]

Check = Callable[[Page, str], None]


CHECKS = [
    pytest.param(in_both_themes, {"width": 412, "height": 4000}, id="axe"),
    pytest.param(at_both_sizes, {"width": 360, "height": 740}, id="360px-200pc"),
]


def over(phone: Phone, opens: str, name: str | re.Pattern[str], check: Check) -> None:
    """A sheet of the bottom bar: looked at, and put away."""
    phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name=opens).click()
    expect(phone.page.get_by_role("dialog", name=name)).to_be_visible()
    check(phone.page, f"{opens} sheet")
    phone.page.keyboard.press("Escape")
    expect(phone.page.get_by_role("dialog")).to_have_count(0)


def outside_a_case(phone: Phone, check: Check) -> None:
    page = phone.page
    phone.home()
    check(page, "home")
    for place, heading in (("settings", "Settings"), ("unsent", "Saved where"), ("new", "New case")):
        page.evaluate("place => { location.hash = `#/${place}` }", place)
        expect(page.get_by_role("heading", name=heading).first).to_be_visible()
        check(page, place)
    phone.button("Begin").click()  # with nothing entered: every refusal at once
    expect(page.get_by_role("alert").first).to_be_visible()
    check(page, "new, refused")
    phone.home()
    page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Emergency").click()
    expect(page.get_by_role("dialog", name="Emergency")).to_be_visible()
    check(page, "emergency")
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)


def sheets_of_a_step(phone: Phone, check: Check) -> None:
    page = phone.page
    over(phone, "Comfort", "Comfort", check)
    emergency_to_its_end(phone, check)
    for opens, name in (("Can't", "why not"), (re.compile("All steps"), "all steps")):
        page.get_by_role("button", name=opens).click()
        expect(page.get_by_role("dialog")).to_be_visible()
        check(page, name)
        page.keyboard.press("Escape")
        expect(page.get_by_role("dialog")).to_have_count(0)


def emergency_to_its_end(phone: Phone, check: Check) -> None:
    """Every part of the page, with something in each, and what stands on the screens while it runs."""
    emergency = Emergency(phone).open()
    check(phone.page, "emergency: help")
    emergency.sign("Hives", "Wheeze")
    check(phone.page, "emergency: signs")
    emergency.act("Drug given")
    check(phone.page, "emergency: actions")
    emergency.read(pulse=200, pressure_upper=80)
    check(phone.page, "emergency: values")
    emergency.part("End")
    check(phone.page, "emergency: end")
    phone.page.keyboard.press("Escape")
    expect(phone.page.get_by_role("dialog")).to_have_count(0)
    check(phone.page, "a step, while the emergency runs")
    phone.page.get_by_role("region", name="Emergency").get_by_role("button").click()
    emergency.end("Over: back to the case")


def every_question_of_an_event(phone: Phone, check: Check) -> None:
    phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Event").click()
    sheet = phone.page.get_by_role("dialog", name="Event")
    for asks, option in (("What happened", "Faint"), ("Did it reach", "Yes"), ("Harm", "Mild")):
        expect(sheet.get_by_role("heading", name=re.compile(f"^{asks}"))).to_be_visible()
        check(phone.page, f"event: {asks}")
        sheet.get_by_role("button", name=re.compile(f"^{option}")).first.click()
    expect(sheet.get_by_role("group", name="Who was told?")).to_be_visible()
    sheet.get_by_text("Change what was recorded first").click()
    check(phone.page, "event: the rest")
    sheet.get_by_role("button", name="The rest later").click()
    expect(sheet).to_have_count(0)
    phone.page.get_by_role("button", name=re.compile("to finish$")).click()
    expect(phone.page.get_by_role("dialog", name="To finish")).to_be_visible()
    check(phone.page, "to finish")
    phone.page.keyboard.press("Escape")
    expect(phone.page.get_by_role("dialog")).to_have_count(0)


def lines_and_their_end(phone: Phone, check: Check) -> None:
    page = phone.page
    phone.button("Case").click()
    lines = page.get_by_role("dialog").first
    expect(lines.get_by_role("button", name="Close or hand over")).to_be_visible()
    check(page, "lines")
    for number in range(min(4, lines.get_by_role("button", name=re.compile("^Amend")).count())):
        lines.get_by_role("button", name=re.compile("^Amend")).nth(number).click()
        sheet = page.get_by_role("dialog", name="Amend a line")
        expect(sheet).to_be_visible()
        sheet.get_by_role("button", name=re.compile("^(Save the correction|Say that it)")).click()
        check(page, f"amend {number}, without a reason")
        sheet.get_by_role("button", name="Leave it").click()
        expect(sheet).to_have_count(0)
    lines.get_by_role("button", name="Change what to know about the patient").click()
    check(page, "what to know")
    page.keyboard.press("Escape")
    lines.get_by_role("button", name="Close or hand over").click()
    finish = page.get_by_role("dialog", name="Close or hand over")
    expect(finish).to_be_visible()
    check(page, "close")
    finish.get_by_role("radio", name="Hand it over").check()
    check(page, "hand over")
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)


def what_of(visit: Visit) -> str:
    """What kind of screen this is, by what can be pressed on it, digits and names of things left out."""
    return ", ".join(sorted({re.sub(r"\d+|…|Ultra-wide|Narrow|Wide", "", name) for name in visit.names()}))


@pytest.mark.parametrize(("check", "viewport"), CHECKS)
def test_every_screen_of_a_visit(server: Server, contexts: Contexts, check: Check, viewport: Any) -> None:
    phone = Phone(contexts.phone(viewport=viewport), server)
    phone.open()
    check(phone.page, "enrolment")
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    outside_a_case(phone, check)
    phone.begin("HR-9001", eyes="Both", asked=("Fluorescein",), flags=("Tremor", "Stays in the wheelchair"))
    visit = Visit(phone, outcome="More was needed")
    seen: set[str] = set()

    def look(now: Visit, sentence: str) -> None:
        kind = what_of(now)
        if check is at_both_sizes or kind not in seen:
            check(phone.page, sentence)
        if not seen:
            sheets_of_a_step(phone, check)
            every_question_of_an_event(phone, check)
        if "Use this turn" in kind and kind not in seen:
            phone.page.get_by_text("What if I only turn").click()
            check(phone.page, "what if")
        if "Save how it was" in kind and kind not in seen:
            phone.pick("Did the optic touch skin or lashes?", re.compile("^Yes"))
            check(phone.page, "how it was")
        seen.add(kind)

    visit.go_through(hook=look, most=160)
    assert len(seen) > 8, seen
    check(phone.page, "every step done")
    lines_and_their_end(phone, check)
    visit.close()
    check(phone.page, "home, with a closed case")
    phone.page.get_by_text(re.compile("^Closed cases on this phone")).click()
    phone.page.get_by_role("link", name="HR-9001", exact=True).click()
    expect(phone.page.get_by_role("heading", name=re.compile("^Closed"))).to_be_visible()
    check(phone.page, "closed case")


@pytest.mark.parametrize(("check", "viewport"), CHECKS)
def test_every_screen_of_a_bad_day(server: Server, contexts: Contexts, check: Check, viewport: Any) -> None:
    phone = Phone(contexts.phone(viewport=viewport), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.begin("HR-9002", asked=("Fluorescein",), flags=("Child",))
    case = phone.page.url
    other = Phone(contexts.phone(), server)
    other.enrol("Phone 8")
    other.wait_for_guidance()
    other.begin("HR-9003", asked=("Fluorescein",))
    other.wait_until_sent()
    phone.home()
    phone.button("Send now").click()
    phone.page.get_by_role("link", name=re.compile("HR-9003")).click()
    expect(phone.page.get_by_role("heading", name="Another phone has this case")).to_be_visible()
    check(phone.page, "another phone has it")
    with Lead(server) as lead:
        lead.recall(lead.sha256, "The margin of the ultra-wide optic is wrong.")
        phone.home()
        phone.button("Send now").click()
        expect(phone.page.get_by_text("This guidance has been recalled")).to_be_visible()
        check(phone.page, "home, recalled")
        phone.page.goto(case)
        expect(phone.page.get_by_text("This guidance has been recalled")).to_be_visible()
        check(phone.page, "step, recalled")
        lead.withdraw("Phone 7", "left in a taxi")
    phone.home()
    phone.button("Send now").click()
    expect(phone.page.get_by_role("heading", name="This phone has been withdrawn")).to_be_visible()
    check(phone.page, "home, withdrawn")
    phone.page.goto(f"{server.origin}/#/case/no-such-case")
    expect(phone.page.get_by_text("This case is not on this phone")).to_be_visible()
    check(phone.page, "no such case")
    server.kill()
    phone.home()
    check(phone.page, "home, without a server")


def test_the_chosen_look_is_kept(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    root = phone.page.locator("html")
    expect(root).to_have_attribute("data-theme", "dark")
    phone.page.evaluate("location.hash = '#/settings'")
    phone.pick("Light", "Day")
    phone.pick("Text size", "200 %")
    phone.reload()
    expect(root).to_have_attribute("data-theme", "day")
    expect(root).to_have_attribute("data-text", "largest")
