"""The officer's whole day: what is new is read, judged, acted on, looked at twice, closed; and opened again
by what comes late. Two officers at once never overwrite each other."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect
from scenes import JUDGED, Scene

from access import assert_accessible
from desk_page import Desk

pytestmark = pytest.mark.browser


def classify(desk: Desk, harm: str, preventable: str, note: str = "") -> None:
    part = desk.part("As the desk sees it")
    part.get_by_role("button", name=re.compile("^Classify")).click()
    form = part.get_by_role("form", name="Classify")
    form.get_by_role("radio", name=harm, exact=True).check()
    form.get_by_role("radio", name=preventable, exact=True).check()
    form.get_by_role("checkbox", name="Staff factors").check()
    form.get_by_label("What contributed, in your words").fill("chin rest paper had slipped")
    form.get_by_label("Note").fill(note)


def save(desk: Desk) -> None:
    desk.page.get_by_role("button", name="Save the classification").click()


def add_action(desk: Desk, text: str, owner: str, due: str) -> None:
    part = desk.part("Actions")
    part.get_by_role("button", name="Add an action").click()
    part.get_by_label("What is to be done").fill(text)
    part.get_by_label("Owner").fill(owner)
    part.get_by_label("Due").fill(due)
    part.get_by_role("button", name="Add this action").click()


def test_a_whole_day_from_new_to_closed_and_opened_again_by_a_late_line(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    scene = own_scene
    line = scene.full["event"]
    officer = desk(scene)
    officer.incidents("?review=new")
    expect(officer.rows()).to_have_count(6)
    officer.links().filter(has_text=scene.what(1)).click()
    expect(officer.page).to_have_url(re.compile(f"#/incident/{line}$"))
    officer.state("new")
    reported = officer.part("As reported")
    expect(reported).to_contain_text("settled after ten minutes")
    expect(reported).to_contain_text("Mild")

    classify(officer, "Moderate", "Yes", "The paper was due for a change.")
    save(officer)
    seen = officer.part("As the desk sees it")
    expect(seen).to_contain_text("Moderate")
    expect(seen).to_contain_text("Staff factors; chin rest paper had slipped")
    expect(seen).to_contain_text("Marit Solheim")
    expect(reported).to_contain_text("Mild")  # the reporter's own word stays beside it
    officer.state("in review")

    add_action(officer, "Change the paper before each patient", "Site lead", "2020-01-31")
    actions = officer.part("Actions")
    expect(actions).to_contain_text("due 31 Jan 2020, overdue")
    officer.state("actions open")
    expect(officer.part("Second look")).to_contain_text("1 of its actions is still open.")
    officer.incidents("?overdue=1")
    expect(officer.rows()).to_have_count(1)
    expect(officer.rows()).to_contain_text("overdue since 31 Jan 2020, Site lead")
    expect(officer.page.get_by_role("navigation", name="Queue")).to_contain_text(
        re.compile("Overdue actions 1")
    )

    officer.incident(line)
    actions.get_by_role("button", name=re.compile("^Done: ")).click()
    actions.get_by_label("What was done").fill("a new routine, told to all")
    actions.get_by_role("button", name="It is done").click()
    expect(actions).to_contain_text("done by Marit Solheim")
    second = officer.part("Second look")
    second.get_by_label("Why it can be closed").fill("routine in place")
    second.get_by_role("button", name="Ask for the second look").click()
    expect(second).to_contain_text("nobody closes what they asked to close")

    lead = desk(scene, "lead")
    lead.incident(line)
    look = lead.part("Second look")
    expect(look).to_contain_text("Marit Solheim asked for it")
    look.get_by_role("button", name="Close it").click()
    lead.state("closed")
    expect(lead.page.get_by_role("button", name=re.compile("^Classify"))).to_have_count(0)

    scene.near.write(
        "safety.noted", "case-full", what=next(iter(scene.whats)), reached_patient=True, late=True
    )
    scene.near.carry()
    lead.incidents()
    row = lead.rows().filter(has_text="settled after ten minutes")
    expect(row).to_contain_text("lines came after it was closed")
    expect(row).to_contain_text("in review")
    lead.incident(line)
    notice = lead.page.locator(".notice", has_text="the question is open again")
    expect(notice).to_contain_text(f"Safety event: {scene.what(0)}")
    look.get_by_role("button", name="Open it again").click()
    look.get_by_label("Why it is opened again").fill("she came back at night")
    look.get_by_role("form").get_by_role("button", name="Open it again").click()
    expect(lead.page.locator(".notice", has_text="Opened again")).to_contain_text("she came back at night")
    lead.state("in review")


def test_two_officers_at_once_never_overwrite_each_other(desk: Callable[..., Desk], own_scene: Scene) -> None:
    line = own_scene.full["near_miss"]
    officer = desk(own_scene)
    officer.incident(line)
    classify(officer, "None", "Unclear", "my own long thought")
    own_scene.decide(line, "classification", **{**JUDGED, "harm": "severe"})
    save(officer)
    alert = officer.page.get_by_role("alert")
    expect(alert).to_contain_text("Somebody else changed this meanwhile")
    expect(alert).to_contain_text(re.compile("classified it, .*: harm severe, preventable no"))
    form = officer.page.get_by_role("form", name="Classify")
    expect(form.get_by_label("Note")).to_have_value("my own long thought")
    assert own_scene.lead.get(f"/api/incidents/{line}").json()["review"]["count"] == 1

    alert.get_by_role("button", name="Look again").click()
    expect(officer.part("As the desk sees it")).to_contain_text("Severe")
    expect(form.get_by_label("Note")).to_have_value("my own long thought")
    save(officer)
    expect(form).to_have_count(0)
    expect(officer.part("As the desk sees it")).to_contain_text("my own long thought")
    review = own_scene.lead.get(f"/api/incidents/{line}").json()["review"]
    assert [judged["classified"]["harm"] for judged in review["earlier"]] == ["severe"]
    assert review["judged"]["classified"]["harm"] == "none"


def test_a_comment_goes_in_beside_anothers_and_brings_it_to_the_eye(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    line = own_scene.full["event"]
    officer = desk(own_scene)
    officer.incident(line)
    own_scene.decide(line, "comments", text="asked the site")
    part = officer.part("Comments")
    part.get_by_role("button", name="Write a comment").click()
    part.get_by_role("textbox", name="Comment").fill("<b>seen</b> by me")
    part.get_by_role("button", name="Add this comment").click()
    expect(part.get_by_role("listitem")).to_have_count(2)
    expect(part).to_contain_text("<b>seen</b> by me")
    expect(officer.page.get_by_role("alert")).to_contain_text("wrote: “asked the site”")


def test_like_incidents_are_linked_and_taken_back(desk: Callable[..., Desk], own_scene: Scene) -> None:
    same = own_scene.near.write(
        "safety.noted", "case-full", what=list(own_scene.whats)[1], reached_patient=False, note="again"
    )
    own_scene.near.carry()
    officer = desk(own_scene)
    officer.incident(own_scene.full["event"])
    part = officer.part("Like incidents")
    part.get_by_text("Others of the same kind: 1").click()
    part.get_by_role("button", name=re.compile("^Link the incident of")).click()
    part.get_by_label("What they have in common").fill("same needle, same day")
    part.get_by_role("button", name="Link them").click()
    expect(part).to_contain_text("same needle, same day")
    expect(part.get_by_role("link").first).to_have_attribute("href", f"#/incident/{same.envelope.id}")
    part.get_by_role("button", name="Take the link back").click()
    expect(part).to_contain_text("None linked yet.")

    part.get_by_role("button", name="Link an incident").click()
    part.get_by_label("Its address").fill("nowhere")
    part.get_by_label("What they have in common").fill("the room")
    part.get_by_role("button", name="Link them").click()
    expect(part.get_by_role("alert")).to_contain_text("there is no such other incident")
    part.get_by_label("Its address").fill(f"https://x/desk#/incident/{own_scene.full['near_miss']}")
    part.get_by_role("button", name="Link them").click()
    expect(part.get_by_role("link", name=re.compile(own_scene.what(0)))).to_be_visible()


def test_a_class_of_the_reaction_is_taken_from_a_named_scale(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    """Vomiting is III in Ring and Messmer 1977; the page derives it, the officer takes it or leaves it."""
    phone = own_scene.near
    phone.write("case.opened", "ill", code="R-2", modalities=["fluorescein"])
    began = phone.write("reaction.started", "ill")
    phone.write("reaction.sign", "ill", sign="vomiting", seen=True)
    phone.write("reaction.ended", "ill", outcome="case_stopped")
    phone.carry()
    officer = desk(own_scene)
    officer.incident(began.envelope.id, "Reaction")
    expect(officer.part("The case")).to_contain_text("none is a diagnosis")
    classify(officer, "Mild", "No")
    officer.page.get_by_role("radio", name=re.compile(r"^III\s*Ring and Messmer 1977")).check()
    save(officer)
    seen = officer.part("As the desk sees it")
    expect(seen).to_contain_text(re.compile(r"III \(Ring and Messmer 1977, table \S+\)"))
    judged = own_scene.lead.get(f"/api/incidents/{began.envelope.id}").json()["review"]["judged"]
    reaction = judged["classified"]["reaction"]
    assert set(reaction) == {"scale", "version", "grade"}
    assert all(reaction.values())


def test_an_incident_outside_of_any_case_is_reviewed_too(desk: Callable[..., Desk], own_scene: Scene) -> None:
    own_scene.near.write(
        "safety.noted", what=list(own_scene.whats)[2], reached_patient=False, note="in the waiting room"
    )
    own_scene.near.carry()
    officer = desk(own_scene)
    officer.incidents()
    row = officer.rows().filter(has_text="in the waiting room")
    expect(row).to_contain_text("no case")
    row.get_by_role("link").click()
    expect(officer.part("The case")).to_contain_text("outside of any case")
    classify(officer, "None", "No")
    save(officer)
    officer.state("in review")


def test_the_case_stands_beside_its_incident(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incident(scene.full["event"])
    case = officer.part("The case")
    expect(case).to_contain_text("Phone 3 (clock agrees with the server)")
    expect(case).to_contain_text(f"pack {scene.pack['version']}")
    expect(case.get_by_role("img", name=re.compile("^Comfort: 6 at"))).to_be_visible()
    case.get_by_text("The same as a table").click()
    expect(case.get_by_role("table", name="Comfort as it was said")).to_contain_text("6")
    expect(officer.entry("Pose as it was, right eye")).to_contain_text("more than advised, by 4°")
    expect(officer.entry("Case read at the desk")).to_have_count(0)
    case.get_by_role("radio", name="Every line").check()
    expect(officer.entry("Case read at the desk").first).to_be_visible()


def test_each_line_says_how_long_after_the_dye(desk: Callable[..., Desk], own_scene: Scene) -> None:
    phone = own_scene.near
    phone.write("case.opened", "dyed", code="D-1", modalities=["fluorescein"])
    phone.write(
        "dye.injected", "dyed", dye="fluorescein", arm="left", route="vein",
        pressed_at=phone.at, pressed_mono=phone.chain.seq * 1000,
    )  # fmt: skip
    phone.at += 244_000  # while the phone's own count stood still, as it does where a phone sleeps
    event = phone.write("safety.noted", "dyed", what=next(iter(own_scene.whats)), reached_patient=True)
    phone.carry()
    officer = desk(own_scene)
    officer.incident(event.envelope.id)
    beat = officer.page.locator(f"#line-{event.envelope.id}")
    expect(beat).to_contain_text(re.compile(r"luorescein.* 4 min 06 s by the time of day alone"))
    expect(officer.part("The case")).to_contain_text(re.compile("Clock of .*luorescein"))


def test_the_queue_by_keyboard_alone(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents()
    page = officer.page
    expect(officer.rows()).to_have_count(6)
    page.keyboard.press("j")
    expect(officer.links().nth(0)).to_be_focused()
    page.keyboard.press("j")
    expect(officer.links().nth(1)).to_be_focused()
    page.keyboard.press("k")
    expect(officer.links().nth(0)).to_be_focused()
    page.keyboard.press("/")
    search = page.get_by_label("Search")
    expect(search).to_be_focused()
    page.keyboard.type("j?k/")  # typed, and nothing else
    expect(search).to_have_value("j?k/")
    expect(page.get_by_role("dialog")).to_have_count(0)
    search.fill("")
    expect(officer.rows()).to_have_count(6)
    search.blur()
    page.keyboard.press("?")
    keys = page.get_by_role("dialog", name="Keys")
    expect(keys).to_be_visible()
    assert_accessible(page, "keys")
    keys.get_by_role("checkbox").uncheck()
    page.keyboard.press("Escape")
    expect(keys).to_have_count(0)
    page.keyboard.press("j")
    expect(page.locator("a.desk-row-link:focus")).to_have_count(0)
    page.get_by_role("button", name="Keys", exact=True).click()
    expect(keys).to_be_visible()


def test_views_are_kept_as_links_in_this_browser(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents("?kind=near_miss")
    page = officer.page
    page.get_by_role("button", name="Save this view").click()
    page.get_by_label("Name of the view").fill("Near misses")
    page.get_by_role("button", name="Save", exact=True).click()
    officer.incidents()
    page.reload()
    view = page.get_by_role("navigation", name="Saved views").get_by_role("link", name="Near misses")
    view.click()
    expect(page).to_have_url(re.compile(r"#/incidents\?kind=near_miss$"))
    expect(officer.rows()).to_have_count(2)
    expect(view).to_have_attribute("aria-current", "true")
    assert_accessible(page, "saved views")
    page.get_by_role("button", name="Delete the view Near misses").click()
    expect(view).to_have_count(0)
    page.reload()
    expect(officer.rows()).to_have_count(2)
    expect(page.get_by_role("navigation", name="Saved views").get_by_role("link")).to_have_count(0)


def test_filters_stay_the_same_elements_while_names_arrive(desk: Callable[..., Desk], scene: Scene) -> None:
    """What is being used must not be replaced: the pack's names come late here, on purpose."""
    officer = desk(scene)
    page = officer.page
    held: list[Any] = []
    page.route("**/api/packs", lambda route: held.append(route))
    page.reload()
    search = page.get_by_label("Search")
    search.press_sequentially("hr")
    page.evaluate("""() => {
      window.marked = [...document.querySelectorAll(".desk-filters :is(input, select)")];
      window.options = [...document.querySelectorAll(".desk-filters option")];
    }""")
    expect(page.get_by_label("What")).to_be_disabled()
    page.get_by_label("Kind").select_option("near_miss")
    expect(officer.rows()).to_have_count(1)
    while not held:
        page.wait_for_timeout(20)
    for route in held:
        route.continue_()
    expect(page.get_by_label("What")).to_be_enabled()
    page.get_by_label("What").select_option(next(iter(scene.whats)))
    expect(page).to_have_url(re.compile("kind=near_miss.*what=.*q=hr"))
    assert page.evaluate("window.marked.every((element) => element.isConnected)")
    assert page.evaluate("window.options.every((element) => element.isConnected)")
    expect(search).to_have_value("hr")
