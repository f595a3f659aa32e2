"""Reactions on the phone: in mid-series, with the network dead, over reloads; practice; with no case at all.

The patients are invented. What each leaves behind is one line for every press, on the server exactly once.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

import page_clock
from browsing import Contexts
from emergency_page import Emergency, in_a_series, incidents
from page_clock import PageClock
from phone_page import Phone, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(420)]

# words of the published scales, whatever their order
CLASSES = re.compile(r"\b(mild|moderate|severe|serious|minor|grade|harmless)\b", re.IGNORECASE)


def ready(server: Server, contexts: Contexts) -> Phone:
    context = contexts.phone()
    page_clock.install(context)
    phone = Phone(context, server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    return phone


def take_a_frame(phone: Phone) -> None:
    now = phone.page.get_by_role("region", name="This frame")
    moved = now.get_by_role("button", name="Moved, and back in place")
    if moved.is_visible():
        moved.click()
    now.get_by_role("button", name="Taken").click()
    phone.page.wait_for_timeout(300)
    assert phone.bodies("frame.taken")


def test_a_severe_reaction_in_mid_series_with_the_network_dead(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    page = phone.page
    phone.wait_for_shell()
    case = in_a_series(phone, "HR-4101")
    take_a_frame(phone)
    server.kill()
    phone.context.set_offline(True)

    emergency = Emergency(phone).open()
    clocks = emergency.sheet.get_by_role("region", name="Clocks")
    expect(clocks).to_contain_text("since fluorescein")  # the dye's clock goes on
    assert [body["why"] for body in phone.bodies("series.stopped")] == ["emergency"]
    expect(emergency.sheet.get_by_role("link", name=re.compile("555-0111"))).to_have_attribute(
        "href", "tel:5550111"
    )
    expect(emergency.alarm).to_have_count(0)

    emergency.sign("Hives", "Wheeze")
    expect(emergency.alarm).to_be_visible()
    expect(clocks.get_by_role("link", name="Call 555-0111")).to_be_in_viewport()
    emergency.act("Help called")
    emergency.act("Laid flat")
    emergency.act("Drug given")
    emergency.sheet.get_by_label("What", exact=True).fill("as said aloud")

    # the phone is reloaded in the middle: the page is where it was, with what was half entered
    phone.reload()
    expect(emergency.sheet).to_be_visible()
    expect(emergency.sheet.get_by_label("What", exact=True)).to_have_value("as said aloud")
    emergency.sheet.get_by_label("How much").fill("one pen")
    emergency.sheet.get_by_label("By whom").fill("nurse")
    emergency.sheet.get_by_role("button", name="Add", exact=True).click()
    expect(emergency.sheet.get_by_text("as said aloud · one pen · by nurse")).to_be_visible()
    expect(emergency.alarm).to_be_visible()  # once met it stays

    # locked for minutes: on return the page asks to look again
    PageClock(page).hidden_for(400)
    expect(emergency.sheet.get_by_role("alert").filter(has_text="Look again")).to_be_visible()
    emergency.sheet.get_by_role("button", name="Looked").click()

    # killed, and begun again at its own start address
    page.close()
    page_clock.go_on(phone.context, 400)
    phone.page = phone.context.new_page()
    emergency = Emergency(phone)
    phone.open()
    expect(emergency.sheet).to_be_visible()
    emergency.read(pulse=128, pressure_upper=82, saturation=90)
    emergency.sign("Unconscious")
    for part in ("Help", "Signs", "Actions", "Values", "End"):
        emergency.part(part)
        found = CLASSES.search(emergency.sheet.inner_text())
        assert found is None, f"{part}: {found}"
    emergency.sheet.get_by_label("To whom").fill("resuscitation team")
    emergency.sheet.get_by_role("button", name="Log the handover").click()
    expect(emergency.sheet.get_by_text("To resuscitation team")).to_be_visible()
    emergency.end("Over: no more imaging")
    assert case in phone.page.url

    signs = phone.bodies("reaction.sign")
    assert all(sign["seen"] for sign in signs)
    assert len({sign["sign"] for sign in signs}) == len(signs) >= 4  # the low pressure that was measured too
    (read,) = phone.bodies("reaction.observed")
    assert (read["pulse"], read["systolic"], read["saturation"], read["diastolic"]) == (128, 82, 90, None)
    assert len(phone.bodies("reaction.started")) == 1
    assert [b["action"] for b in phone.bodies("reaction.action")] == [
        "help_called",
        "laid_flat",
        "drug",
    ]
    (amended,) = phone.bodies("line.amended")
    assert (amended["body"]["drug"], amended["body"]["dose"], amended["body"]["by"]) == (
        "as said aloud",
        "one pen",
        "nurse",
    )
    assert phone.bodies("reaction.ended")[0]["outcome"] == "case_stopped"

    server.start()
    phone.context.set_offline(False)
    settle(phone)  # every line on the server exactly once, byte for byte
    (incident,) = incidents(server)
    assert (incident["what"], incident["reached_patient"], incident["harm"]) == ("reaction", 1, None)
    expect(phone.page.get_by_text("1 thing to finish")).to_be_visible()
    # told afterwards, from the list that asks: still one incident
    phone.page.get_by_role("link", name=re.compile("^An emergency")).click()
    phone.page.get_by_role("button", name="Record what happened").click()
    sheet = phone.page.get_by_role("dialog", name="Event")
    sheet.get_by_role("button", name="Yes").click()
    sheet.get_by_role("button", name=re.compile("^Severe")).click()
    sheet.get_by_role("button", name="The rest later").click()
    settle(phone)
    (incident,) = incidents(server)
    assert (incident["what"], incident["harm"]) == ("dye_reaction", "severe")
    (event,) = phone.stands("safety.noted")
    assert event["dye_s"] > 70
    assert "wheeze" in event["signs"]


def test_a_moderate_reaction_passes_and_the_series_goes_on(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    case = in_a_series(phone, "HR-4102")
    take_a_frame(phone)
    emergency = Emergency(phone).open()
    emergency.sign("Itching")
    emergency.act("Legs up")
    emergency.sheet.get_by_role("button", name="Undo: Legs up").click()
    expect(emergency.sheet.get_by_role("region", name="Logged")).to_have_count(0)

    # put away while it runs: every screen says so, and leads back
    emergency.sheet.get_by_role("button", name="Back", exact=True).click()
    expect(emergency.sheet).to_have_count(0)
    phone.home()
    phone.page.get_by_role("region", name="Emergency").get_by_role("button").click()
    expect(emergency.sheet).to_be_visible()
    assert case in phone.page.url
    emergency.part("End")
    emergency.sheet.get_by_role("checkbox", name=re.compile("^It goes on")).check()
    emergency.end("Over: back to the case")
    phone.page.evaluate("to => { location.hash = to; }", f"#/case/{case}/series")
    take_a_frame(phone)
    assert len(phone.bodies("frame.taken")) == 2
    settle(phone)
    (incident,) = incidents(server)
    assert incident["what"] == "reaction"


def test_nausea_is_a_comfort_matter_and_never_reassured_about(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    in_a_series(phone, "HR-4103")
    phone.button("Comfort").click()
    sheet = phone.page.get_by_role("dialog", name="Comfort")
    sheet.get_by_role("button", name="Hard to take").click()
    sheet.get_by_role("checkbox", name="Nausea").check()
    sheet.get_by_role("button", name="Note 8 of 10").click()
    offer = phone.page.get_by_role("dialog", name="Comfort noted")
    emergency = Emergency(phone).open(inside=offer)  # from a sheet over the series, one press
    emergency.sign("Nausea")
    expect(emergency.alarm).to_have_count(0)
    assert CLASSES.search(emergency.sheet.inner_text()) is None
    emergency.end("Over: no more imaging")
    (noted,) = phone.bodies("comfort.noted")
    assert (noted["score"], noted["bothers"]) == (8, ["nausea"])
    settle(phone)


def test_opened_by_mistake_stops_nothing(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    in_a_series(phone, "HR-4104")
    take_a_frame(phone)
    emergency = Emergency(phone).open()
    emergency.part("End")
    emergency.sheet.get_by_role("button", name="It was opened by mistake").click()
    emergency.sheet.get_by_role("button", name="Opened by mistake", exact=True).click()
    expect(emergency.sheet).to_have_count(0)
    take_a_frame(phone)
    settle(phone)
    (incident,) = incidents(server)
    assert incident["withdrawn"] == 1


def test_practice_is_plain_and_turns_real_with_one_press(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    in_a_series(phone, "HR-4105", practice=True)
    expect(phone.page.locator("header").get_by_text("Practice", exact=True)).to_be_visible()
    emergency = Emergency(phone).open()
    expect(emergency.sheet.get_by_text("Practice", exact=True)).to_be_visible()
    emergency.sign("Nausea")
    all_sent = phone.page.get_by_text("All on the server")
    expect(all_sent).to_be_attached()
    assert [row["practice"] for row in incidents(server)] == [1]
    emergency.sheet.get_by_role("button", name="This is real").click()
    expect(emergency.sheet.get_by_text("Practice", exact=True)).to_have_count(0)
    emergency.sign("Wheeze")
    emergency.end("Over: no more imaging")
    marks = [e["practice"] for e in phone.envelopes("reaction.sign")]
    assert marks == [True, False]
    assert [e["practice"] for e in phone.envelopes("practice.ended")] == [False]
    settle(phone)
    (incident,) = incidents(server)
    assert incident["practice"] == 0  # the whole case counts, what began in practice too


def test_a_reaction_with_no_case_is_logged_and_attached_later(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    phone.home()
    emergency = Emergency(phone).open()
    emergency.sign("Fainted")
    phone.reload()
    expect(emergency.sheet).to_be_visible()
    emergency.act("Laid flat")
    emergency.end("Over")
    expect(phone.page.get_by_text("Nobody. No case is open on this phone.")).to_be_visible()
    settle(phone)
    (incident,) = incidents(server)
    assert (incident["what"], incident["case_code"]) == ("reaction", None)

    phone.begin("HR-4106")
    case = phone.case_id
    phone.home()
    phone.page.get_by_role("link", name=re.compile("^An emergency with no case")).click()
    sheet = phone.page.get_by_role("dialog", name="To finish")
    sheet.get_by_role("radio", name=re.compile("^HR-4106")).check()
    sheet.get_by_role("button", name="Save", exact=True).first.click()
    expect(sheet.get_by_role("radio", name=re.compile("^HR-4106"))).to_have_count(0)
    ties = phone.bodies("reaction.attached")
    assert [tie["to"] for tie in ties] == [case, case]
    assert {e["case"] for e in phone.envelopes("reaction.attached")} == {case, ties[0]["reaction"]}
    settle(phone)
    (incident,) = incidents(server)
    assert incident["case_code"] == "HR-4106"


@pytest.mark.parametrize("place", ["#/", "#/new", "#/settings", "#/unsent", "#/light", "#/card"])
def test_the_way_out_is_on_every_screen_outside_a_case(
    place: str, server: Server, contexts: Contexts
) -> None:
    phone = ready(server, contexts)
    phone.page.goto(f"{server.origin}/{place}")
    phone.page.get_by_role("button", name="Emergency").first.click()
    expect(Emergency(phone).sheet).to_contain_text("Draw back.")


def test_the_way_out_is_in_every_sheet_of_a_case(server: Server, contexts: Contexts) -> None:
    phone = ready(server, contexts)
    phone.begin("HR-4107")
    visit = Visit(phone)
    visit.comfort(2)
    emergency = Emergency(phone)

    def out_of(sheet_name: str | re.Pattern[str]) -> None:
        emergency.open(inside=phone.page.get_by_role("dialog", name=sheet_name).last)
        emergency.sheet.get_by_role("button", name="Back", exact=True).click()
        expect(emergency.sheet).to_have_count(0)
        phone.page.wait_for_function("() => !location.href.includes('over=')")

    for opens, name in (("Event", "Event"), ("Comfort", "Comfort"), ("Case", re.compile("^Case "))):
        phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name=opens).click()
        out_of(name)
    phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Case").click()
    phone.page.get_by_role("button", name=re.compile("^Amend: Comfort")).click()
    out_of("Amend a line")
    phone.page.get_by_role("button", name=re.compile("All steps")).click()
    out_of("All steps")
    phone.button("Can't").click()
    emergency.open(inside=phone.page.get_by_role("dialog", name="Why can't it be done?"))
    assert len(phone.bodies("reaction.started")) == 1  # it ran all the time


def test_an_emergency_that_nobody_ended_is_asked_about_until_its_end_is_told(
    server: Server, contexts: Contexts
) -> None:
    phone = ready(server, contexts)
    page = phone.page
    in_a_series(phone, "HR-4110")
    emergency = Emergency(phone).open()
    emergency.part("End")
    emergency.sheet.get_by_role("link", name="Leave this page; the emergency goes on").click()
    expect(emergency.sheet).to_have_count(0)
    # the patient is looked after, and nobody comes back to the phone
    page.get_by_role("button", name="1 thing to finish").click()
    sheet = page.get_by_role("dialog", name="To finish")
    unended = sheet.get_by_role("region", name="An emergency is not ended")
    minutes = unended.get_by_label("Over how many minutes after it was opened?")
    minutes.fill("900")
    expect(unended.get_by_role("alert")).to_contain_text("900 is outside 0 to")
    minutes.fill("0")
    unended.get_by_role("button", name="It was over: no more was imaged").click()
    # the list goes on to what is not told of it
    expect(sheet.get_by_role("button", name="Record what happened")).to_be_visible()
    expect(unended).to_have_count(0)
    (ended,) = phone.bodies("reaction.ended")
    assert (ended["outcome"], ended["late"], ended["after_min"]) == ("case_stopped", True, 0)
    settle(phone)
