"""What holds a dye back on the phone: a stop, the physician not yet asked, the wrong arm, consent."""

from __future__ import annotations

import re

import pytest
from dye_case import at_screening, dye_phone, finish_arrival, ready_to_inject, screen, types
from playwright.sync_api import expect

import visit_dye
from browsing import Contexts
from phone_page import settle
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

HAD_HIVES = {"Has a dye for eye pictures": "Itching, hives or rash"}


def test_a_stop_is_passed_only_by_a_licensed_persons_own_words(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4101")
    visit_dye.answer_questions(visit, HAD_HIVES)
    expect(visit.main.get_by_role("heading", name="Stop", exact=True)).to_be_visible()
    phone.reload()  # the answers are lines, so they are there again
    expect(visit.main.get_by_role("heading", name="Stop", exact=True)).to_be_visible()

    # the dose stays closed, whichever way it is reached, and says why
    screen(visit, "dose")
    expect(visit.main.get_by_role("heading", name="No dose of fluorescein sodium yet")).to_be_visible()
    expect(visit.main).to_contain_text("Itching, hives or rash")
    expect(visit.page.get_by_label("Weight today, in kilograms")).to_have_count(0)
    screen(visit, "inject")
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_have_count(0)

    screen(visit, "screening")
    visit.press("A licensed person releases it")
    sheet = visit.page.get_by_role("dialog", name="Release of a stop")
    button = sheet.get_by_role("button", name="Release this stop")
    expect(button).to_be_disabled()
    sheet.get_by_label("Released by").fill("DRX")
    sheet.get_by_role("radio", name="Doctor", exact=True).check()
    expect(button).to_be_disabled()  # without their words it is no release
    phone.reload()
    visit.press("A licensed person releases it")
    expect(sheet.get_by_label("Released by")).to_have_value("DRX")  # what was half entered is not lost
    visit_dye.release(visit, sheet, words="one itchy arm in 2019, no treatment; line and kit at hand")
    expect(visit.main.get_by_role("heading", name="Every question is answered")).to_be_visible()
    (released,) = phone.bodies("stop.released")
    assert (released["question"], released["answer"]) == ("earlier_reaction", "skin")
    assert (released["by"], released["role"]) == ("DRX", "Doctor")

    visit.press_and_leave("Go on")
    finish_arrival(visit)
    ready_to_inject(visit)
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_be_visible()

    # another answer is another stop: the release was for the one that was given
    screen(visit, "screening")
    visit.main.get_by_role("button", name=re.compile("^Has a dye for eye pictures")).click()
    visit_dye.answer_one(visit, {"Has a dye": "Swelling, breathing, collapse"})
    screen(visit, "inject")
    expect(visit.main).to_contain_text("Swelling, breathing, collapse")
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_have_count(0)
    settle(phone)


def test_a_stop_is_not_answered_away_without_a_reason(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4106")
    visit_dye.answer_questions(visit, HAD_HIVES)
    row = visit.main.get_by_role("button", name=re.compile("^Has a dye for eye pictures"))
    row.click()
    lightest = visit_dye.question(visit).locator(".big-answers").get_by_role("button").first
    lightest.click()
    changes = visit.main.get_by_role("region", name="The answer changes")
    expect(changes).to_contain_text("Itching, hives or rash")
    answers = len(phone.bodies("screening.answered"))
    changes.get_by_role("button", name="Leave the first answer").click()
    expect(visit.main.get_by_role("heading", name="Stop", exact=True)).to_be_visible()
    row.click()
    lightest.click()
    phone.reload()  # nothing was said yet, so the stop stands
    expect(visit.main.get_by_role("heading", name="Stop", exact=True)).to_be_visible()
    assert len(phone.bodies("screening.answered")) == answers
    row.click()
    lightest.click()
    changes.get_by_label("More about it").fill("it was another medicine")
    changes.get_by_role("button", name="Pressed by mistake").click()
    expect(visit.main.get_by_role("heading", name="Every question is answered")).to_be_visible()
    first, last = [b for b in phone.bodies("screening.answered") if b["question"] == "earlier_reaction"]
    assert (first["consequence"], first["why"]) == ("stop", "")  # it stays in the record
    assert (last["consequence"], last["why"]) == ("go", "Pressed by mistake: it was another medicine")
    settle(phone)


def test_a_stop_that_nobody_releases_ends_without_dye(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4102")
    visit_dye.answer_questions(visit, HAD_HIVES)
    # it cannot be called completed
    visit.press("Close the case")
    sheet = visit.page.get_by_role("dialog", name="Close or hand over")
    sheet.get_by_role("radio", name=re.compile("^Completed")).check()
    expect(sheet.get_by_role("heading", name=re.compile("^A stop is open"))).to_be_visible()
    expect(sheet.get_by_role("button", name="Close the case")).to_be_disabled()
    phone.reload()
    expect(sheet.get_by_role("radio", name=re.compile("^Completed"))).to_be_checked()
    sheet.get_by_role("button", name="Back", exact=True).click()
    visit.put_away(sheet)

    # colour photographs only: what was asked for stays in the log, and no step of the dye is left
    visit.press("Colour photographs only")
    asking = visit.page.get_by_role("dialog", name="Without dye?")
    asking.get_by_role("button", name="Go on without dye").click()
    expect(asking).to_have_count(0)
    (left,) = phone.bodies("dye.left_out")
    assert left["modalities"] == ["fluorescein"]
    assert "Itching, hives or rash" in left["why"]
    visit.go_through()
    assert not any("dye" in sentence.lower() and "bolus" in sentence for sentence in visit.done)
    assert not {"dose.worked", "dye.injected", "watch.started"} & set(types(phone))
    assert phone.bodies("frame.taken")
    assert {frame["modality"] for frame in phone.bodies("frame.taken")} == {"colour"}
    visit.close()
    settle(phone)


def test_consent_refused_is_no_matter_of_a_reason(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    phone.begin("HR-4103", asked=("Fluorescein",))
    from visit import Visit

    visit = Visit(phone)
    visit.go_through(until="Confirm that consent")
    visit.press("Can't")
    sheet = visit.page.get_by_role("dialog", name="This is a stop")
    expect(sheet.get_by_role("radio", name="No time")).to_have_count(0)
    expect(sheet.get_by_role("button", name="Pass with this reason")).to_have_count(0)
    sheet.get_by_role("button", name="Close the case").click()
    closing = visit.page.get_by_role("dialog", name="Close or hand over")
    closing.get_by_role("radio", name=re.compile("^Cancelled")).check()
    closing.get_by_role("radio", name="The patient does not want it").check()
    closing.get_by_role("button", name="Close the case").click()
    expect(visit.page.get_by_role("heading", name="In the chair")).to_be_visible()
    (closed,) = phone.bodies("case.closed")
    assert closed["outcome"] == "cancelled"
    assert "consent" not in {
        body["step"] for body in phone.bodies("step.skipped")
    }  # it stays open in the record
    settle(phone)


def test_unticking_a_flag_releases_nothing(server: Server, contexts: Contexts) -> None:
    on_file = re.compile("^Earlier reaction to a dye on file")
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4106", flags=("Earlier reaction to a dye on file",))
    visit_dye.answer_questions(visit)
    screen(visit, "dose")
    expect(visit.main).to_contain_text("A stop is open: Earlier reaction on file")
    phone.button("Case").click()
    lines = visit.page.get_by_role("dialog").first
    lines.get_by_role("button", name="Change what to know about the patient").click()
    sheet = visit.page.get_by_role("dialog", name="What to know about the patient")
    sheet.get_by_role("checkbox", name=on_file).uncheck()
    sheet.get_by_role("button", name="Save").click()
    expect(sheet).to_have_count(0)
    visit.page.keyboard.press("Escape")
    expect(visit.page.get_by_role("dialog")).to_have_count(0)
    assert [flagged["flags"] for flagged in phone.bodies("case.flagged")] == [[]]
    screen(visit, "dose")
    expect(visit.main).to_contain_text("A stop is open: Earlier reaction on file")
    expect(visit.page.get_by_label("Weight today, in kilograms")).to_have_count(0)
    settle(phone)


def test_the_physician_is_asked_and_may_say_stop(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4104")
    visit_dye.answer_questions(visit, {"Do you take a beta-blocker": "Yes"})
    assert "Go on preparing; the dye stays closed" in visit.names()
    visit.press("They have been asked")
    sheet = visit.page.get_by_role("dialog", name="Their answer")
    sheet.get_by_label("Who decides").fill("DRY")
    sheet.get_by_role("radio", name="Doctor", exact=True).check()
    sheet.get_by_role("button", name="They say stop").click()
    expect(visit.main.get_by_role("heading", name="The physician says stop")).to_be_visible()
    screen(visit, "dose")
    expect(visit.main).to_contain_text("The physician says stop")
    (said,) = phone.bodies("physician.asked")
    assert (said["question"], said["answer"], said["goes_on"]) == ("beta_blocker", "yes", False)
    settle(phone)


def test_never_the_arm_with_the_fistula(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4105")
    visit_dye.answer_questions(visit, {"A dialysis fistula": "Left arm must not be used"})
    finish_arrival(visit)
    screen(visit, "dose")
    visit_dye.work_dose(visit)
    screen(visit, "ready")
    while not visit_dye.question(visit).get_by_role("heading", name="Which arm").count():
        visit_dye.answer_one(visit)
    expect(visit.main.get_by_role("heading", name="Never the left arm")).to_be_visible()
    visit_dye.answer_one(visit, {"Which arm": "Left arm"})
    expect(visit.main.get_by_role("heading", name="Stop: the wrong arm")).to_be_visible()
    # no release is offered for an arm: another needle is the only way
    assert not [name for name in visit.names() if "release" in name.lower()]
    screen(visit, "inject")
    expect(visit.main).to_contain_text("an arm that must not be used")
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_have_count(0)

    screen(visit, "ready")
    visit.press("Another needle: answer again")
    visit_dye.answer_one(visit, {"Which arm": "Right arm"})
    visit.press_and_leave("Go on")
    screen(visit, "inject")
    visit_dye.hold(visit)
    expect(visit.main.get_by_role("button", name="No leak")).to_be_visible()
    (injected,) = phone.bodies("dye.injected")
    assert injected["arm"] == "right"
    arms = [b["consequence"] for b in phone.bodies("screening.answered") if b["question"] == "arm"]
    assert arms == ["stop", "go"]
    whys = [b["why"] for b in phone.bodies("screening.answered") if b["question"] == "arm"]
    assert whys == ["", "The patient or the notes say otherwise"]
    settle(phone)
