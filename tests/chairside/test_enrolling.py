"""Enrolment as a person meets it: the lead's code is scanned, typed, spent, or scanned once more."""

import re

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from phone_page import Phone
from serving import Server

pytestmark = pytest.mark.browser


def test_a_code_scanned_while_the_screen_is_open_is_taken(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.open()
    field = phone.page.get_by_label("Code")
    expect(field).to_have_value("")
    for _ in range(2):  # a first code, and a second one in its place
        code = server.enrol_code("harbour", "Phone 7")
        phone.page.evaluate("hash => { location.hash = hash }", f"enrol={code}")
        expect(field).to_have_value(code)
    phone.page.get_by_label("What this phone is called").fill("Phone 7")
    phone.button("Enrol this phone").click()
    expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
    assert code not in phone.page.url  # used up: it must not stay in the address


def test_a_spent_code_is_refused_in_words_and_another_one_still_enrols(
    server: Server, contexts: Contexts
) -> None:
    first = Phone(contexts.phone(), server)
    first.enrol("Phone 7")
    spent = server.enrol_code("harbour", "Phone 8")
    second = Phone(contexts.phone(), server)
    second.open(f"#enrol={spent}")
    second.page.get_by_label("What this phone is called").fill("Phone 8")
    second.button("Enrol this phone").click()
    expect(second.page.get_by_role("heading", name="In the chair")).to_be_visible()

    third = Phone(contexts.phone(), server)
    third.open(f"#enrol={spent}")
    third.page.get_by_label("What this phone is called").fill("Phone 9")
    third.button("Enrol this phone").click()
    expect(third.page.get_by_role("alert")).to_contain_text("Not enrolled")
    field = third.page.get_by_label("Code")
    typed = server.enrol_code("harbour", "Phone 9")
    field.fill(typed.replace("-", "").lower())
    expect(field).to_have_value(typed)
    third.button("Enrol this phone").click()
    expect(third.page.get_by_role("heading", name="In the chair")).to_be_visible()
    assert len({phone.device for phone in (first, second, third)}) == 3
    expect(third.page).to_have_url(re.compile(r"#/$"))
