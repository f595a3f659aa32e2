"""The lead edits the next pack in the browser: faults at their fields, two leads at once, compiled."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect
from scenes import Scene

from access import assert_no_sideways_scroll, in_both_themes
from desk_page import Desk
from lead_office import without_plans

pytestmark = pytest.mark.browser


def begun(lead: Desk, scene: Scene) -> str:
    """A draft from a pack that compiles in seconds; its id."""
    sent = scene.lead.post(
        "/api/packs", content=without_plans(scene.pack), headers={"Content-Type": "application/json"}
    )
    base = sent.json()["sha256"]
    lead.go("drafts", "Drafts of the next pack")
    lead.page.get_by_label("Begin from").select_option(base)
    lead.page.get_by_role("button", name="Begin a draft").click()
    expect(lead.page.get_by_role("heading", level=2, name="Optics")).to_be_visible()
    return lead.page.url.rpartition("/")[2]


def test_a_draft_is_edited_checked_joined_and_compiled(desk: Callable[..., Desk], own_scene: Scene) -> None:
    lead = desk(own_scene, "lead", viewport={"width": 820, "height": 1100})
    page, draft = lead.page, begun(lead, own_scene)
    in_both_themes(page, "draft")
    save = page.get_by_role("button", name="Save", exact=True)

    # a fault is kept, and said at the field that it names
    page.get_by_role("link", name="Ultra-wide").click()
    distance = page.get_by_label("working distance, mm")
    expect(distance).to_have_value("10")
    expect(save).to_be_disabled()
    distance.fill("500")
    page.reload()
    expect(distance).to_have_value("500")  # what is typed outlives the page
    save.click()
    expect(distance).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_text("is 500; must lie from 1 to 300")).to_be_visible()
    in_both_themes(page, "optic")
    assert_no_sideways_scroll(page, "optic")
    page.get_by_role("link", name="Back to the whole draft").click()
    # and a step for close optics, of which there is none any more
    expect(page.get_by_text("2 faults", exact=True)).to_be_visible()
    expect(page.get_by_role("button", name="Compile save 2")).to_be_disabled()
    page.get_by_role("link", name="Ultra-wide").click()
    distance.fill("10")
    save.click()
    expect(page.get_by_text("Saved as save 3.")).to_be_visible()

    # another lead saves meanwhile: theirs is shown, and both are joined
    page.get_by_label("mass, g").fill("690")
    tables = own_scene.lead.get(f"/api/drafts/{draft}").json()["tables"]
    theirs = {**tables["optics.toml"]["optics"][2], "pixels_per_deg": 13.5}
    other = own_scene.lead.post(
        f"/api/drafts/{draft}",
        json={"seen": 3, "file": "optics.toml", "key": "optics", "index": 2, "value": theirs},
    )
    assert other.status_code == 200, other.text
    save.click()
    notice = page.get_by_role("alert").filter(has_text="Somebody saved this draft meanwhile")
    expect(notice).to_contain_text("was 14; they have 13.5")
    notice.get_by_role("button", name="Join both in the form").click()
    expect(page.get_by_label("pixels per degree")).to_have_value("13.5")
    save.click()
    expect(page.get_by_text("Saved as save 5.")).to_be_visible()
    stands = own_scene.lead.get(f"/api/drafts/{draft}").json()["tables"]["optics.toml"]["optics"][2]
    assert (stands["mass_g"], stands["pixels_per_deg"]) == (690, 13.5)

    # the version, the difference in words, and a pack that waits for approval
    page.get_by_role("link", name="Back to the whole draft").click()
    page.get_by_role("link", name="Clinic, version and thresholds").click()
    page.get_by_label("version", exact=True).fill("2026.2")
    save.click()
    expect(page.get_by_text("Saved as save 6.")).to_be_visible()
    page.get_by_role("link", name="Back to the whole draft").click()
    page.get_by_role("button", name="Say what it changes").click()
    expect(page.get_by_text("3 differences.")).to_be_visible(timeout=60_000)
    page.get_by_role("button", name="Compile save 6").click()
    expect(page.get_by_role("heading", name="This save is compiled and proved")).to_be_visible(
        timeout=240_000
    )
    lead.go("packs", "Guidance packs")
    expect(page.get_by_role("button", name="Approve version 2026.2")).to_be_enabled()
