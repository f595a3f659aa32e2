"""What is half entered when the phone is reloaded, locked or crashes stands there again, and is in no log."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]


def half_enter(phone: Phone, legend: str | re.Pattern[str], option: str) -> None:
    """One answer of several, then a reload: it is still picked."""
    phone.pick(legend, option)
    phone.reload()
    group = phone.page.get_by_role("group", name=legend)
    expect(group.get_by_role("radio", name=option).first).to_be_checked()


def test_half_entered_measures_survive_a_reload(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol()
    phone.wait_for_guidance()
    phone.begin("HR-7201")
    visit = Visit(phone)
    visit.go_through(until="Measure the pupil")
    half_enter(phone, "Dilated by drops?", "Yes")
    assert phone.bodies("pupil.measured") == []
    visit.go_through(until="Measure or judge the face")
    phone.pick(re.compile("^Is this a face that the tables know"), "Yes")
    half_enter(phone, "Brow", "Heavy")
    visit.go_through(until="Choose how this eye is guided")
    half_enter(phone, re.compile(r"\(fellow\) see the light"), "No")
    assert phone.bodies("fixation.chosen") == []
    visit.go_through(until="Set the head turn")
    visit.take_turn()
    visit.go_through(until="Log how it really was")
    half_enter(phone, "Did the optic touch skin or lashes?", "No")
    assert phone.bodies("pose.found") == []
    visit.say_how_it_was()
    assert [body["touched"] for body in phone.bodies("pose.found")] == [False]
    kept = phone.page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('chinrest-draft:'))")
    assert kept == [], "what stands in the log is half entered no longer"
