"""Pages of the desk change by themselves as lines come in and others decide, under the hands of whoever reads
and types; and say so when they no longer do."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, expect
from scenes import JUDGED, Scene

from desk_page import Desk

pytestmark = pytest.mark.browser
LATER_MS = 60_000  # a bound for a machine that stands still, not a time that anything takes


def follows(desk: Desk) -> Locator:
    return desk.page.get_by_text("Updates by itself", exact=True)


def near_miss(scene: Scene, note: str) -> None:
    fields: dict[str, Any] = {"what": list(scene.whats)[2], "reached_patient": False, "note": note}
    scene.near.write("safety.noted", "case-full", **fields)
    scene.near.carry()


def test_a_page_follows_what_comes_and_leaves_its_reader_alone(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    scene = own_scene
    officer = desk(scene)
    page = officer.page
    officer.incidents()
    expect(officer.rows()).to_have_count(6)
    expect(follows(officer)).to_be_visible(timeout=LATER_MS)

    # the list: a row comes in above, and the link that has the focus keeps it
    held = officer.links().nth(3)
    leads_to = held.get_attribute("href")  # its words change once the names of the pack are there
    held.focus()
    near_miss(scene, "came while somebody read the list")
    expect(officer.rows()).to_have_count(7, timeout=LATER_MS)
    expect(page.get_by_role("navigation", name="Queue")).to_contain_text("All 7")
    assert page.evaluate("document.activeElement.getAttribute('href')") == leads_to
    expect(officer.links().nth(4)).to_be_focused()

    # an incident: what another decides stands aside until the writer looks, and what is typed stays
    line = scene.full["event"]
    officer.incident(line)
    part = officer.part("As the desk sees it")
    part.get_by_role("button", name="Classify").click()
    note = part.get_by_role("form", name="Classify").get_by_label("Note")
    note.fill("a thought that is not")
    scene.decide(line, "classification", **{**JUDGED, "harm": "severe"})
    notice = page.locator(".notice", has_text="Somebody else changed this while you write")
    expect(notice).to_contain_text("harm severe", timeout=LATER_MS)
    expect(note).to_be_focused()
    page.keyboard.type(" finished")
    expect(note).to_have_value("a thought that is not finished")
    expect(part).not_to_contain_text("Severe, ")
    notice.get_by_role("button", name="Look again").click()
    expect(notice).to_have_count(0)
    expect(note).to_have_value("a thought that is not finished")
    expect(part).to_contain_text("latch worn")

    # cut: it says so, and once it hears again it shows what came meanwhile
    officer.go("devices", "Devices")
    scene.server.kill()
    cut = page.get_by_text("Does not update by itself now; trying again")
    expect(cut).to_be_visible(timeout=LATER_MS)
    expect(follows(officer)).to_have_count(0)
    scene.server.start()
    scene.phone(scene.sites[0], "Phone 77")
    expect(page.get_by_role("row", name="Phone 77")).to_be_visible(timeout=LATER_MS)
    expect(follows(officer)).to_be_visible(timeout=LATER_MS)
    expect(cut).to_have_count(0)
    officer.go("rates", "Reactions to the dye")  # which is asked for once, and says nothing else
    expect(follows(officer)).to_have_count(0)
