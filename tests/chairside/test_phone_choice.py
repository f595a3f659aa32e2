"""Which optic, and by which plan: every figure, one suggested with its trades, the choice a line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from beside import go, measured_case
from playwright.sync_api import Locator, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from lead_office import Lead
from phone_page import Phone
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(400)]

CLASS = "deep-set.medium.free"
"""The reach class of the face that these tests measure."""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Server]:
    """One for all of these tests: each has a phone and a case of its own."""
    with Server(tmp_path_factory.mktemp("hub")) as started:
        yield started


@pytest.fixture
def pack(server: Server) -> dict[str, Any]:
    """The pack in force, as the server hands it out."""
    with Lead(server) as lead:
        return lead.pack


@pytest.fixture
def phone(server: Server, pack: dict[str, Any], contexts: Contexts) -> Phone:
    made = Phone(contexts.phone(viewport={"width": 360, "height": 740}), server)
    made.enrol("Phone 7")
    made.wait_for_guidance()
    return made


def of_class(entries: list[dict[str, Any]], **wanted: str) -> list[dict[str, Any]]:
    return [e for e in entries if CLASS in e["classes"] and all(e[k] == v for k, v in wanted.items())]


def card(phone: Phone, optic: str) -> Locator:
    cards = phone.page.get_by_role("list", name="Optics").get_by_role("listitem")
    return cards.filter(has=phone.page.get_by_role("heading", name=optic, exact=True))


def ask_for(phone: Phone, region: str, minutes: str = "Any") -> None:
    fold = phone.page.locator("details").filter(has_text="What is asked for").first
    if not fold.evaluate("e => e.open"):
        fold.locator("summary").click()
    phone.pick("How far out", region)
    phone.pick("Time in the rest, at most", minutes)


def test_every_optic_has_its_row_with_every_figure(phone: Phone, pack: dict[str, Any]) -> None:
    case = measured_case(phone, "HO-1")
    go(phone, f"#/case/{case}/choice", "Choose the optic")
    ask_for(phone, "Midperiphery")
    (choice,) = of_class(pack["optic_choices"], region="midperiphery")
    assert len(choice["rows"]) == len(pack["optics"])
    for row in choice["rows"]:
        shown = card(phone, row["name"])
        expect(shown).to_contain_text(f"{row['fields']} field")
        expect(shown).to_contain_text(f"{row['detail_px_per_deg']:g} pixels per degree")
        expect(shown).to_contain_text(f"{round(row['coverage'] * 100)} %")
        expect(shown).to_contain_text(
            "takes cross-sections" if row["cross_sections"] else "no cross-sections"
        )
        for other in row["dominated_by"]:
            name = next(optic["name"] for optic in pack["optics"] if optic["id"] == other)
            expect(shown).to_contain_text(f"{name}: no worse in any figure here")
        if not row["possible"]:
            expect(shown).to_contain_text("Not all of what is asked")
    quickest = next(r for r in choice["rows"] if r["optic"] == choice["quickest"][0])
    suggested = phone.page.get_by_role("region", name="Suggested")
    expect(suggested).to_contain_text(f"Suggested: {quickest['name']}")
    for trade in quickest["against"].values():
        expect(suggested).to_contain_text(trade)


def test_with_minutes_the_farthest_that_keeps_them_is_suggested(phone: Phone, pack: dict[str, Any]) -> None:
    case = measured_case(phone, "HO-2")
    go(phone, f"#/case/{case}/choice", "Choose the optic")
    (choice,) = of_class(pack["optic_choices"], region="midperiphery")
    rows = {row["optic"]: row for row in choice["rows"]}
    ask_for(phone, "Midperiphery", "10 min")
    in_time = [rows[id_] for id_ in choice["farthest"] if rows[id_]["seconds"] <= 600]
    first = next(row for row in in_time if not row["dominated_by"])
    assert first["optic"] != choice["quickest"][0], "the demo's pack makes no difference here"
    suggested = phone.page.get_by_role("region", name="Suggested")
    expect(suggested).to_contain_text(f"Suggested: {first['name']}")
    expect(suggested).to_contain_text("The farthest from the eye")


def test_another_choice_than_the_suggested_is_kept_with_its_reason(phone: Phone) -> None:
    case = measured_case(phone, "HO-3", optic="Narrow")
    go(phone, f"#/case/{case}/choice", "Choose the optic")
    ask_for(phone, "Midperiphery")
    expect(phone.page.get_by_role("region", name="Suggested")).to_contain_text("Suggested: Ultra-wide")
    card(phone, "Wide").get_by_role("button", name="Choose Wide").click()
    sheet = phone.page.get_by_role("dialog")
    sheet.get_by_label(re.compile("^Why rather than Ultra-wide")).fill("afraid of closeness")
    sheet.get_by_role("button", name="Change to Wide").click()
    expect(sheet).to_have_count(0)
    said = phone.bodies("optic.chosen")[-1]
    assert (said["optic"], said["suggested"], said["reason"]) == ("wide", "ultrawide", "afraid of closeness")


def plan_page(phone: Phone, case: str, region: str) -> Locator:
    go(phone, f"#/case/{case}/map/right/plan", "Map of the retina")
    phone.pick("How far out", region)
    return phone.page.get_by_role("region", name="Plan and patterns")


def test_the_plan_stands_beside_the_known_patterns(phone: Phone, pack: dict[str, Any]) -> None:
    case = measured_case(phone, "HO-4")
    ways = plan_page(phone, case, "Midperiphery")
    (plan,) = of_class(pack["plans"], optic="wide", region="midperiphery")
    assert plan["feasible"]
    rows = ways.get_by_role("radio")
    patterns = of_class(pack["patterns"], optic="wide", region="midperiphery")
    assert len(patterns) == 6
    expect(rows).to_have_count(1 + len(patterns) + 1)  # and the sweep
    least = round(plan["least_join_overlap"] * 100)
    expect(ways).to_contain_text(
        f"{plan['count']} fields, shows {round(plan['region_fraction'] * 100)} %, joins at least {least} %"
    )
    names = {name["id"]: name["name"] for name in pack["pattern_names"]}
    for pattern in patterns:
        ways.get_by_role("radio", name=re.compile(f"^{re.escape(names[pattern['id']])}")).check()
        expect(ways).to_contain_text(pattern["sentence"])
        expect(ways).to_contain_text("Shows and joins as asked" if pattern["meets"] else "Less than is asked")
        # the map shows the one that is picked
        outlines = phone.main.locator(".retina-map .retina-field")
        expect(outlines).to_have_count(len({tuple(field[:2]) for field in pattern["fields"]}))


def test_what_cannot_be_reached_is_said_and_drawn_and_the_optic_named_that_can(
    phone: Phone, pack: dict[str, Any]
) -> None:
    case = measured_case(phone, "HO-5", optic="Narrow")
    (plan,) = of_class(pack["plans"], optic="narrow", region="midperiphery")
    assert not plan["feasible"]
    assert plan["other_optics"]
    ways = plan_page(phone, case, "Midperiphery")
    expect(ways).to_contain_text(re.compile(r"at most \d+(\.\d)? % can be reached"))
    for other in plan["other_optics"]:
        name = next(optic["name"] for optic in pack["optics"] if optic["id"] == other)
        expect(ways).to_contain_text(name)
    missing = phone.main.locator(".retina-map path[fill^='url(#']")
    assert missing.first.evaluate("e => e.getBBox().width * e.getBBox().height") > 1


def test_a_chosen_plan_is_a_line_and_its_frames_are_taken_one_by_one(
    phone: Phone, pack: dict[str, Any]
) -> None:
    case = measured_case(phone, "HO-6")
    ways = plan_page(phone, case, "Midperiphery")
    ways.get_by_role("radio", name=re.compile("^Fewest fields")).check()
    phone.button("Photograph by this").click()
    sheet = phone.page.get_by_role("dialog")
    sheet.get_by_role("textbox").fill("far tears are looked for")
    sheet.get_by_role("button", name="Photograph by this").click()
    (plan,) = of_class(pack["plans"], optic="wide", region="midperiphery")
    rows = phone.page.get_by_role("region", name="All frames of this list")
    expect(rows.get_by_role("heading")).to_have_text(f"0 of {plan['count']} answered")
    (said,) = phone.bodies("plan.chosen")
    assert said["plan"] == "plan:midperiphery"
    assert (said["eye"], said["optic"], said["reason"]) == ("right", "wide", "far tears are looked for")
    if phone.button("Moved, and back in place").is_visible():
        phone.button("Moved, and back in place").click()
    phone.button("Taken").click()
    expect(rows.get_by_role("heading")).to_have_text(f"1 of {plan['count']} answered")
    (frame,) = phone.bodies("frame.taken")
    assert frame["gaze_deg"] == plan["fields"][0][:2]
    expect(phone.main.locator(".retina-map .retina-shown")).to_have_count(1)


def test_a_sweep_leads_back_to_the_frame_of_a_sector(phone: Phone, pack: dict[str, Any]) -> None:
    case = measured_case(phone, "HO-7")
    ways = plan_page(phone, case, "Midperiphery")
    ways.get_by_role("radio", name=re.compile("^Sweep")).check()
    phone.button("Photograph by this").click()
    phone.page.get_by_role("dialog").get_by_role("button", name="Photograph by this").click()
    expect(phone.page.get_by_role("region", name="All frames of this list")).to_be_visible()
    (sweep,) = of_class(pack["sweeps"], optic="wide")
    sector = next(s for s in sweep["sectors"] if s["id"] == "mid-3")
    go(phone, f"#/case/{case}/map/right/over", "Map of the retina")
    phone.pick(re.compile("^Ring"), "Middle")
    phone.page.get_by_role("button", name=re.compile("^3 o'clock: ")).click()
    number = sector["frames"][0] + 1
    phone.button(f"Go back to frame {number}").click()
    now = phone.page.get_by_role("button", name=re.compile(f"^Field {number} of "))
    expect(now).to_have_attribute("aria-current", "step")


def test_everyone_can_use_it(phone: Phone) -> None:
    case = measured_case(phone, "HO-8")
    go(phone, f"#/case/{case}/choice", "Choose the optic")
    ask_for(phone, "Midperiphery")
    at_both_sizes(phone.page, "choice")
    phone.page.set_viewport_size({"width": 412, "height": 6000})
    in_both_themes(phone.page, "choice")
    plan_page(phone, case, "Midperiphery")
    in_both_themes(phone.page, "plan")
    phone.page.set_viewport_size({"width": 360, "height": 740})
    at_both_sizes(phone.page, "plan")
