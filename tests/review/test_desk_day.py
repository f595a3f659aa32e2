"""The officer's whole day in one go: what is new is read, judged, acted on, looked at twice and closed,
opened again by a late amendment, counted, drawn, taken out and reported. axe looks at each page on the way.

The history and the cases are invented; nothing here was measured.
"""

import csv
import io
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from history import Served
from playwright.sync_api import Download, Page, expect
from scenes import Scene

from access import assert_accessible
from desk_page import Desk

pytestmark = pytest.mark.browser


@pytest.fixture
def busy(tmp_path: Path, front_end: Path) -> Iterator[Scene]:
    """Three sites with a history of 160 cases behind them, and a scene's cases on top."""
    with Served(tmp_path) as served:
        made = Scene(served)
        yield made
        made.close()


def taken(page: Page, link: str) -> Download:
    with page.expect_download() as download:
        page.get_by_role("link", name=link, exact=True).click()
    return download.value


def told(desk: Desk, path: str) -> Any:
    answer = desk.context.request.get(f"{desk.server.origin}{path}")
    assert answer.ok, answer.text()
    return answer.json()


def test_the_officers_whole_day(desk: Callable[..., Desk], busy: Scene, tmp_path: Path) -> None:
    line = busy.full["event"]
    officer, lead = desk(busy), desk(busy, "lead")
    page = officer.page

    # the queue, and what is sought in it
    officer.incidents("?review=new")
    assert_accessible(page, "queue")
    page.get_by_label("Search").fill("HR-2041")
    expect(officer.rows()).to_have_count(2)
    expect(page).to_have_url(re.compile(r"#/incidents\?.*q=HR-2041"))
    page.get_by_label("Kind").select_option("event")
    expect(officer.rows()).to_have_count(1)
    officer.links().first.click()
    expect(page).to_have_url(re.compile(f"#/incident/{line}$"))
    officer.state("new")
    expect(officer.part("Open questions")).to_contain_text("It is not classified.")
    assert_accessible(page, "incident, new")

    # judged, talked about, acted on
    judged = officer.part("As the desk sees it")
    judged.get_by_role("button", name="Classify", exact=True).click()
    form = page.get_by_role("form", name="Classify")
    form.get_by_role("radio", name="Moderate", exact=True).check()
    form.get_by_role("radio", name="Yes", exact=True).check()
    form.get_by_role("checkbox", name="Staff factors").check()
    form.get_by_role("button", name="Save the classification").click()
    expect(judged).to_contain_text("Moderate")
    expect(officer.part("As reported")).to_contain_text("Mild")
    talk = officer.part("Comments")
    talk.get_by_role("button", name="Write a comment").click()
    talk.get_by_role("textbox", name="Comment").fill("The site changes the paper from today on.")
    talk.get_by_role("button", name="Add this comment").click()
    expect(talk.get_by_role("listitem")).to_have_count(1)
    actions = officer.part("Actions")
    actions.get_by_role("button", name="Add an action").click()
    actions.get_by_label("What is to be done").fill("Change the paper before each patient")
    actions.get_by_label("Owner").fill("Site lead")
    actions.get_by_label("Due").fill("2020-01-31")
    actions.get_by_role("button", name="Add this action").click()
    expect(actions).to_contain_text("due 31 Jan 2020, overdue")
    officer.state("actions open")
    expect(officer.part("Open questions")).to_contain_text("One action is open, 1 overdue.")
    assert_accessible(page, "incident, in review")
    actions.get_by_role("button", name=re.compile("^Done: ")).click()
    actions.get_by_label("What was done").fill("a new routine, told to all")
    actions.get_by_role("button", name="It is done").click()
    expect(officer.part("Open questions")).not_to_contain_text("open")

    # closed by a second person, opened again by what comes late, closed again
    second = officer.part("Second look")
    second.get_by_label("Why it can be closed").fill("routine in place")
    second.get_by_role("button", name="Ask for the second look").click()
    expect(second).to_contain_text("nobody closes what they asked to close")
    lead.incident(line)
    lead.part("Second look").get_by_role("button", name="Close it").click()
    lead.state("closed")
    busy.near.write(
        "line.amended",
        "case-full",
        line=line,
        body={
            "what": list(busy.whats)[1],
            "reached_patient": True,
            "harm": "severe",
            "signs": [],
            "done": [],
            "told": [],
            "note": "she fainted at home",
        },
        why="the patient rang",
    )
    busy.near.carry()
    officer.incident(line)
    page.reload()
    notice = page.locator(".notice", has_text="the question is open again")
    expect(notice).to_contain_text("Amended")
    expect(officer.part("As reported")).to_contain_text("she fainted at home")
    expect(officer.part("Open questions")).to_contain_text("does it change anything?")
    assert_accessible(page, "incident, opened by a late amendment")
    second.get_by_role("button", name="Open it again").click()
    second.get_by_label("Why it is opened again").fill("she fainted at home")
    second.get_by_role("form").get_by_role("button", name="Open it again").click()
    judged.get_by_role("button", name="Classify again").click()
    form.get_by_role("radio", name="Severe", exact=True).check()
    form.get_by_role("button", name="Save the classification").click()
    expect(judged).to_contain_text("Earlier: 1")
    second.get_by_label("Why it can be closed").fill("looked at again")
    second.get_by_role("button", name="Ask for the second look").click()
    expect(second).to_contain_text("nobody closes what they asked to close")
    lead.page.reload()
    lead.part("Second look").get_by_role("button", name="Close it").click()
    lead.state("closed")
    expect(lead.part("Open questions")).to_contain_text("None.")

    # counted, each figure with the log position that it was counted at
    officer.go("rates?of=event&by=desk_harm", "Safety events")
    report = told(officer, "/api/rates?of=event&by=desk_harm")
    known = officer.part("How this is known")
    expect(known).to_contain_text(f"Counted at log position {report['position']:,}")
    counted = page.get_by_role("table", name=report["definition"])
    expect(counted.get_by_role("row", name=re.compile("^Severe 1 "))).to_be_visible()
    expect(counted.get_by_role("row", name=re.compile("^Not judged yet "))).to_be_visible()
    crossed = page.get_by_role("table", name="Harm as reported against harm as the desk judged it")
    expect(crossed.get_by_role("row", name=re.compile("^Severe "))).to_be_visible()
    assert_accessible(page, "rates")

    # drawn, each picture with its table
    officer.go("charts?of=event", "Safety events: charts")
    for title in ("Across sites", "Procedures between events", "Days between events", "Month by month"):
        part = officer.part(title)
        expect(part.get_by_role("img")).to_have_count(1)
        part.get_by_text("The same as a table").click()
        expect(part.get_by_role("table")).to_be_visible()
    assert_accessible(page, "charts")
    officer.go("craft", "Comfort and craft")
    assert_accessible(page, "craft")

    # reported
    officer.go("report", "Incidents and near misses of a period")
    expect(officer.part("Incidents")).to_contain_text("she fainted at home")
    assert_accessible(page, "report of a period")
    officer.go("summary", re.compile("^Rates, "))
    expect(
        page.get_by_role("heading", name=re.compile("Safety events, by harm as the desk judged it"))
    ).to_be_visible()
    assert_accessible(page, "rates of a period")
    officer.go("devices", "Devices")
    assert_accessible(page, "devices")

    # taken out: tables, FHIR, and the log's own lines, which verify without a server
    officer.incidents("?q=HR-2041")
    rows = list(csv.DictReader(io.StringIO(taken(page, "CSV").path().read_text(), newline="")))
    found = {row["incident"]: (row["harm_reported"], row["harm_officer"], row["review"]) for row in rows}
    assert found == {line: ("severe", "severe", "closed"), busy.full["near_miss"]: ("", "", "new")}
    made = json.loads(taken(page, "HL7 FHIR R4").path().read_text())
    kinds = [entry["resource"]["resourceType"] for entry in made["entry"]]
    assert (made["resourceType"], kinds.count("AdverseEvent")) == ("Bundle", 2)
    expect(page.get_by_role("link", name="every line of the log")).to_have_count(0)  # the lead's
    lead.incidents()
    lines = tmp_path / "lines.ndjson"
    taken(lead.page, "every line of the log").save_as(lines)
    verify = [sys.executable, "-m", "chinrest.cli", "verify", "--json"]
    sound = subprocess.run([*verify, str(lines)], capture_output=True, text=True, check=False)
    assert sound.returncode == 0, sound.stdout + sound.stderr
    assert json.loads(sound.stdout)["sealed"] is True
    lines.write_text(lines.read_text().replace("she fainted at home", "she slept well", 1))
    spoiled = subprocess.run([*verify, str(lines)], capture_output=True, text=True, check=False)
    assert spoiled.returncode == 1
