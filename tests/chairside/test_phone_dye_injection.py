"""The injection on the phone: held, not tapped; a leak asked at once; what comes after the case is closed."""

from __future__ import annotations

import re

import pytest
from dye_case import at_screening, dye_phone, finish_arrival, ready_to_inject, screen, types
from playwright.sync_api import expect

import visit_dye
from browsing import Contexts
from phone_page import server_raws, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

HOLD = re.compile("^The dye goes in now")


def at_injection(server: Server, contexts: Contexts, code: str) -> Visit:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, code)
    visit_dye.answer_questions(visit)
    finish_arrival(visit)
    ready_to_inject(visit)
    return visit


def test_a_tap_starts_nothing_and_a_key_holds_as_a_finger_does(server: Server, contexts: Contexts) -> None:
    visit = at_injection(server, contexts, "HR-4301")
    phone = visit.phone
    visit_dye.hold(visit, ms=300)
    expect(visit.main).to_contain_text("Let go too soon: nothing was started.")
    assert phone.bodies("dye.injected") == []
    button = visit.main.get_by_role("button", name=HOLD)
    button.focus()
    visit.page.keyboard.press("Enter", delay=200)
    assert phone.bodies("dye.injected") == []
    began = visit.page.evaluate("Date.now()")
    visit.page.keyboard.press("Enter", delay=visit_dye.HELD_MS)
    expect(visit.main.get_by_role("button", name="No leak")).to_be_visible()
    (injected,) = phone.bodies("dye.injected")
    # when the press began, not when it had been held long enough
    assert 0 <= injected["pressed_at"] - began < 900
    (written,) = phone.envelopes("dye.injected")
    assert written["at"] - injected["pressed_at"] >= 950
    settle(phone)


def test_a_leak_is_asked_at_once_and_becomes_an_event(server: Server, contexts: Contexts) -> None:
    visit = at_injection(server, contexts, "HR-4302")
    phone = visit.phone
    visit_dye.hold(visit)
    visit.press("A leak")
    sheet = visit.page.get_by_role("dialog", name="Event")
    # what is known is filled in: one answer is left, and with it the event is on record
    sheet.get_by_role("button", name=re.compile("^Mild")).click()
    expect(sheet.get_by_role("heading", name="Recorded: Leak or swelling at the needle")).to_be_visible()
    sheet.get_by_role("button", name="The rest later").click()
    visit.put_away(sheet)
    (event,) = phone.stands("safety.noted")
    assert (event["what"], event["reached_patient"], event["harm"]) == ("leak_at_needle", True, "mild")
    assert event["step"] == "inject_fluorescein"
    expect(visit.main.get_by_role("heading", name="A leak at the needle")).to_be_visible()
    phone.reload()
    expect(visit.main.get_by_role("heading", name="A leak at the needle")).to_be_visible()
    assert len(phone.bodies("dye.injected")) == 1
    visit.press("No flush: stopped")
    visit.page.wait_for_url(re.compile("/series"))
    # an hour is asked for after a leak, by the demo's rules, where half an hour would do without one
    screen(visit, "step", "watched_after||")
    expect(visit.main).to_contain_text("Something before this is still open")
    settle(phone)


def test_a_visit_with_a_leak_is_watched_longer(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    phone.begin("HR-4303", asked=("Fluorescein",))
    visit = Visit(phone)
    visit.go_through(until="Fluorescein: hold the button")
    visit_dye.hold(visit)
    visit.press("A leak")
    sheet = visit.page.get_by_role("dialog", name="Event")
    sheet.get_by_role("button", name=re.compile("^Mild")).click()
    sheet.get_by_role("button", name="The rest later").click()
    visit.put_away(sheet)
    visit.press("The flush is in")
    visit.main.get_by_role("button", name="To the series", exact=True).click()
    visit.page.wait_for_url(re.compile("/series"))
    screen(visit, "step")
    visit.go_through(until="Keep the patient where")
    expect(visit.main.get_by_text("An hour; the physician looks at the arm")).to_be_visible()
    visit.go_through()
    (watch,) = phone.bodies("watch.started")
    assert watch["minutes"] == 60
    assert set(watch["rules"]) == {"injected", "leak"}
    visit.close()
    settle(phone)


def test_a_late_event_is_added_to_a_closed_case(server: Server, contexts: Contexts) -> None:
    visit = at_injection(server, contexts, "HR-4304")
    phone = visit.phone
    visit_dye.hold(visit)
    visit_dye.after_injection(visit)
    case = phone.case_id
    visit.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Case").click()
    visit.page.get_by_role("dialog").get_by_role("button", name="Close or hand over").click()
    sheet = visit.page.get_by_role("dialog", name="Close or hand over")
    sheet.get_by_role("radio", name=re.compile("^Stopped")).check()
    sheet.get_by_role("radio", name="Something more urgent came up").check()
    sheet.get_by_role("button", name="Close the case").click()
    expect(visit.page.get_by_role("heading", name="In the chair")).to_be_visible()
    settle(phone)

    visit.page.evaluate("id => { location.hash = `#/case/${id}/step`; }", case)
    visit.press("Record a late event")
    event = visit.page.get_by_role("dialog", name="Event")
    for answer in ("Reaction after the dye", "Yes", "Moderate"):
        event.get_by_role("button", name=re.compile(f"^{answer}")).click()
    expect(event.get_by_role("heading", name="Recorded: Reaction after the dye")).to_be_visible()
    # what came later has no clock but the patient's own words
    event.get_by_label("When was it?").fill("that evening, at supper")
    hours = event.get_by_label("Hours after the dye, about")
    hours.fill("900")
    expect(event.get_by_role("button", name="Save", exact=True)).to_be_disabled()
    hours.fill("6,5")
    event.get_by_role("button", name="Save", exact=True).click()
    visit.put_away(event)
    (late,) = phone.stands("safety.noted")
    assert late["late"] is True
    assert (late["when"], late["after_dye_h"]) == ("that evening, at supper", 6.5)
    assert "safety.noted" in types(phone)[types(phone).index("case.closed") :]
    expect(visit.main).to_contain_text("1 after the case")
    assert visit.page.get_by_role("button", name="Emergency").is_visible()
    lines = settle(phone)
    arrived = server_raws(server, phone.device)
    assert arrived == lines
    assert len(arrived) == len(set(arrived))
