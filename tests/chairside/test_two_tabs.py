"""Two tabs of one phone share one log: one chain, written by both at the same moment and shown in both."""

import json
import re
from collections import Counter

import pytest
from playwright.sync_api import Page, expect

from browsing import Contexts
from phone_page import Phone, server_raws
from serving import Server
from two_tabs import TAP_ON, hold_to_one_chain, notes_of, other_tab
from visit import Visit

pytestmark = pytest.mark.browser

ROUNDS = 6
AHEAD_MS = 150


def tap_at(page: Page, name: str, at: float) -> None:
    """Have the page tap a button at this moment of the clock."""
    page.get_by_role("button", name=name, exact=True).evaluate(
        "(button, at) => { setTimeout(() => button.click(), at - Date.now()); }", at
    )


def fill_comfort(tab: Phone, note: str) -> None:
    tab.page.bring_to_front()  # a tab behind draws, and so answers Playwright, once a second
    tab.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Comfort").click()
    sheet = tab.page.get_by_role("dialog", name="Comfort")
    sheet.get_by_role("button", name="2", exact=True).click()
    sheet.get_by_label("Note (may stay empty)").fill(note)


def shown_comforts(tab: Phone, notes: set[str]) -> None:
    """The tab's own list of the case's lines has each of these once."""
    tab.page.bring_to_front()
    tab.button("Case").click()
    sheet = tab.page.get_by_role("dialog")
    for note in notes:
        expect(sheet.get_by_role("listitem").get_by_text(note, exact=True)).to_have_count(1)
    sheet.get_by_role("button", name="Back", exact=True).click()


def test_two_tabs_that_write_at_the_same_moment_make_one_chain(server: Server, contexts: Contexts) -> None:
    one = Phone(contexts.phone(), server)
    one.enrol("Phone 4")
    one.wait_for_guidance()
    one.begin("HR-7004")
    case = one.case_id
    two = other_tab(one, f"#/case/{case}/step")
    expect(two.main.get_by_role("heading", level=1, name=one.heading)).to_be_visible()
    before = len(one.lines())

    wanted: set[str] = set()
    for round_ in range(ROUNDS):
        for tab, name in ((one, "left"), (two, "right")):
            fill_comfort(tab, f"{name}{round_}")
            wanted.add(f"{name}{round_}")
        at = float(one.page.evaluate("Date.now()")) + AHEAD_MS
        tap_at(one.page, "Note 2 of 10", at)
        tap_at(two.page, "Note 2 of 10", at)
        for tab in (one, two):
            expect(tab.page.get_by_role("dialog")).to_have_count(0)

    raws = hold_to_one_chain(one)
    assert notes_of(raws) == Counter(wanted)
    assert len(raws) == before + 2 * ROUNDS
    for tab in (one, two):
        shown_comforts(tab, wanted)
    one.page.bring_to_front()
    one.wait_until_sent()
    assert server_raws(server, one.device) == raws


def test_one_tab_goes_through_steps_while_the_other_taps_on(server: Server, contexts: Contexts) -> None:
    one = Phone(contexts.phone(), server)
    one.enrol("Phone 5")
    one.wait_for_guidance()
    one.begin("HR-7005")
    two = other_tab(one, f"#/case/{one.case_id}/step")
    expect(two.button("Done")).to_be_visible()

    notes = [f"tap{number}" for number in range(20)]
    two.page.evaluate(f"notes => {{ window.tapping = ({TAP_ON})(notes); }}", notes)
    one.page.bring_to_front()
    visit = Visit(one)
    visit.go_through(until="Measure the pupil")
    two.page.evaluate("() => window.tapping")

    raws = hold_to_one_chain(one)
    assert notes_of(raws) == Counter(notes)
    types = [json.loads(raw.split(b"\t")[0])["type"] for raw in raws]
    assert types.count("step.done") == len(visit.done)
    # they really wrote in turns, and not one after the other
    steps = [place for place, type_ in enumerate(types) if type_ == "step.done"]
    assert "comfort.noted" in types[steps[0] : steps[-1]]
    for tab in (one, two):
        shown_comforts(tab, {notes[0], notes[-1]})
    one.page.bring_to_front()
    one.wait_until_sent()
    assert server_raws(server, one.device) == raws


def test_what_one_tab_does_shows_in_the_other(server: Server, contexts: Contexts) -> None:
    one = Phone(contexts.phone(), server)
    one.open()
    two = other_tab(one)
    expect(two.page.get_by_role("heading", name="Enrol this phone")).to_be_visible()
    one.enrol("Phone 6")
    expect(two.page.get_by_role("heading", name="In the chair")).to_be_visible()
    one.wait_for_guidance()
    expect(two.page.get_by_role("link", name="Begin a case")).to_be_visible()

    one.page.bring_to_front()
    one.begin("HR-7006")
    chair = two.page.get_by_role("region", name="In the chair")
    expect(chair).to_contain_text("HR-7006")
    two.page.bring_to_front()
    chair.get_by_role("link").click()
    identity = two.main.get_by_role("heading", level=1, name=re.compile("two identifiers"))
    expect(identity).to_be_visible()
    one.page.bring_to_front()
    Visit(one).step(one.heading)
    expect(two.main.get_by_role("heading", level=1, name=one.heading)).to_be_visible()
    expect(identity).to_have_count(0)

    # and back: what the second tab writes, the first one knows
    two.page.bring_to_front()
    two.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Emergency").click()
    runs = one.page.get_by_role("region", name="Emergency").get_by_role("button")
    expect(runs).to_be_visible()
    one.page.bring_to_front()
    runs.click()
    sheet = one.page.get_by_role("dialog", name="Emergency")
    sheet.get_by_role("button", name="End", exact=True).click()
    sheet.get_by_role("button", name="Over: back to the case").click()
    two.page.bring_to_front()
    two.page.get_by_role("dialog").get_by_role("button", name="Back", exact=True).click()
    expect(two.page.get_by_role("region", name="Emergency")).to_have_count(0)

    two.button("Case").click()
    two.page.get_by_role("button", name="Close or hand over").click()
    sheet = two.page.get_by_role("dialog", name="Close or hand over")
    sheet.get_by_role("radio", name=re.compile("^Cancelled")).check()
    sheet.get_by_role("group", name=re.compile("^One reason for all")).get_by_role(
        "radio", name="Does not apply here"
    ).check()
    sheet.get_by_role("button", name="Close the case").click()
    expect(one.main.get_by_role("heading", level=1, name="Closed: cancelled")).to_be_visible()
    hold_to_one_chain(one)
