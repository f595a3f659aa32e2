"""The officer's list: what happened, across sites, narrowed by filters that live in the address."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect
from scenes import Scene

from browsing import Contexts
from desk_page import Desk
from serving import Server

pytestmark = pytest.mark.browser


def test_a_wrong_password_is_refused_in_words(server: Server, contexts: Contexts) -> None:
    page = contexts.desk().new_page()
    page.goto(f"{server.origin}/desk")
    page.get_by_label("Name").fill("nobody")
    page.get_by_label("Password").fill("nothing")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_contain_text("no such name, or not its password")
    expect(page.get_by_role("navigation", name="Desk")).to_have_count(0)


def test_events_and_near_misses_of_every_site_newest_first(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents()
    rows = officer.rows()
    expect(rows).to_have_count(6)  # two of the full case; a practice event is not among them
    expect(rows.nth(0)).to_contain_text("Phone 9")
    severe = rows.filter(has_text="LH-7")
    expect(severe).to_contain_text("Severe")
    expect(severe).to_contain_text("arrived 2 days 23 hours later")
    expect(officer.page.get_by_role("columnheader", name="Harm (WHO degree)")).to_be_visible()
    near_miss = rows.filter(has_text="caught on the way in")
    expect(near_miss).to_contain_text("Near miss")
    expect(near_miss).to_contain_text(scene.pack["optics"][-1]["name"])
    expect(rows.filter(has_text="LH-10")).to_contain_text("withdrawn")
    expect(rows.filter(has_text="LH-8")).to_contain_text("Not yet known")


def test_filters_narrow_the_list_and_live_in_the_address(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents()
    page = officer.page
    page.get_by_label("Kind").select_option("near_miss")
    expect(officer.rows()).to_have_count(2)
    page.get_by_label("Site").select_option(scene.sites[0])
    expect(officer.rows()).to_have_count(1)
    expect(page).to_have_url(re.compile(rf"#/incidents\?site={scene.sites[0]}&kind=near_miss$"))

    page.reload()
    expect(officer.rows()).to_have_count(1)
    expect(page.get_by_label("Kind")).to_have_value("near_miss")

    page.go_back()  # each choice was a step
    expect(officer.rows()).to_have_count(2)
    page.get_by_role("link", name="Clear the filters").click()
    expect(officer.rows()).to_have_count(6)

    page.get_by_label("Harm (WHO degree)").select_option("severe")
    expect(officer.rows()).to_have_count(1)
    page.get_by_role("link", name="Clear the filters").click()
    page.get_by_label("What").select_option(list(scene.whats)[3])
    expect(officer.rows()).to_have_count(1)
    page.get_by_label("Show practice cases").check()
    expect(officer.rows()).to_have_count(2)
    expect(officer.rows().filter(has_text="LH-9")).to_contain_text("practice")


def test_search_follows_typing_and_an_empty_list_says_why(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents()
    search = officer.page.get_by_label("Search")
    search.press_sequentially("hr-2041")
    expect(officer.rows()).to_have_count(2)
    expect(officer.page).to_have_url(re.compile(r"q=hr-2041"))
    search.fill("nothing of the kind")
    expect(officer.page.get_by_role("heading", name="Nothing matches these filters")).to_be_visible()
    officer.page.get_by_role("main").get_by_role("link", name="Clear the filters").first.click()
    expect(officer.rows()).to_have_count(6)
    expect(search).to_have_value("")


def test_the_list_is_usable_by_keyboard_alone(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents()
    links = officer.links()
    links.first.focus()
    officer.page.keyboard.press("ArrowDown")
    expect(links.nth(1)).to_be_focused()
    officer.page.keyboard.press("ArrowUp")
    expect(links.nth(0)).to_be_focused()
    officer.page.keyboard.press("ArrowUp")  # at the top it stays
    expect(links.nth(0)).to_be_focused()
    officer.page.keyboard.press("Enter")
    expect(officer.page.get_by_role("heading", level=1, name=scene.what(0))).to_be_visible()


def test_what_came_since_the_last_look_is_marked_new(
    own_scene: Scene, contexts: Contexts, desk: Callable[..., Desk]
) -> None:
    officer = desk(own_scene)
    officer.incidents()
    fresh = officer.page.get_by_text("arrived since your last look")
    expect(fresh).to_have_count(0)
    own_scene.near.write("safety.noted", "case-full", what=list(own_scene.whats)[2], reached_patient=False)
    own_scene.near.carry()
    officer.page.reload()
    expect(officer.rows()).to_have_count(7)
    expect(fresh).to_have_count(1)


def test_an_empty_server_says_so(server: Server, contexts: Contexts) -> None:
    officer = Desk(contexts.desk(), server).sign_in()
    officer.incidents()
    expect(
        officer.page.get_by_role("heading", name="No incident or near miss has reached the server")
    ).to_be_visible()


def test_without_the_server_it_says_what_that_means(desk: Callable[..., Desk], own_scene: Scene) -> None:
    officer = desk(own_scene)
    officer.incidents()
    officer.follow_nothing()  # else it asks again by itself before anybody presses
    own_scene.server.kill()
    officer.page.get_by_label("Kind").select_option("event")
    alert = officer.page.get_by_role("alert")
    expect(alert).to_contain_text("The server does not answer")
    expect(alert).to_contain_text("Phones go on recording")
    own_scene.server.start()
    officer.page.get_by_role("button", name="Try again").click()
    expect(officer.rows()).to_have_count(4)


def test_an_ended_session_asks_to_sign_in_again_and_keeps_the_place(
    desk: Callable[..., Desk], scene: Scene
) -> None:
    officer = desk(scene)
    officer.incidents("?kind=near_miss")
    # names of sites and packs are asked for too
    expect(officer.links().filter(has_text=scene.what(0)).first).to_be_visible()
    officer.context.clear_cookies()
    officer.page.get_by_label("Site").select_option(index=1)
    expect(officer.page.get_by_role("heading", name="Sign in")).to_be_visible()
    expect(officer.page).to_have_url(re.compile("kind=near_miss"))
