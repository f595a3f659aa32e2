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

    # rates: what is read stands still, and a line says that there is more
    officer.go("rates", "Reactions to the dye")
    expect(page.get_by_text("Says when new lines come", exact=True)).to_be_visible(timeout=LATER_MS)
    known = page.get_by_role("region", name="How this is known")
    expect(known).to_contain_text("Counted at log position")
    stood = known.inner_text()
    more = page.get_by_role("status").filter(has_text="New lines have come.")
    expect(more).to_have_count(0)
    near_miss(scene, "came while somebody read the rates")
    expect(more).to_be_visible(timeout=LATER_MS)
    assert known.inner_text() == stood
    more.get_by_role("button", name="Show them").click()
    expect(more).to_have_count(0)
    expect(known).not_to_have_text(stood, use_inner_text=True)

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
    officer.go("report", "Incidents and near misses of a period")  # for paper: as of when it was asked for
    expect(page.get_by_role("main")).to_contain_text("as of ")
    expect(follows(officer)).to_have_count(0)


def test_who_has_which_pack_follows_phones_and_decisions(desk: Callable[..., Desk], own_scene: Scene) -> None:
    scene = own_scene
    lead = desk(scene, "lead")
    lead.go("rollout", "Who has which pack")
    expect(follows(lead)).to_be_visible(timeout=LATER_MS)
    there = lead.part(scene.site_names[scene.sites[0]])
    expect(there).to_contain_text("In force")
    scene.phone(scene.sites[0], "Phone 78")
    expect(there.get_by_role("row", name="Phone 78")).to_be_visible(timeout=LATER_MS)
    recalled = scene.lead.post(f"/api/packs/{scene.sha256}/recall", json={"why": "an error"})
    assert recalled.status_code == 200, recalled.text
    expect(there).to_contain_text("the last pack was recalled", timeout=LATER_MS)
    lead.go("packs", "Guidance packs")
    expect(lead.page.get_by_role("article")).to_contain_text("an error")
    expect(follows(lead)).to_be_visible(timeout=LATER_MS)
