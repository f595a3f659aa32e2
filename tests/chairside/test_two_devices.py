"""A case goes from one phone of a site to the next; a phone of another site never hears of it."""

import re

import pytest
from playwright.sync_api import expect

import page_clock
from browsing import Contexts
from chinrest.log.verify import verify
from page_clock import PageClock
from phone_page import Phone, server_raws
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser


def fetch(phone: Phone) -> None:
    """Ask the server now, and wait for its answer to be stored."""
    phone.home()
    with phone.page.expect_response("**/api/sync"):
        phone.button("Send now").click()
    expect(phone.button("Send now")).to_be_enabled()


def cases_in(phone: Phone) -> set[str]:
    return {row["case"] for row in phone.lines() if row["case"] is not None}


def test_another_phone_of_the_site_goes_on_and_one_elsewhere_never_sees_it(
    server: Server, contexts: Contexts
) -> None:
    first, second, elsewhere = (Phone(contexts.phone(), server) for _ in range(3))
    first.enrol("Phone 1")
    second.enrol("Phone 2")
    elsewhere.enrol("Phone 3", site="hillside")
    first.wait_for_guidance()
    second.wait_for_guidance()

    first.begin("HR-7002")
    case = first.case_id
    visit = Visit(first)
    visit.go_through(until="Measure the pupil")
    left_at = first.heading
    first.wait_until_sent()

    fetch(second)
    card = second.page.get_by_role("region", name="Open elsewhere at this site").get_by_role("link")
    expect(card).to_contain_text("HR-7002")
    card.click()
    expect(second.page.get_by_role("heading", name="Another phone has this case")).to_be_visible()
    expect(second.page.get_by_role("button", name="Done", exact=True)).to_have_count(0)
    second.button("Go on with it on this phone").click()
    expect(second.main.get_by_role("heading", level=1, name=left_at)).to_be_visible()
    onward = Visit(second)
    onward.go_through(until="Measure or judge the face")
    onward.comfort(4)
    stopped_at = second.heading
    second.wait_until_sent()

    # the first phone is told: it no longer holds the case, and sees what was done meanwhile
    fetch(first)
    expect(first.page.get_by_text("Nobody. No case is open on this phone.")).to_be_visible()
    first.page.goto(f"{server.origin}/#/case/{case}")
    expect(first.page.get_by_role("heading", name="Another phone has this case")).to_be_visible()
    first.button("Only look at it").click()
    lines = first.page.get_by_role("dialog", name="Case HR-7002")
    comfort = lines.get_by_role("listitem").filter(has_text="Comfort 4 of 10")
    expect(comfort).to_contain_text("another phone")
    lines.get_by_role("button", name="Back", exact=True).click()

    # and it can take the case back, where the second left it
    first.button("Go on with it on this phone").click()
    expect(first.main.get_by_role("heading", level=1, name=stopped_at)).to_be_visible()
    first.wait_until_sent()
    fetch(second)
    expect(second.page.get_by_text("Nobody. No case is open on this phone.")).to_be_visible()

    for phone in (first, second):
        stored = server_raws(server, phone.device)
        assert stored == phone.own_raws()
        assert verify(stored).ok
        theirs = [row for row in phone.lines() if row["device"] != phone.device]
        assert {row["case"] for row in theirs} == {case}  # the open case and nothing else of the other's log

    # what each pulled is what the other wrote, byte for byte
    for one, other in ((first, second), (second, first)):
        pulled = [row["raw"].encode() for row in one.lines() if row["device"] == other.device]
        assert pulled == [
            row["raw"].encode()
            for row in other.lines()
            if row["device"] == other.device and row["case"] == case
        ]

    fetch(elsewhere)
    expect(elsewhere.page.get_by_text("HR-7002")).to_have_count(0)
    assert cases_in(elsewhere) == set()
    assert {row["device"] for row in elsewhere.lines()} == {elsewhere.device}
    elsewhere.page.goto(f"{server.origin}/#/case/{case}")
    expect(elsewhere.page.get_by_role("heading", name=re.compile("not on this phone"))).to_be_visible()


def test_a_case_handed_over_is_taken_and_closed_by_the_other_phone(
    server: Server, contexts: Contexts
) -> None:
    first, second = (Phone(contexts.phone(), server) for _ in range(2))
    first.enrol("Phone 1")
    second.enrol("Phone 2")
    first.wait_for_guidance()
    second.wait_for_guidance()
    first.begin("HR-7003")
    case = first.case_id
    first.button("Case").click()
    first.page.get_by_role("button", name="Close or hand over").click()
    sheet = first.page.get_by_role("dialog", name="Close or hand over")
    sheet.get_by_role("radio", name="Hand it over").check()
    sheet.get_by_label("To whom").fill("Room 2")
    sheet.get_by_role("button", name="Hand over", exact=True).click()
    first.wait_until_sent()

    fetch(second)
    second.page.get_by_role("link", name=re.compile("HR-7003")).click()
    expect(second.page.get_by_role("heading", name="Handed over to Room 2")).to_be_visible()
    second.button("Go on with it on this phone").click()
    expect(second.main.get_by_role("heading", level=1, name=re.compile("two identifiers"))).to_be_visible()
    second.button("Case").click()
    second.page.get_by_role("button", name="Close or hand over").click()
    sheet = second.page.get_by_role("dialog", name="Close or hand over")
    sheet.get_by_role("radio", name=re.compile("^Cancelled")).check()
    closes = sheet.get_by_role("button", name="Close the case")
    expect(closes).to_be_disabled()  # no must step goes without a reason
    sheet.get_by_role("group", name=re.compile("^One reason for all")).get_by_role(
        "radio", name="Does not apply here"
    ).check()
    closes.click()
    second.wait_until_sent()

    fetch(first)
    first.page.goto(f"{server.origin}/#/case/{case}")
    expect(first.page.get_by_role("heading", level=1, name="Closed: cancelled")).to_be_visible()


def test_a_phone_whose_clock_is_an_hour_slow_can_take_a_case_over(server: Server, contexts: Contexts) -> None:
    """What it writes comes after what it had read, whatever its clock says."""
    context = contexts.phone()
    page_clock.install(context)
    first, slow = Phone(contexts.phone(), server), Phone(context, server)
    first.enrol("Phone 1")
    slow.enrol("Phone 2")
    first.wait_for_guidance()
    slow.wait_for_guidance()
    first.begin("HR-7009")
    left_at = first.heading
    first.wait_until_sent()
    PageClock(slow.page).is_set(-3600)
    slow.page.reload()
    slow.wait_for_shell()
    fetch(slow)
    slow.page.get_by_role("region", name="Open elsewhere at this site").get_by_role("link").click()
    slow.button("Go on with it on this phone").click()
    expect(slow.main.get_by_role("heading", level=1, name=left_at)).to_be_visible()
    [taken] = slow.envelopes("case.taken")
    assert taken["at"] < taken["after"]
    slow.wait_until_sent()
    fetch(first)
    expect(first.page.get_by_text("Nobody. No case is open on this phone.")).to_be_visible()
