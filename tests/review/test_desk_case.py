"""One case as a line of time: what was advised beside what was done, with nothing left out."""

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing

import msgspec
import pytest
from playwright.sync_api import expect
from scenes import Scene

from desk_page import Desk

pytestmark = pytest.mark.browser


def open_case(officer: Desk, scene: Scene) -> None:
    """At the line of the safety event, as the incident's own page links to it."""
    officer.go(f"incident/{scene.full['event']}", scene.what(1))
    officer.page.get_by_role("link", name="Case HR-2041").click()
    expect(officer.page.get_by_role("heading", level=1, name="Case HR-2041")).to_be_visible()


def cells(officer: Desk, title: str | re.Pattern[str]) -> dict[str, list[str]]:
    """The small table inside an entry: first column to the others."""
    table = officer.entry(title).get_by_role("table")
    expect(table).to_be_visible()
    found = {}
    for row in table.get_by_role("row").all()[1:]:
        texts = [cell.inner_text() for cell in row.locator("th, td").all()]
        found[texts[0]] = texts[1:]
    return found


def test_every_line_of_the_case_is_there_in_order(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    officer.page.get_by_role("radio", name="Without the desk's own").check()
    items = officer.page.get_by_role("list", name="Line of time").locator("> li")
    case_lines = [line for line in scene.near.lines if line.envelope.case == "case-full"]
    expect(items).to_have_count(len(case_lines))
    ids = [item.get_attribute("id") for item in items.all()]
    assert ids == [f"line-{line.envelope.id}" for line in case_lines]


def test_the_line_that_led_here_is_shown_and_says_how_harm_is_graded(
    desk: Callable[..., Desk], scene: Scene
) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    event = officer.entry(f"Safety event: {scene.what(1)}")
    expect(event).to_be_in_viewport()
    expect(event).to_contain_text("WHO degree of harm")
    expect(event).to_contain_text("mild")
    expect(event).to_contain_text("settled after ten minutes")
    expect(officer.entry(f"Near miss: {scene.what(0)}")).to_contain_text("Reached the patient")


def test_the_pose_as_it_was_stands_beside_the_pose_as_advised(
    desk: Callable[..., Desk], scene: Scene
) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    pose = cells(officer, "Pose as it was, right eye")
    # the scene's own figures; positive yaw of a right eye is a turn to the patient's left
    assert pose["Turn of the face"] == ["14° to the patient's left", "more than advised, by 4°"]
    assert pose["Chin"] == ["2° down", "not recorded"]
    assert pose["Working distance"][0] == "9.5 mm"
    assert pose["Least gap"] == ["3.2 mm", "not recorded"]
    assert pose["Closeness"] == ["close", "did not touch"]
    nearest = {choice["id"]: choice["text"] for choice in scene.pack["choices"]["nearest"]}
    assert pose["Nearest"] == [nearest["nasal_flank"], nearest["brow"]]


def test_an_amended_line_and_its_amendment_both_stay(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    first = officer.entry(re.compile("^Comfort 2 of 10"))
    expect(first).to_contain_text("amended")
    amended = cells(officer, "Amended")
    assert amended["What"][0].startswith("Comfort 2 of 10")
    assert amended["What"][1].startswith("Comfort 6 of 10")
    expect(officer.entry("Amended")).to_contain_text("wrong key")
    first.get_by_role("button", name=re.compile("by the line of")).click()
    expect(officer.page.locator(f"#line-{scene.full['amended']}")).to_be_focused()


def test_a_kind_of_line_from_a_newer_version_waits_and_harms_nothing(
    desk: Callable[..., Desk], scene: Scene
) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    waiting = officer.entry("Waiting: “focus.noted”")
    expect(waiting).to_contain_text("kept as it came")
    expect(officer.entry("Case closed: completed")).to_be_visible()


def test_each_line_says_who_on_which_device_with_which_clock_and_pack(
    desk: Callable[..., Desk], scene: Scene
) -> None:
    officer = desk(scene)
    officer.go("case/c2", "Case LH-7")
    said = officer.entry(re.compile("^Safety event"))
    expect(said).to_contain_text("by AB, as claimed")
    expect(said).to_contain_text("Satellite 1, line 3")
    expect(said).to_contain_text(re.compile("clock 3 minutes (9|10) seconds behind the server"))
    expect(said).to_contain_text(f"pack {scene.pack['version']} ({scene.sha256[:8]})")


def test_reading_a_case_is_itself_logged(desk: Callable[..., Desk], own_scene: Scene) -> None:
    officer = desk(own_scene)
    officer.go("case/c2", "Case LH-7")
    with closing(sqlite3.connect(own_scene.server.data / "chinrest.db")) as database:
        found = database.execute("SELECT envelope FROM lines").fetchall()
    reads = [env for (raw,) in found if (env := msgspec.json.decode(raw))["type"] == "case.read"]
    assert [read["case"] for read in reads] == ["c2"]
    officer.go("case/c3", "Case LH-8")
    officer.go("case/c2", "Case LH-7")  # the reading shows in the case from the next look on
    expect(officer.entry("Case read at the desk")).to_contain_text("Marit Solheim, signed in")


def test_a_case_that_is_not_there_is_refused_in_words(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.page.goto(f"{officer.server.origin}/desk#/case/no-such-case")
    expect(officer.page.get_by_role("alert")).to_contain_text("no line on this server names this case")


def test_a_note_that_looks_like_markup_stays_text(desk: Callable[..., Desk], own_scene: Scene) -> None:
    nasty = "<img src=x onerror=alert(1)><b>bold</b>"
    own_scene.near.write(
        "safety.noted", "case-full", what=next(iter(own_scene.whats)), reached_patient=True, note=nasty
    )
    own_scene.near.carry()
    officer = desk(own_scene)
    officer.incidents()
    expect(officer.page.get_by_text(nasty)).to_be_visible()
    officer.go("case/case-full", "Case HR-2041")
    expect(officer.page.get_by_text(nasty)).to_be_visible()


def test_only_what_matters_can_be_shown(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    officer.page.get_by_role("radio", name="Pose, comfort, safety, not done").check()
    expect(officer.entry(re.compile("^Optic:"))).to_have_count(0)
    expect(officer.entry(re.compile("^Not done:"))).to_have_count(1)
    expect(officer.entry("Pose as it was, right eye")).to_be_visible()


def test_on_paper_there_is_the_record_and_nothing_to_click(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    open_case(officer, scene)
    officer.page.emulate_media(media="print")
    expect(officer.page.get_by_role("navigation", name="Desk")).to_be_hidden()
    expect(officer.page.get_by_role("button", name="Sign out")).to_be_hidden()
    expect(officer.entry("Pose as it was, right eye")).to_be_visible()
