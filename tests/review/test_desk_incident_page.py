"""An incident's page leads with what is to be decided; the case is folded by its stages and leaves nothing
out; an emergency and the event that tells of it can be parted and joined again."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect
from scenes import JUDGED, Scene

from access import assert_accessible
from desk_page import Desk

pytestmark = pytest.mark.browser


def test_what_is_to_be_decided_stands_first_and_links_lead_there(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    line = own_scene.full["event"]
    own_scene.decide(line, "actions", text="Order new paper", owner="Stores", due="2020-01-31")
    own_scene.decide(line, "comments", text="asked the site")
    officer = desk(own_scene)
    officer.incident(line)
    page = officer.page
    asked = officer.part("Open questions")
    expect(asked.get_by_role("listitem")).to_have_text(
        [
            "It is not classified.",
            "One line of its case cannot be read by this version.",
            "One action is open, 1 overdue.",
        ]
    )
    order = page.locator("main section").evaluate_all("all => all.map((one) => one.ariaLabel)")
    first = ["As reported", "As the desk sees it", "Open questions", "Actions", "Second look"]
    assert [label for label in order if label in first] == first
    way = page.get_by_role("navigation", name="On this page")
    way.get_by_role("link", name="Comments: 1").click()
    expect(officer.part("Comments")).to_be_focused()
    expect(page).to_have_url(re.compile(rf"#/incident/{line}\?part=comments$"))
    page.reload()  # the address keeps the place
    expect(officer.part("Comments")).to_be_focused()
    asked.get_by_role("link", name="One action is open").click()
    expect(officer.part("Actions")).to_be_focused()
    own_scene.decide(line, "classification", **JUDGED)
    page.get_by_role("button", name="Read it all again").click()
    expect(asked.get_by_role("listitem")).to_have_count(2)


def test_the_case_is_folded_by_stage_and_leaves_nothing_out(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incident(scene.full["event"], scene.what(1))
    page = officer.page
    ids = [line.envelope.id for line in scene.near.lines if line.envelope.case == "case-full"]
    kept = page.locator(".desk-stage:not([aria-label='At the desk']) .desk-beat")
    expect(kept).to_have_count(len(ids))
    assert kept.evaluate_all("all => all.map((one) => one.id)") == [f"line-{line}" for line in ids]
    expect(officer.entry(f"Safety event: {scene.what(1)}")).to_be_visible()
    expect(officer.entry("Pose as it was, right eye")).to_be_visible()
    folded = page.locator(f"#line-{ids[0]}")
    expect(folded).to_be_hidden()
    officer.part("Until the first optic").get_by_text("One more: Case HR-2041 opened").click()
    expect(folded).to_be_visible()
    page.emulate_media(media="print")
    for line in ids:
        expect(page.locator(f"#line-{line}")).to_be_visible()


def test_an_emergency_and_the_event_that_tells_of_it_are_parted_and_joined_again(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    phone = own_scene.near
    phone.write("case.opened", "case-two", code="TW-1", modalities=["fluorescein"])
    told = phone.write(
        "safety.noted", "case-two", what="dye_reaction", reached_patient=True, harm="mild", note="felt sick"
    )
    phone.write("reaction.started", "case-two")
    phone.write("reaction.sign", "case-two", sign="vomiting", seen=True)
    phone.write("reaction.ended", "case-two", outcome="case_stopped")
    phone.carry()
    officer = desk(own_scene)
    officer.incidents("?q=TW-1")
    expect(officer.rows()).to_have_count(1)  # one happening, told twice, counted once
    officer.incident(told.envelope.id)
    part = officer.part("The emergency")
    expect(part).to_contain_text("is counted as part of this incident")
    expect(officer.part("Open questions")).to_contain_text("by the rule alone: is it the same?")
    part.get_by_role("button", name="They are two incidents").click()
    sure = part.get_by_role("button", name="Count each by itself")
    expect(sure).to_be_disabled()  # never without a reason
    part.get_by_label("Why they are two").fill("the first was before the dye")
    assert_accessible(officer.page, "parting")
    sure.click()
    expect(part).to_contain_text("is counted by itself: the first was before the dye (Marit Solheim)")
    expect(officer.part("Open questions")).not_to_contain_text("is it the same?")
    officer.incidents("?q=TW-1")
    expect(officer.rows()).to_have_count(2)
    officer.incident(told.envelope.id)
    part.get_by_role("button", name="Count them as one again").click()
    expect(part).to_contain_text("is counted as part of this incident")
    officer.incidents("?q=TW-1")
    expect(officer.rows()).to_have_count(1)
