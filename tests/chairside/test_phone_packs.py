"""New guidance while a patient is in the chair waits; a recall does not; what fails its check is refused."""

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from lead_office import Lead
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser


def newer(pack: dict[str, Any]) -> None:
    pack["version"] = "2026.2"
    pack["steps"][0]["text"] = "A sentence that only the newer guidance has."


def begun(server: Server, contexts: Contexts, code: str) -> tuple[Phone, str]:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.begin(code, asked=("Fluorescein",))
    return phone, phone.page.url


def test_newer_guidance_waits_until_the_case_is_closed(server: Server, contexts: Contexts) -> None:
    phone, case = begun(server, contexts, "HR-4001")
    old_first = phone.heading
    with Lead(server) as lead:
        sha256 = lead.put_in_force(newer)
        old = lead.sha256
    phone.send_now()
    expect(phone.page.get_by_text("Guidance 2026.2 waits")).to_be_visible()

    phone.page.goto(case)
    phone.reload()
    assert phone.heading == old_first  # a reload does not let it in either
    visit = Visit(phone)
    visit.go_through(until="Say which eye")
    assert {line["pack"] for line in phone.envelopes("step.done")} == {old}

    phone.cancel_case()
    expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
    expect(phone.page.get_by_text("Guidance 2026.2 waits")).to_have_count(0)
    phone.begin("HR-4002", asked=("Fluorescein",))
    assert phone.heading == "A sentence that only the newer guidance has."
    assert phone.envelopes("case.opened")[-1]["pack"] == sha256


def test_a_recall_shows_in_mid_case(server: Server, contexts: Contexts) -> None:
    phone, case = begun(server, contexts, "HR-4003")
    with Lead(server) as lead:
        lead.recall(lead.sha256, "The margin of the ultra-wide optic is wrong.")
    phone.page.goto(case)
    expect(phone.page.get_by_text("This guidance has been recalled")).to_have_count(0)
    # the next exchange brings it, here set off by coming back to the app
    phone.page.evaluate("dispatchEvent(new Event('online'))")
    alert = phone.page.get_by_role("alert").filter(has_text="This guidance has been recalled")
    expect(alert).to_be_visible(timeout=60_000)
    expect(alert).to_contain_text("The margin of the ultra-wide optic is wrong.")
    Visit(phone).step(phone.heading)  # the log goes on
    phone.reload()
    expect(alert).to_be_visible()


def test_guidance_with_one_wrong_vector_is_refused_in_words(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()

    def wrong(pack: dict[str, Any]) -> None:
        pack["version"] = "2026.3"
        vector = next(v for v in pack["fit_vectors"] if v["clearance_mm"] is not None)
        vector["clearance_mm"] += 1.0

    with Lead(server) as lead:
        sha256 = lead.put_in_force_unproved(wrong, server.data / "chinrest.db")
        old = lead.sha256
    phone.send_now()
    notice = phone.page.get_by_role("main").get_by_text("New guidance was refused")
    expect(notice).to_be_visible(timeout=30_000)
    expect(phone.page.get_by_text("the earlier guidance stays in use")).to_be_visible()
    phone.page.get_by_text("1 reason").click()
    expect(
        phone.page.get_by_text(re.compile(r"the gap \(mm\) is .* here and .* in the pack"))
    ).to_be_visible()
    phone.begin("HR-4004", asked=("Fluorescein",))  # work goes on with what was proved
    assert phone.envelopes("case.opened")[-1]["pack"] == old
    phone.wait_until_sent()
    (refused,) = phone.bodies("pack.refused")  # and the clinic learns of it
    assert refused["sha256"] == sha256
    assert len(refused["faults"]) == 1
