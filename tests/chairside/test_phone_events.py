"""A safety event in few presses, finished later; comfort by faces; a correction that a reload cannot lose."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

import page_clock
from browsing import Contexts
from page_clock import PageClock
from page_line import inject, write_line
from phone_page import Phone, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]


def ready(server: Server, contexts: Contexts) -> Phone:
    context = contexts.phone()
    page_clock.install(context)
    phone = Phone(context, server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    return phone


def test_four_presses_record_it_and_the_list_asks_for_the_rest(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    page = phone.page
    phone.begin("HR-4201")
    page.evaluate("to => { location.hash = to; }", f"#/case/{phone.case_id}/optic")
    Visit(phone).choose_optic()
    inject(phone, "fluorescein", ago_s=95)
    presses = 0
    for name in ("Event", "Faint or near faint", "Yes", "Mild"):
        page.get_by_role("button", name=re.compile(rf"^{name}\b")).last.click()
        presses += 1
    expect(page.get_by_role("heading", name="Recorded: Faint or near faint")).to_be_visible()
    assert presses == 4
    (event,) = phone.stands("safety.noted")
    assert (event["what"], event["reached_patient"], event["harm"]) == ("faint", True, "mild")
    assert event["optic"] == phone.bodies("optic.chosen")[0]["optic"]
    assert 95 <= event["dye_s"] <= 105
    phone.reload()  # it is on record, and the rest can still be told here
    page.get_by_role("button", name="The rest later").click()

    phone.home()
    page.get_by_role("link", name=re.compile("^Faint or near faint, HR-4201")).click()
    sheet = page.get_by_role("dialog", name="To finish")
    expect(sheet).to_contain_text("Not said: signs, what was done, who was told.")
    sheet.get_by_role("checkbox", name="Slow pulse").check()
    phone.reload()  # half told
    expect(sheet.get_by_role("checkbox", name="Slow pulse")).to_be_checked()
    sheet.get_by_role("checkbox", name="Nurse").check()
    sheet.get_by_role("checkbox", name=re.compile("^More is not known")).check()
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(sheet.get_by_role("heading", name="Nothing is left to finish here")).to_be_visible()
    phone.home()
    expect(page.get_by_text(re.compile("to finish"))).to_have_count(0)
    (told,) = phone.stands("safety.noted")
    assert told["signs"] == ["slow_pulse"]
    assert (told["dye_s"], told["optic"]) == (event["dye_s"], event["optic"])
    settle(phone)


def test_no_question_is_passed_unseen_and_a_near_miss_takes_one_less(
    server: Server, contexts: Contexts
) -> None:
    phone = ready(server, contexts)
    phone.begin("HR-4202")
    phone.button("Event").click()
    sheet = phone.page.get_by_role("dialog", name="Event")
    expect(sheet.get_by_role("button", name="Next")).to_have_count(0)
    sheet.get_by_role("button", name="Wrong dye").click()
    expect(sheet.get_by_role("heading", name="Recorded: Wrong dye")).to_be_visible()
    (event,) = phone.bodies("safety.noted")  # from the first press on, whatever becomes of the phone
    assert (event["what"], event["reached_patient"], event["harm"]) == ("wrong_dye", None, None)
    phone.reload()
    expect(sheet.get_by_role("heading", name="Did it reach the patient?")).to_be_visible()
    sheet.get_by_role("button", name=re.compile(r"^No\b")).click()
    expect(sheet.get_by_role("heading", name="Recorded: Wrong dye")).to_be_visible()
    (event,) = phone.stands("safety.noted")
    assert (event["reached_patient"], event["harm"], event["dye_s"]) == (False, None, None)


def test_a_wrong_press_is_changed_or_taken_back_and_a_lost_phone_loses_nothing(
    server: Server, contexts: Contexts
) -> None:
    phone = ready(server, contexts)
    page = phone.page
    phone.begin("HR-4206")
    phone.button("Event").click()
    sheet = page.get_by_role("dialog", name="Event")
    sheet.get_by_role("button", name="Wrong eye").click()
    sheet.get_by_role("button", name="It was something else").click()
    sheet.get_by_role("button", name="Wrong dye").click()
    expect(sheet.get_by_role("heading", name="Recorded: Wrong dye")).to_be_visible()
    assert [event["what"] for event in phone.stands("safety.noted")] == ["wrong_dye"]
    # the phone goes dark here: another one, or the same later, asks for the rest
    phone.home()
    expect(page.get_by_role("link", name=re.compile("^Wrong dye, HR-4206"))).to_be_visible()
    expect(page.get_by_text(re.compile("Not said: whether it reached the patient"))).to_be_visible()
    phone.go_on()
    phone.button("Event").click()
    sheet.get_by_role("button", name="This is another event").click()
    sheet.get_by_role("button", name="Wrong eye").click()
    sheet.get_by_role("button", name="Pressed by mistake").click()
    expect(sheet).to_have_count(0)
    assert [event["what"] for event in phone.stands("safety.noted")] == ["wrong_dye"]
    settle(phone)


def test_comfort_by_faces_and_a_break_after_so_long_in_the_rest(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    page = phone.page
    phone.begin("HR-4203")
    phone.button("Comfort").click()
    sheet = page.get_by_role("dialog", name="Comfort")
    sheet.get_by_role("button", name="A little uneasy").click()
    expect(sheet.get_by_role("button", name="3", exact=True)).to_have_attribute("aria-pressed", "true")
    sheet.get_by_role("button", name="Note 3 of 10").click()
    expect(sheet).to_have_count(0)
    frame = {"eye": "right", "optic": "x", "modality": "colour", "field": "y", "gaze_deg": [0, 0]}
    write_line(phone, "frame.taken", {**frame, "outcome": "taken"})
    offer = page.get_by_role("region", name="Break")
    PageClock(page).passes(9 * 60)
    page.wait_for_timeout(200)
    expect(offer).to_have_count(0)
    PageClock(page).passes(90)
    expect(offer).to_be_visible(timeout=15_000)
    offer.get_by_role("button", name="Start a break").click()
    expect(page.get_by_role("heading", name=re.compile("^Pause for"))).to_be_visible()
    expect(offer).to_have_count(0)
    (pause,) = phone.bodies("pause.noted")
    assert (pause["state"], pause["why"]) == ("started", "break from the chin rest")


def test_a_correction_half_made_survives_a_reload_and_all_steps_has_an_address(
    server: Server, contexts: Contexts
) -> None:
    phone = ready(server, contexts)
    page = phone.page
    phone.begin("HR-4204")
    here = page.url
    Visit(phone).comfort(2)
    phone.button("Case").click()
    page.get_by_role("button", name=re.compile("^Amend: Comfort")).click()
    page.get_by_role("dialog", name="Amend a line").get_by_label("Why", exact=True).fill("wrong key")
    phone.reload()
    sheet = page.get_by_role("dialog", name="Amend a line")
    expect(sheet.get_by_label("Why", exact=True)).to_have_value("wrong key")
    sheet.get_by_role("textbox").first.fill("4")
    sheet.get_by_role("button", name="Save the correction").click()
    expect(sheet).to_have_count(0)
    page.get_by_role("dialog").get_by_role("button", name="Back", exact=True).click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.wait_for_function("() => !location.href.includes('over=')")

    page.get_by_role("button", name=re.compile("All steps")).click()
    expect(page.get_by_role("dialog", name="All steps")).to_be_visible()
    assert "over=steps" in page.url
    page.go_back()  # the phone's own way back takes the sheet away and leaves the case where it is
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert page.url == here


def test_who_works_here_is_asked_once_a_shift(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    page = phone.page
    asks = page.get_by_label("Who works on this phone")
    page.get_by_role("link", name="Begin a case").click()
    asks.fill("QX")
    phone.begin("HR-4205")
    assert [e["actor"] for e in phone.envelopes("case.opened")] == ["QX"]
    phone.home()
    page.get_by_role("link", name="Begin a case").click()
    expect(page.get_by_label("Case code")).to_be_visible()
    expect(asks).to_have_count(0)
    PageClock(page).passes(13 * 3600)
    phone.home()
    page.get_by_role("link", name="Begin a case").click()
    expect(asks).to_have_value("QX")
