"""A phone as outside light: where it is held, what it follows, what it refuses, and how often it blinks."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import Any

import pytest
from beside import go, measured_case
from playwright.sync_api import Locator, expect

from access import assert_no_sideways_scroll, at_both_sizes, in_both_themes
from browsing import Contexts
from page_line import inject
from phone_page import Phone
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

FACE = "--pd 62 --exophthalmometry deep-set --nose medium --brow medium --neck free --age-band 40-59"
MOST_FLASHES_PER_S = 3
"""WCAG 2.2, success criterion 2.3.1, from memory: no more than three flashes in any one-second period."""


def reference(optic: str, gaze: str) -> dict[str, Any]:
    """The model's own answer, by its command: the phone's kernel is not asked."""
    command = [
        sys.executable,
        "-m",
        "chinrest.cli",
        "fit",
        "--optic",
        optic,
        "--eye",
        "right",
        f"--gaze={gaze}",
    ]
    done = subprocess.run([*command, *FACE.split(), "--json"], capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def placed(optic: str, gaze: str) -> tuple[str, str]:
    """Where the reference hangs the light, as a helper reads it."""
    right, up = (round(cm) for cm in reference(optic, gaze)["outside_light_cm"])
    aside = f"{abs(right)} cm to the patient's {'right' if right > 0 else 'left'}"
    return aside, "level with the eye" if up == 0 else f"{abs(up)} cm {'up' if up > 0 else 'down'}"


def where(phone: Phone) -> Locator:
    return phone.page.get_by_role("region", name="Where it is held")


def look(phone: Phone, gaze: str) -> None:
    phone.pick("Where the eye looks", re.compile(f"^{gaze}"))


@pytest.fixture
def phone(server: Server, contexts: Contexts) -> Phone:
    made = Phone(contexts.phone(viewport={"width": 360, "height": 740}), server)
    made.enrol("Phone 7")
    made.wait_for_guidance()
    return made


def test_it_is_held_where_the_model_says_and_refused_where_it_would_be_hidden(phone: Phone) -> None:
    case = measured_case(phone, "HL-1")
    go(phone, f"#/light/{case}", "Outside light")
    expect(where(phone)).to_contain_text("straight before the eye")
    look(phone, "20° to the patient's left")
    for words in placed("wide", "20,0"):
        expect(where(phone)).to_contain_text(words)
    look(phone, "15° up")
    expect(where(phone)).to_contain_text(placed("wide", "0,15")[1])
    assert reference("wide", "-15,0")["outside_light_refused"]["code"] == "hidden_by_instrument"
    look(phone, "15° to the patient's right")
    expect(where(phone).get_by_role("alert")).to_contain_text("No outside light for this gaze")
    expect(phone.button("Show the light")).to_be_disabled()


def test_an_eye_that_sees_no_light_gets_none(phone: Phone) -> None:
    case = measured_case(phone, "HL-2", fellow_sees="No")
    go(phone, f"#/light/{case}", "Outside light")
    expect(where(phone).get_by_role("alert")).to_be_visible()
    expect(phone.button("Show the light")).to_be_disabled()


def test_a_second_phone_follows_the_frames_of_the_case(
    phone: Phone, server: Server, contexts: Contexts
) -> None:
    case = measured_case(phone, "HL-3", optic="Narrow", asked=("Colour",))
    helper = Phone(contexts.phone(), server)
    helper.enrol("Phone 8")
    helper.wait_for_guidance()
    phone.wait_until_sent()
    helper.button("Send now").click()
    # with one case open at the site, that is the one that is meant
    go(helper, "#/light", "Outside light")
    expect(helper.page).to_have_url(re.compile(f"#/light/{case}$"))
    helper.button("Show the light").click()
    held = helper.page.get_by_role("status").first
    expect(held).to_contain_text("straight before the eye")
    expect(helper.page.get_by_role("img", name="A blinking dot of light")).to_be_visible()
    go(phone, f"#/case/{case}/position/right", re.compile("turn|position", re.IGNORECASE))
    phone.pick("Where the eye looks, from the optic", re.compile("^15° to the patient's left"))
    phone.button("Use this turn").click()
    expect(phone.page.get_by_role("region", name="How it was")).to_be_visible()
    phone.wait_until_sent()
    expect(held).to_contain_text(placed("narrow", "15,0")[0], timeout=20_000)
    expect(helper.page.get_by_text("Follows HL-3")).to_be_visible()


def test_the_way_out_is_kept_on_it_and_belongs_to_the_case(phone: Phone) -> None:
    case = measured_case(phone, "HL-4")
    go(phone, f"#/light/{case}", "Outside light")
    phone.button("Show the light").click()
    phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Emergency").click()
    sheet = phone.page.get_by_role("dialog", name="Emergency")
    expect(sheet).to_contain_text("Draw back.")
    # the page stands before its line is written
    expect(sheet.get_by_text("since opened")).to_be_visible()
    phone.page.wait_for_timeout(500)
    ours = [e for e in map(envelope, phone.own_raws()) if e["case"] == case]
    assert ours[-1]["type"] == "reaction.started", [e["type"] for e in ours]
    phone.page.keyboard.press("Escape")
    expect(sheet).to_have_count(0)
    expect(phone.page.get_by_role("img", name="A blinking dot of light")).to_be_visible()


def test_the_dyes_clock_is_kept_on_it(phone: Phone) -> None:
    case = measured_case(phone, "HL-7")
    inject(phone, "fluorescein", ago_s=65)
    go(phone, f"#/light/{case}", "Outside light")
    phone.button("Show the light").click()
    timer = phone.page.get_by_role("timer")
    expect(timer).to_contain_text(re.compile(r"\b1:(0[5-9]|[1-5]\d)\b"))
    first = timer.inner_text()
    expect(timer).not_to_have_text(first)  # it runs
    expect(phone.page.get_by_role("status").first).to_contain_text("Hold the dot")


def envelope(raw: bytes) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(raw.split(b"\t")[0])
    return read


BLINKS = """dot => {
  const style = getComputedStyle(dot);
  return style.animationName === "none" ? 0 : 1 / parseFloat(style.animationDuration);
}"""


def test_it_never_blinks_faster_than_may_be_borne(phone: Phone) -> None:
    go(phone, "#/light/pick", "Outside light")
    rates = phone.page.get_by_role("group", name="Blinks").get_by_role("radio")
    assert rates.count() >= 3
    seen = []
    for i in range(rates.count()):
        phone.page.get_by_role("group", name="Blinks").get_by_role("radio").nth(i).check()
        phone.button("Show a light without a case").click()
        dot = phone.page.get_by_role("img", name=re.compile("dot of light"))
        seen.append(dot.evaluate(BLINKS))
        phone.button("Set up").click()
    assert min(seen) == 0
    assert 0 < max(seen) <= MOST_FLASHES_PER_S


def test_it_is_steady_for_whom_flashing_light_can_harm(phone: Phone) -> None:
    case = measured_case(phone, "HL-5", flags=("Flashing light",))
    go(phone, f"#/light/{case}", "Outside light")
    expect(phone.page.get_by_text("Steady for this patient")).to_be_visible()
    expect(phone.page.get_by_role("group", name="Blinks")).to_have_count(0)
    phone.button("Show the light").click()
    assert phone.page.get_by_role("img", name="A steady dot of light").evaluate(BLINKS) == 0


def test_it_begins_steady_where_the_phone_asks_for_less_motion(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(reduced_motion="reduce"), server)
    phone.enrol("Phone 7")
    go(phone, "#/light/pick", "Outside light")
    phone.button("Show a light without a case").click()
    assert phone.page.get_by_role("img", name="A steady dot of light").evaluate(BLINKS) == 0


def test_everyone_can_use_it(phone: Phone) -> None:
    case = measured_case(phone, "HL-6")
    go(phone, f"#/light/{case}", "Outside light")
    look(phone, "20° to the patient's left")
    phone.pick("Blinks", "Steady")
    at_both_sizes(phone.page, "light, set up")
    phone.page.set_viewport_size({"width": 412, "height": 4000})
    in_both_themes(phone.page, "light, set up")
    phone.page.set_viewport_size({"width": 360, "height": 740})
    phone.button("Show the light").click()
    expect(phone.page.get_by_role("img", name="A steady dot of light")).to_be_visible()
    in_both_themes(phone.page, "the light")
    at_both_sizes(phone.page, "the light")
    phone.page.evaluate("document.documentElement.dataset.text = 'largest'")
    assert_no_sideways_scroll(phone.page, "the light")
    expect(
        phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Emergency")
    ).to_be_in_viewport()
