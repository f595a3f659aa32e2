"""What leaves the desk, and what everyone can use: exports, the report of a period, paper, axe."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect
from scenes import JUDGED, Scene

from access import assert_accessible, assert_no_sideways_scroll
from browsing import Contexts
from desk_page import Desk
from paper import assert_whole_on_paper

pytestmark = pytest.mark.browser


def test_what_a_filter_finds_can_be_taken_out(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.incidents("?kind=near_miss")
    with officer.page.expect_download() as csv:
        officer.page.get_by_role("link", name="CSV").click()
    rows = csv.value.path().read_text().splitlines()
    assert len(rows) == 3  # its head and two
    with officer.page.expect_download() as fhir:
        officer.page.get_by_role("link", name="HL7 FHIR R4").click()
    assert '"resourceType":"Bundle"' in fhir.value.path().read_text().replace(" ", "")


def test_the_report_of_a_period_counts_its_days(desk: Callable[..., Desk], own_scene: Scene) -> None:
    line = own_scene.full["event"]
    own_scene.decide(line, "classification", **JUDGED)
    own_scene.decide(line, "actions", text="Order new paper", owner="Stores", due="2020-01-31")
    officer = desk(own_scene)
    officer.go("report", "Incidents and near misses of a period")
    page = officer.page
    listed = officer.part("Incidents").get_by_role("row")
    expect(listed).to_have_count(7)  # its head and six, one of them taken back
    expect(page.get_by_role("table", name="Kind")).to_contain_text(re.compile(r"Taken back, not counted\s*1"))
    expect(officer.part("Actions")).to_contain_text("open, overdue")
    page.get_by_label("To").fill("2020-02-01")
    page.get_by_label("To").blur()
    expect(page.get_by_role("alert")).to_contain_text("ends before it begins")
    page.get_by_label("From").fill("2020-01-01")
    page.get_by_label("From").blur()
    expect(page.get_by_role("heading", name="Nothing was noted in this period")).to_be_visible()
    expect(page).to_have_url(re.compile(r"since=2020-01-01&until=2020-02-01"))


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault_and_nothing_scrolls_sideways(
    desk: Callable[..., Desk], own_scene: Scene, theme: str
) -> None:
    line = own_scene.full["event"]
    own_scene.decide(line, "classification", **JUDGED)
    own_scene.decide(line, "actions", text="Order new paper", owner="Stores", due="2020-01-31")
    own_scene.decide(line, "links", other=own_scene.full["near_miss"], why="same day")
    own_scene.decide(line, "comments", text="asked the site")
    officer = desk(own_scene, color_scheme=theme)
    page = officer.page
    officer.incident(line, own_scene.what(1))
    assert_accessible(page, f"incident, {theme}")
    page.get_by_role("button", name="Classify again").click()
    page.get_by_role("button", name="Add an action").click()
    page.get_by_role("button", name="Write a comment").click()
    page.get_by_role("button", name="Link an incident").click()
    assert_accessible(page, f"incident with its forms, {theme}")
    for width in (1280, 768, 360):
        page.set_viewport_size({"width": width, "height": 900})
        assert_no_sideways_scroll(page, f"incident with its forms, {width}")
    officer.go("report", "Incidents and near misses of a period")
    assert_no_sideways_scroll(page, "report, 360")
    officer.incidents()
    assert_no_sideways_scroll(page, "queue, 360")
    page.set_viewport_size({"width": 768, "height": 1024})
    assert_no_sideways_scroll(page, "queue, 768")
    assert_accessible(page, f"queue, {theme}")
    officer.go("report", "Incidents and near misses of a period")
    assert_accessible(page, f"report, {theme}")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_on_paper_the_whole_incident_and_nothing_to_click(
    desk: Callable[..., Desk], own_scene: Scene, paper: str
) -> None:
    line = own_scene.full["event"]
    own_scene.decide(line, "classification", **JUDGED)
    officer = desk(own_scene)
    officer.incident(line)
    page = officer.page
    page.get_by_role("button", name="Classify again").click()
    page.emulate_media(media="print")
    for gone in ("Sign out", "Save the classification", "Write a comment", "Print this report"):
        expect(page.get_by_role("button", name=gone)).to_be_hidden()
    expect(officer.part("As reported")).to_be_visible()
    expect(officer.entry("Pose as it was, right eye")).to_be_visible()
    expect(page.get_by_role("table", name="Comfort as it was said")).to_be_visible()  # though it is folded
    expect(page.get_by_text(re.compile("^Printed .* by Marit Solheim"))).to_be_visible()
    assert_whole_on_paper(page, paper, "incident")
    made = page.pdf(format=paper)
    pages = len(re.findall(rb"/Type\s*/Page\b", made))
    assert 2 <= pages <= 8, f"{pages} pages"
    page.emulate_media(media="screen")
    officer.go("report", "Incidents and near misses of a period")
    assert_whole_on_paper(page, paper, "report")


def test_the_look_at_paper_sees_what_is_cut_and_what_has_no_table(contexts: Contexts) -> None:
    page = contexts.desk().new_page()
    page.set_content(f"<main><p style='white-space: nowrap'>{'word ' * 300}</p></main>")
    with pytest.raises(AssertionError, match="cut at the edge"):
        assert_whole_on_paper(page, "A4", "a long line")
    held = f"<main><div style='overflow: hidden; width: 9rem; white-space: nowrap'>{'word ' * 9}</div></main>"
    page.set_content(held)
    with pytest.raises(AssertionError, match="cut at the edge"):
        assert_whole_on_paper(page, "Letter", "a frame")
    page.set_content(
        "<main><section><svg role='img' aria-label='x' width='9' height='9'></svg></section></main>"
    )
    with pytest.raises(AssertionError, match="without their table"):
        assert_whole_on_paper(page, "A4", "a picture")
