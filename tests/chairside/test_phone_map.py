"""The map of the retina on the phone: what frames have shown, what is left, what to go back over."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from beside import go, measured_case
from playwright.sync_api import Locator, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from phone_page import Phone
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

CELLS = 0.02
"""What counting in the phone's cells may add or take from a fraction of a region of this size."""


def reference(eye: str, region: str, *fields: str) -> dict[str, Any]:
    """The exact coverage, by its command: the phone's cells are not asked."""
    command = [sys.executable, "-m", "chinrest.cli", "coverage", "--eye", eye, "--region", region, "--json"]
    wanted = [part for field in fields for part in ("--field", field)]
    done = subprocess.run([*command, *wanted], capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Server]:
    """One for all of these tests: each has a phone and a case of its own."""
    with Server(tmp_path_factory.mktemp("hub")) as started:
        yield started


@pytest.fixture
def phone(server: Server, contexts: Contexts) -> Phone:
    made = Phone(contexts.phone(viewport={"width": 360, "height": 740}), server)
    made.enrol("Phone 7")
    made.wait_for_guidance()
    return made


def open_map(phone: Phone, case: str, view: str, eye: str = "right") -> None:
    go(phone, f"#/case/{case}/map/{eye}/{view}", "Map of the retina")
    expect(picture(phone)).to_be_visible()


def picture(phone: Phone) -> Locator:
    return phone.page.get_by_role("img", name=re.compile("^Map of the"))


def shares(phone: Phone) -> list[float]:
    """Shown so far, when all is taken, of the retina."""
    told = phone.main.locator("dl[aria-label='How much is shown'] dd").all_inner_texts()
    return [int(re.match(r"(\d+) %", text)[1]) / 100 for text in told]  # type: ignore[index]  # no match fails


def take(phone: Phone, case: str) -> None:
    go(phone, f"#/case/{case}/frames/right", "Check off the frames")
    rows = phone.page.get_by_role("region", name="All frames of this list").get_by_role("heading")
    before = rows.inner_text()
    phone.button("Taken").click()
    expect(rows).not_to_have_text(before)


def test_it_fills_as_frames_are_taken_by_as_much_as_the_model_says(phone: Phone) -> None:
    case = measured_case(phone, "HM-1", optic="Narrow", asked=("Colour",))
    open_map(phone, case, "shown")
    phone.pick("How far out", "Posterior pole")
    assert shares(phone)[0] == 0
    expect(picture(phone).locator(".retina-shown")).to_have_count(0)
    take(phone, case)
    open_map(phone, case, "shown")
    expect(picture(phone).locator(".retina-shown")).to_have_count(1)
    expect(picture(phone)).to_have_accessible_name(re.compile("1 of 2 fields taken"))
    so_far, planned, whole = shares(phone)
    exact = reference("right", "posterior_pole", "32@0,0")
    assert abs(so_far - exact["region_fraction"]) < CELLS
    assert abs(whole - exact["retina_fraction"]) < CELLS
    both = reference("right", "posterior_pole", "32@0,0", "32@15,0")
    assert abs(planned - both["region_fraction"]) < CELLS


def test_a_frame_that_turned_out_bad_empties_it_again(phone: Phone) -> None:
    case = measured_case(phone, "HM-2", optic="Narrow", asked=("Colour",))
    take(phone, case)
    phone.page.get_by_role("region", name="All frames of this list").get_by_role("button").first.click()
    phone.button("Again").click()
    phone.page.get_by_role("dialog").get_by_role("listitem").first.get_by_role("button").click()
    open_map(phone, case, "shown")
    expect(picture(phone).locator(".retina-shown")).to_have_count(0)


@pytest.mark.parametrize(
    ("eyes", "eye", "left_side"), [("Right", "right", "Temporal"), ("Left", "left", "Nasal")]
)
def test_it_is_turned_as_the_photographer_faces_the_eye(
    phone: Phone, eyes: str, eye: str, left_side: str
) -> None:
    """The disc is nasal of the fovea; in images of a right eye it stands right of it (anatomy)."""
    case = measured_case(phone, "HM-3", optic="Narrow", asked=("Colour",), eyes=eyes)
    open_map(phone, case, "shown", eye)
    sides = phone.main.locator("figcaption span")
    expect(sides.first).to_have_text(left_side)
    disc, fovea = (
        picture(phone).locator(name).evaluate("e => { const b = e.getBBox(); return b.x + b.width / 2; }")
        for name in (".retina-disc", ".retina-fovea")
    )
    assert (disc > fovea) == (eye == "right")


def test_sectors_are_checked_off_and_gone_back_over(phone: Phone) -> None:
    case = measured_case(phone, "HM-4", optic="Wide", asked=("Colour",))
    take(phone, case)
    open_map(phone, case, "over")
    status = phone.main.get_by_role("status")
    expect(status.last).to_contain_text("sectors covered")
    phone.pick(re.compile("^Ring"), "Middle")
    phone.page.get_by_role("button", name=re.compile("^3 o'clock: ")).click()
    expect(phone.main).to_contain_text("3 o'clock, middle ring (nasal)")
    phone.button("Too dark").click()
    expect(phone.page.get_by_role("button", name="3 o'clock: too dark")).to_be_visible()
    expect(status.last).to_contain_text("1 too dark")
    (line,) = phone.bodies("sweep.sector")
    assert (line["eye"], line["sector"], line["state"]) == ("right", "mid-3", "dark")
    phone.reload()
    expect(phone.page.get_by_role("button", name="3 o'clock: too dark")).to_be_visible()
    phone.button("Covered").click()
    expect(phone.page.get_by_role("button", name="3 o'clock: covered")).to_be_visible()
    # both stay in the log
    assert [body["state"] for body in phone.bodies("sweep.sector")] == ["dark", "covered"]


def test_a_touch_on_the_map_opens_its_sector(phone: Phone) -> None:
    case = measured_case(phone, "HM-5", optic="Wide", asked=("Colour",))
    open_map(phone, case, "shown")
    box = picture(phone).bounding_box()
    assert box is not None
    # far out at the picture's right: nasal in a right eye, at three o'clock
    phone.page.mouse.click(box["x"] + box["width"] * 0.87, box["y"] + box["height"] * 0.5)
    expect(phone.main).to_contain_text("3 o'clock, far ring (nasal)")


def test_map_light_and_card_work_without_a_network(phone: Phone) -> None:
    case = measured_case(phone, "HM-7", optic="Wide", asked=("Colour",))
    phone.wait_for_shell()
    phone.context.set_offline(True)
    phone.reload()
    take(phone, case)
    open_map(phone, case, "shown")
    assert shares(phone)[0] > 0
    go(phone, f"#/light/{case}", "Outside light")
    expect(phone.page.get_by_role("region", name="Where it is held")).to_contain_text(
        "straight before the eye"
    )
    go(phone, f"#/card/look_up/{case}", "Card")
    phone.pick("The patient's language", re.compile("Arabic"))
    expect(phone.page.locator("blockquote")).to_have_attribute("dir", "rtl")
    phone.context.set_offline(False)


def test_everyone_can_use_it(phone: Phone) -> None:
    case = measured_case(phone, "HM-6", optic="Wide", asked=("Colour",))
    take(phone, case)
    for view in ("shown", "plan", "take", "over"):
        open_map(phone, case, view)
        phone.page.set_viewport_size({"width": 412, "height": 4000})
        in_both_themes(phone.page, f"map, {view}")
        phone.page.set_viewport_size({"width": 360, "height": 740})
        at_both_sizes(phone.page, f"map, {view}")
