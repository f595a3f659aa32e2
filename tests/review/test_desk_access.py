"""Everyone can use the desk: axe on every page in both themes, narrow screens, large text."""

import json
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from scenes import Scene

from access import assert_accessible, assert_no_sideways_scroll
from browsing import Contexts
from desk_page import Desk
from serving import Server

pytestmark = pytest.mark.browser

PLACES = {
    "incidents": "Incidents and near misses",
    "incidents?q=nothing-of-the-kind": "Incidents and near misses",
    "case/case-full": "Case HR-2041",
    "devices": "Devices",
    "enrol": "Enrol a device",
    "packs": "Guidance packs",
    "difference": "What differs between two packs",
    "fits": "What each optic computes to",
    "rollout": "Who has which pack",
    "drafts": "Drafts of the next pack",
    "account": "Your account",
}


def sheets(lead: Desk) -> list[tuple[str, Callable[[], None]]]:
    """What lies over a page: its name, and how to open it."""

    def press(place: str, button: str | re.Pattern[str]) -> Callable[[], None]:
        def run() -> None:
            lead.go(place, PLACES[place])
            lead.page.get_by_role("button", name=button).first.click()
            expect(lead.page.get_by_role("dialog")).to_be_visible()

        return run

    return [
        ("withdraw", press("devices", re.compile("^Withdraw "))),
        ("approve", press("packs", re.compile("^Approve "))),
        ("recall", press("packs", re.compile("^Recall "))),
    ]


def make_code(page: Page) -> None:
    page.get_by_label("Label of the device").fill("Phone 12")
    page.get_by_role("button", name="Make a code").click()
    expect(page.get_by_role("region", name="Enrolment code")).to_be_visible()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault_on_any_page(desk: Callable[..., Desk], scene: Scene, theme: str) -> None:
    lead = desk(scene, "lead", color_scheme=theme)
    for place, heading in PLACES.items():
        lead.go(place, heading)
        if place == "enrol":
            make_code(lead.page)
        assert_accessible(lead.page, f"{place}, {theme}")
    for name, show in sheets(lead):
        show()
        assert_accessible(lead.page, f"{name}, {theme}")
        lead.page.keyboard.press("Escape")
        expect(lead.page.get_by_role("dialog")).to_have_count(0)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault_before_signing_in_or_without_a_server(
    server: Server, contexts: Contexts, theme: str
) -> None:
    page = contexts.desk(color_scheme=theme).new_page()
    page.goto(f"{server.origin}/desk")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    assert_accessible(page, f"sign in, {theme}")
    page.get_by_label("Name").fill("nobody")
    page.get_by_label("Password").fill("nothing")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_be_visible()
    assert_accessible(page, f"refused, {theme}")
    server.kill()
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_contain_text("The server does not answer")
    assert_accessible(page, f"offline, {theme}")


@pytest.mark.parametrize("text", ["normal", "largest"])
def test_nothing_scrolls_sideways_on_a_narrow_screen(
    desk: Callable[..., Desk], contexts: Contexts, scene: Scene, text: str
) -> None:
    lead = desk(scene, "lead", viewport={"width": 360, "height": 740})
    look = json.dumps({"theme": "day", "text": text, "hand": "right"})
    lead.page.evaluate("look => localStorage.setItem('chinrest-look', look)", look)
    lead.page.reload()
    for place, heading in PLACES.items():
        lead.go(place, heading)
        if place == "enrol":
            make_code(lead.page)
        assert_no_sideways_scroll(lead.page, f"{place}, {text} text")
    for name, show in sheets(lead):
        show()
        assert_no_sideways_scroll(lead.page, f"{name}, {text} text")
        lead.page.keyboard.press("Escape")


def test_the_theme_can_be_chosen_and_is_kept(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene, color_scheme="light")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    day = officer.page.evaluate(ground)
    officer.page.get_by_label("Theme").select_option("dark")
    assert officer.page.evaluate(ground) != day
    officer.page.reload()
    expect(officer.page.get_by_label("Theme")).to_have_value("dark")
    assert officer.page.evaluate(ground) != day
