"""An emergency is over, and an event was logged: the phone asks whether both are one, and keeps it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, expect

from browsing import Contexts
from emergency_page import Emergency, incidents
from phone_page import Phone, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

FAINT = "Faint or near faint"


def event_and_emergency(phone: Phone, code: str) -> Locator:
    """A case with a faint logged as an event, and an emergency with hives; the list of what is left."""
    phone.begin(code)
    Visit(phone).event(FAINT, reached="Yes", harm="Mild")
    emergency = Emergency(phone).open()
    emergency.sign("Hives")
    emergency.end("Over: back to the case")
    phone.page.get_by_role("button", name=re.compile("to finish$")).click()
    sheet = phone.page.get_by_role("dialog", name="To finish")
    expect(sheet.get_by_text("Is it the same thing that was logged as an event?")).to_be_visible()
    return sheet


def reaction_line(phone: Phone) -> str:
    return str(phone.envelopes("reaction.started")[-1]["id"])


def test_whether_an_event_is_the_same_thing_as_the_emergency(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()

    # yes: the event is told of the emergency, with its signs, in one line more
    sheet = event_and_emergency(phone, "HR-4301")
    sheet.get_by_role("checkbox", name="Slow pulse").check()  # of the event, half told and not yet saved
    sheet.get_by_role("button", name=re.compile(f"^Yes: {FAINT}")).click()
    expect(sheet.get_by_text("Is it the same thing")).to_have_count(0)
    (event,) = phone.stands("safety.noted")
    assert (event["reaction"], event["what"], event["harm"]) == (reaction_line(phone), "faint", "mild")
    assert event["signs"] == ["hives_or_rash"]
    last = phone.bodies("line.amended")[-1]
    assert last["line"] == phone.envelopes("safety.noted")[0]["id"]
    assert last["why"] == "the same thing as the emergency"
    # the rest of it is told in the same sheet: nothing of either is lost
    sheet.get_by_role("checkbox", name="Nurse").check()
    sheet.get_by_role("button", name="Save", exact=True).click()
    expect(sheet).to_contain_text("Not said: what was done.")
    (event,) = phone.stands("safety.noted")
    assert set(event["signs"]) == {"slow_pulse", "hives_or_rash"}
    assert (event["told"], event["reaction"]) == (["nurse"], reaction_line(phone))
    settle(phone)
    (incident,) = incidents(server)
    assert (incident["what"], incident["harm"]) == ("faint", "mild")

    # no: what happened is recorded by itself, and the first event stays as it was
    sheet = event_and_emergency(phone, "HR-4302")
    sheet.get_by_role("button", name="No: record what happened").click()
    asks = phone.page.get_by_role("dialog", name="Event")
    for answer in ("Fall or near fall", "Yes", "Moderate"):
        asks.get_by_role("button", name=re.compile(rf"^{answer}\b")).click()
    asks.get_by_role("button", name="The rest later").click()
    expect(asks).to_have_count(0)
    _, faint, fall = phone.stands("safety.noted")
    assert (faint["what"], faint["reaction"], faint["signs"]) == ("faint", None, [])
    assert (fall["what"], fall["harm"], fall["reaction"]) == ("fall", "moderate", reaction_line(phone))
    assert fall["signs"] == ["hives_or_rash"]
    settle(phone)
    # the emergency and what tells of it are one incident, the faint another
    assert sorted(row["what"] for row in incidents(server)) == ["faint", "faint", "fall"]
