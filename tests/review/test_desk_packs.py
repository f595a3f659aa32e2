"""The lead's pages of packs: what differs, what each optic computes to, who has which."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect
from scenes import Scene

from access import assert_accessible, assert_no_sideways_scroll, in_both_themes
from desk_page import Desk

pytestmark = pytest.mark.browser


def send(scene: Scene, version: str) -> str:
    """A pack with another number to call and one step that may be left out with a reason. Its hash."""
    pack = json.loads(json.dumps({**scene.pack, "version": version}))
    pack["emergency"]["contacts"][1]["phone"] = "555-0119"
    step = next(step for step in pack["steps"] if step["weight"] == "must")
    step["weight"] = "should"
    raw = json.dumps(pack, separators=(",", ":"), ensure_ascii=False).encode()
    taken = scene.lead.post("/api/packs", content=raw, headers={"Content-Type": "application/json"})
    assert taken.status_code == 200, taken.text
    return str(taken.json()["sha256"])


def test_the_lead_reads_what_a_pack_changes_before_and_after_it_is_in_force(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    newer = send(own_scene, "2026.2")
    lead = desk(own_scene, "lead", viewport={"width": 820, "height": 1100})
    page = lead.page
    lead.go("packs", "Guidance packs")
    page.get_by_role("link", name="What differs between 2026.2 and the pack in force, 2026.1").click()
    expect(page.get_by_text("3 differences.")).to_be_visible()
    path = f"/api/packs/{newer}/difference/{own_scene.sha256}"
    told = own_scene.lead.get(path).json()
    assert told["less_careful"] == 1
    for group in told["groups"]:
        part = lead.part(group["title"])
        for one in group["differences"]:
            item = part.get_by_role("listitem").filter(has_text=one["subject"]).filter(has_text=one["now"])
            expect(item).to_contain_text(one["was"])
            expect(item.get_by_text("less careful")).to_have_count(1 if one["less_careful"] else 0)
    in_both_themes(page, "difference")
    assert_no_sideways_scroll(page, "difference")

    page.get_by_role("link", name="What it computes to").click()
    # the server works it out the first time, which takes a busy machine some seconds
    expect(page.get_by_role("heading", level=2, name="Ultra-wide")).to_be_visible(timeout=60_000)
    fits = own_scene.lead.get(f"/api/packs/{own_scene.sha256}/fits").json()
    (fit,) = [
        row
        for row in fits["rows"]
        if (row["optic"], row["eye_depth"], row["nose"], row["neck"])
        == ("ultrawide", "deep-set", "high", "free")
    ]
    cells = page.get_by_role(
        "table", name="Turn, gap and words by eye depth and bridge: Ultra-wide, neck free"
    )
    cell = cells.get_by_role("row").nth(1).get_by_role("cell").last
    expect(cell).to_contain_text(f"{fit['yaw_deg']:.1f}°")
    expect(cell).to_contain_text("expect to adjust")
    expect(page.get_by_role("img")).to_have_count(len(fits["optics"]))  # one picture an optic
    for fold in page.get_by_text("every neck, as a table").all():
        fold.click()
    assert page.get_by_role("table", name="All figures of Ultra-wide").get_by_role("row").count() == 28
    in_both_themes(page, "fits")
    assert_no_sideways_scroll(page, "fits")

    own_scene.lead.post(f"/api/packs/{newer}/approve", json={"sites": own_scene.sites[:1], "note": ""})
    page.get_by_role("link", name="Who has which").click()
    site = page.get_by_role("region").filter(has=page.get_by_role("rowheader", name="Phone 3"))
    expect(site).to_contain_text("In force: version 2026.2")
    expect(site).to_contain_text("0 of 1 phone has it.")
    expect(site.get_by_role("row").filter(has_text="Phone 3")).to_contain_text("an earlier one")
    assert_no_sideways_scroll(page, "roll-out")


def test_pages_of_packs_are_closed_to_an_officer(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    for place in ("difference", "fits", "rollout", "drafts"):
        officer.page.goto(f"{scene.server.origin}/desk#/{place}")
        expect(officer.page.get_by_role("alert")).to_contain_text("This page is for the clinic's lead.")
    assert_accessible(officer.page, "refused")


def test_with_one_pack_there_is_nothing_to_compare(desk: Callable[..., Desk], scene: Scene) -> None:
    lead = desk(scene, "lead")
    lead.go("difference", "What differs between two packs")
    expect(lead.page.get_by_role("heading", name="There is nothing to compare")).to_be_visible()


def test_no_phone_keeps_them(front_end: Path) -> None:
    assert list((front_end / "assets").glob("deskPacks*.js"))
    assert "deskPacks" not in (front_end / "sw.js").read_text()
