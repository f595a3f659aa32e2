"""The officer's rates, charts and craft: what is asked for lives in the address, what is shown is as counted.

That the figures themselves are right is held by tests/server and tests/model. All cases are invented.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from history import Served
from playwright.sync_api import Page, expect

from access import assert_accessible, assert_no_sideways_scroll
from browsing import Contexts
from desk_page import Desk
from paper import assert_whole_on_paper
from serving import Server

pytestmark = pytest.mark.browser

PAGES = {
    "rates": "Reactions to the dye",
    "charts?rate_in=10&rate_out=20": "Reactions to the dye: charts",
    "craft": "Comfort and craft",
    "summary": re.compile("^Rates, "),
}


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Server]:
    with Served(tmp_path_factory.mktemp("history")) as served:
        yield served


@pytest.fixture
def officer(history: Server, contexts: Contexts) -> Callable[..., Desk]:
    def sign_in(**options: Any) -> Desk:
        return Desk(contexts.desk(**options), history).sign_in()

    return sign_in


def told(desk: Desk, path: str) -> Any:
    """What the server answers to this signed-in officer."""
    answer = desk.context.request.get(f"{desk.server.origin}{path}")
    assert answer.ok, answer.text()
    return answer.json()


def figures(page: Page, name: str) -> list[list[str]]:
    rows = page.get_by_role("table", name=name).get_by_role("row").all()[1:]
    return [[cell.inner_text() for cell in row.locator("th, td").all()] for row in rows]


def test_the_table_holds_the_servers_counts(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("rates?of=event&by=what", "Safety events")
    report = told(desk, "/api/rates?of=event&by=what")
    shown = figures(desk.page, report["definition"])
    expected = [*report["rows"], report["total"]]
    assert [(row[1], row[2]) for row in shown] == [
        (str(row["events"]), str(row["procedures"])) for row in expected
    ]
    for row, of in zip(shown, expected, strict=True):
        low, high = (float(end) for end in row[4].split(" to "))
        assert low == pytest.approx(of["rate"]["exact95"][0], rel=0.06, abs=0.00006)
        assert high == pytest.approx(of["rate"]["exact95"][1], rel=0.06)
        for sentence in of["rate"]["small_number"]:
            assert sentence in row[7]
    page = desk.page
    expect(page.get_by_text(f"{report['position']:,}")).to_be_visible()
    for rule in report["rules"]:
        expect(page.get_by_text(rule)).to_be_visible()


def test_filters_live_in_the_address(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("rates", "Reactions to the dye")
    page = desk.page
    page.get_by_label("Rate", exact=True).select_option("touch")
    expect(page.get_by_role("heading", level=1, name="Touches by an optic")).to_be_visible()
    expect(page).to_have_url(re.compile(r"#/rates\?of=touch&by=optic$"))
    page.get_by_label("Split by").select_option("month")
    page.get_by_label("Site").select_option("harbour")
    page.get_by_label("First month").fill("2026-01")
    page.get_by_label("First month").blur()
    expect(page).to_have_url(re.compile(r"#/rates\?of=touch&by=month&first=2026-01&site=harbour$"))
    expect(page.get_by_text("from January 2026 on")).to_be_visible()
    page.reload()
    expect(page.get_by_label("Split by")).to_have_value("month")
    expect(page.get_by_label("Site")).to_have_value("harbour")
    expect(page.get_by_text("from January 2026 on")).to_be_visible()
    page.go_back()
    expect(page.get_by_label("First month")).to_have_value("")
    page.get_by_role("navigation", name="Rates").get_by_role("link", name="Charts").click()
    expect(page).to_have_url(re.compile(r"#/charts\?site=harbour$"))  # the site goes along


def test_other_peoples_rates_are_said_to_be_theirs(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("rates?of=reaction&by=dye", "Reactions to the dye")
    part = desk.page.get_by_role("region", name="Other people's rates")
    expect(part).to_contain_text("Published series, not this service's")
    report = told(desk, "/api/rates?of=reaction&by=dye")
    kwan = next(one for one in report["published"] if one["published"]["id"] == "kwan-2006")
    row = part.get_by_role("row").filter(has_text="Kwan").first
    expect(row).to_contain_text("132 among 11,898")
    expect(row).to_contain_text("11.1 (9.29 to 13.1)")  # 9.29 to 13.14: Clopper-Pearson of 132/11,898
    p = float(row.get_by_role("cell").last.inner_text())
    assert p == pytest.approx(kwan["comparison"]["p_two_sided"], rel=0.06)
    desk.go("rates?of=reaction&by=site", "Reactions to the dye")
    expect(part).to_have_count(0)  # they stand only beside the dye that they are of


def test_the_table_and_the_link_can_be_taken_along(officer: Callable[..., Desk]) -> None:
    desk = officer(permissions=["clipboard-read", "clipboard-write"])
    desk.go("rates?of=near_miss&by=what", "Near misses")
    page = desk.page
    page.get_by_role("button", name="Copy the link").click()
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == page.url
    page.get_by_role("button", name="Copy the table as CSV").click()
    expect(page.get_by_text("Copied.")).to_have_count(2)
    rows = list(csv.DictReader(io.StringIO(page.evaluate("navigator.clipboard.readText()"), newline="")))
    report = told(desk, "/api/rates?of=near_miss&by=what")
    assert [row["id"] for row in rows] == [*(row["key"] for row in report["rows"]), ""]
    for row, of in zip(rows, [*report["rows"], report["total"]], strict=True):
        assert int(row["events"]) == of["events"]
        assert [float(row["exact95_low"]), float(row["exact95_high"])] == of["rate"]["exact95"]
        assert int(row["log_position"]) == report["position"]


def test_where_copying_is_refused_the_text_is_shown(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.page.add_init_script("navigator.clipboard.writeText = () => Promise.reject(new Error('refused'))")
    desk.page.reload()
    desk.go("rates", "Reactions to the dye")
    desk.page.get_by_role("button", name="Copy the link").click()
    expect(desk.page.get_by_label("This browser leaves the copying to you")).to_have_value(desk.page.url)


def test_each_picture_has_its_table_or_says_why_there_is_none(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("charts?of=event", "Safety events: charts")
    page = desk.page
    report = told(desk, "/api/charts?of=event")
    assert report["funnel"]
    for title, drawn in {
        "Across sites": report["funnel"],
        "Month by month": report["monthly"],
        "Procedures between events": report["gaps"],
        "Running sum (CUSUM)": report["cusum"],
    }.items():
        part = page.get_by_role("region", name=title)
        expect(part.get_by_role("img")).to_have_count(1 if drawn else 0)
        expect(part.get_by_text("No picture:")).to_have_count(0 if drawn else 1)
    funnel = page.get_by_role("region", name="Across sites")
    funnel.get_by_text("The same as a table").click()
    shown = figures(page, "Sites against the limits")
    assert [(row[1], row[2]) for row in shown] == [
        (str(one["point"]["events"]), str(one["point"]["limits"]["procedures"]))
        for one in report["funnel"]["sites"]
    ]
    expect(page.get_by_role("region", name="Running sum")).to_contain_text("before you look")


def test_the_running_sum_is_drawn_once_its_rates_are_stated(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("charts?of=event", "Safety events: charts")
    page = desk.page
    part = page.get_by_role("region", name="Running sum")
    draw = part.get_by_role("button", name="Draw the running sum")
    part.get_by_label("Accepted, per 1,000").fill("a few")
    draw.click()
    expect(part.get_by_role("alert").first).to_contain_text("Give a number")
    part.get_by_label("Accepted, per 1,000").fill("10")
    part.get_by_label("To be told apart, per 1,000").fill("20,5")
    part.get_by_label("To be told apart, per 1,000").press("Enter")
    expect(page).to_have_url(re.compile(r"rate_in=10&rate_out=20.5$"))
    expect(part.get_by_role("img")).to_have_count(1)
    expect(part).to_contain_text("To be told apart: 20.5 per 1,000")
    page.reload()
    expect(part.get_by_label("To be told apart, per 1,000")).to_have_value("20.5")
    part.get_by_label("To be told apart, per 1,000").fill("10")
    draw.click()
    expect(page.get_by_role("alert").first).to_contain_text("rate_out")  # the server's own words, and where


def test_the_craft_says_what_it_cannot_tell(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("craft", "Comfort and craft")
    page = desk.page
    expect(page.get_by_text("Advice taken unchanged is no evidence").first).to_be_visible()
    report = told(desk, "/api/craft")
    page.get_by_role("region", name="Comfort").get_by_text("The same as a table").click()
    shown = figures(page, "Comfort scores")
    assert [int(row[2].replace(",", "")) for row in shown if row[0] == "Optic"] == [
        row["noted"] for row in report["comfort"]
    ]
    desk.go("craft?last=2001-01", "Comfort and craft")
    expect(page.get_by_role("heading", name="No case of this period counts")).to_be_visible()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault(officer: Callable[..., Desk], theme: str) -> None:
    desk = officer(color_scheme=theme)
    for place, heading in PAGES.items():
        desk.go(place, heading)
        for fold in desk.page.get_by_text("The same as a table").all():
            fold.click()
        assert_accessible(desk.page, f"{place}, {theme}")


@pytest.mark.parametrize("width", [360, 768])
def test_nothing_scrolls_sideways(officer: Callable[..., Desk], width: int) -> None:
    desk = officer(viewport={"width": width, "height": 800})
    look = json.dumps({"theme": "day", "text": "largest" if width == 360 else "normal", "hand": "right"})
    desk.page.evaluate("look => localStorage.setItem('chinrest-look', look)", look)
    desk.page.reload()
    for place, heading in PAGES.items():
        desk.go(place, heading)
        assert_no_sideways_scroll(desk.page, f"{place} at {width}")


def test_it_is_usable_by_keyboard_alone(officer: Callable[..., Desk]) -> None:
    desk = officer()
    desk.go("rates", "Reactions to the dye")
    page = desk.page
    page.get_by_label("Rate", exact=True).focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("heading", level=1, name="Reactions to dye that was drunk")).to_be_visible()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("heading", level=1, name="Touches by an optic")).to_be_visible()
    expect(page.get_by_label("Rate", exact=True)).to_be_focused()  # the new table takes nothing away
    page.keyboard.press("Tab")
    expect(page.get_by_label("Split by")).to_be_focused()
    page.get_by_role("button", name="Copy the link").focus()
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Copy the table as CSV")).to_be_focused()


def test_pictures_are_read_in_on_these_pages_only(officer: Callable[..., Desk]) -> None:
    desk = officer()
    loaded: list[str] = []
    desk.page.on("request", lambda request: loaded.append(request.url))
    desk.page.reload()
    desk.incidents()
    assert not [url for url in loaded if "deskRates" in url]
    desk.go("charts", "Reactions to the dye: charts")
    assert [url for url in loaded if "deskRates" in url]


def test_no_phone_keeps_them(front_end: Path) -> None:
    assert list((front_end / "assets").glob("deskRates*.js"))
    assert "deskRates" not in (front_end / "sw.js").read_text()


def test_without_the_server_it_says_what_that_means(
    tmp_path: Path, front_end: Path, contexts: Contexts
) -> None:
    with Server(tmp_path) as served:
        desk = Desk(contexts.desk(), served).sign_in()
        desk.go("rates", "Reactions to the dye")
        expect(desk.page.get_by_text("Nothing of the kind was done: there is no rate.")).to_be_visible()
        served.kill()
        desk.page.get_by_label("Rate", exact=True).select_option("touch")
        expect(desk.page.get_by_role("alert")).to_contain_text("The server does not answer")
        served.start(within_s=200)
        desk.page.get_by_role("button", name="Try again").click()
        expect(desk.page.get_by_role("table")).to_be_visible()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_printed_it_is_ink_on_paper_with_what_was_folded(officer: Callable[..., Desk], paper: str) -> None:
    """From the dark theme: the ground must turn white, and what can only be clicked must go."""
    desk = officer(color_scheme="dark")
    desk.go("charts?of=event", "Safety events: charts")
    page = desk.page
    expect(page.get_by_role("img").first).to_be_visible()
    assert len(page.pdf(format=paper)) > 10_000
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.querySelector('.plot-data')).stroke") == "rgb(0, 0, 0)"
    expect(page.get_by_role("table", name="Sites against the limits")).to_be_visible()
    expect(page.get_by_role("button", name="Copy the link")).to_be_hidden()
    expect(page.get_by_role("navigation", name="Rates")).to_be_hidden()
    for place, heading in PAGES.items():
        page.emulate_media(media="screen")
        desk.go(place, heading)
        assert_whole_on_paper(page, paper, place)
