"""The timed series on the phone: its clock outlives what happens to a phone, and no frame is lost.

The case is invented. The frames' times are those of the demo's protocol, as the pack's compiler laid them;
the clock that the phone's is held against is the machine's, which no test sets.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, ViewportSize, expect

import page_clock
from access import at_both_sizes, in_both_themes
from browsing import Contexts
from page_clock import PageClock
from page_line import inject
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

WITHIN_S = 0.2
ROUNDED_S = 0.05  # a line has tenths of a second
SPIES = """(() => {
  if (location.protocol === "about:") return;
  window.given = { sound: 0, shaken: 0, said: [] };
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...when) { window.given.sound += 1; start.apply(this, when); };
  Navigator.prototype.vibrate = () => { window.given.shaken += 1; return true; };
  speechSynthesis.speak = (spoken) => window.given.said.push(spoken.text);
})()"""


class Series:
    """A case whose dye is in, on a phone whose clocks the test moves."""

    def __init__(self, contexts: Contexts, server: Server) -> None:
        context = contexts.phone()
        page_clock.install(context)
        context.add_init_script(SPIES)
        self.phone = Phone(context, server)
        self.page = self.phone.page
        self.clock = PageClock(self.page)
        self.case = ""
        self.given_ms = 0.0

    def begin(self, *, ago_s: float, eyes: str = "Both") -> Series:
        """The dye was given `ago_s` seconds ago; the series is on the screen."""
        self.phone.enrol()
        self.phone.wait_for_guidance()
        self.phone.begin("HR-7301", eyes=eyes, asked=("Fluorescein",))
        self.case = self.phone.case_id
        self.go("optic")
        Visit(self.phone).choose_optic()
        self.given_ms = self.clock.true_ms() - ago_s * 1000
        inject(self.phone, "fluorescein", ago_s=ago_s)
        self.go("series")
        expect(self.timer).to_be_visible()
        return self

    def go(self, screen: str) -> None:
        case = self.case or self.phone.case_id
        self.page.evaluate("to => { location.hash = to; }", f"#/case/{case}/{screen}")

    @property
    def true_s(self) -> float:
        return (self.clock.true_ms() - self.given_ms) / 1000

    @property
    def timer(self) -> Locator:
        return self.page.locator("main").get_by_role("timer")

    @property
    def now(self) -> Locator:
        return self.page.get_by_role("region", name="This frame")

    def shows_the_truth(self) -> None:
        """The clock on the screen, in whole seconds. Both clocks are read in one breath, and more than once:
        on a busy machine a picture may be drawn late, which is not a clock that is wrong."""
        apart: list[float] = []
        for _ in range(10):
            text, true_ms = self.timer.evaluate(
                """(timer) => [timer.textContent,
                  window.realNow() + Number(sessionStorage.getItem("passed") ?? 0)]"""
            )
            minutes, seconds = text.split(":")
            apart.append((true_ms - self.given_ms) / 1000 - (int(minutes) * 60 + int(seconds)))
            if -WITHIN_S <= apart[-1] <= 1 + WITHIN_S:
                return
            self.page.wait_for_timeout(150)
        raise AssertionError(f"the clock on the screen is off by {apart} s")

    def bring(self) -> None:
        """The instrument to the frame that comes, where that asks to draw back."""
        moved = self.now.get_by_role("button", name="Moved, and back in place")
        if moved.is_visible():
            moved.click()

    def take(self) -> tuple[float | None, float]:
        """The frame that comes, as taken: its second in the log, and by the clock that nobody sets."""
        self.bring()
        before = len(self.phone.bodies("frame.taken"))
        taken = self.now.get_by_role("button", name="Taken", exact=True)
        expect(taken).to_be_visible()
        true_ms = pressed_at(taken)
        expect_lines(self.phone, "frame.taken", before + 1)
        return self.phone.bodies("frame.taken")[-1]["dye_s"], (true_ms - self.given_ms) / 1000

    def answered(self) -> str:
        frames = self.page.get_by_role("region", name="All frames of the series")
        return frames.get_by_role("heading").inner_text()


def pressed_at(button: Locator) -> float:
    """Pressed inside the page, so that the driver's own time is no part of it; when it was, in truth."""
    true_ms: float = button.evaluate(
        """(button) => { button.click();
          return window.realNow() + Number(sessionStorage.getItem("passed") ?? 0); }"""
    )
    return true_ms


def expect_lines(phone: Phone, type_: str, count: int) -> None:
    for _ in range(50):
        if len(phone.bodies(type_)) >= count:
            break
        phone.page.wait_for_timeout(50)
    assert len(phone.bodies(type_)) == count


def near(found: float | None, true: float) -> None:
    assert found is not None
    assert abs(found - true) <= WITHIN_S + ROUNDED_S, f"{found} s on the phone, {true:.2f} s in truth"


HAPPENS: dict[str, Callable[[Series], object]] = {
    "reloaded": lambda series: series.phone.reload(),
    "hidden for two minutes": lambda series: series.clock.hidden_for(120),
    "asleep for two minutes": lambda series: slept(series, 120),
    "clock an hour on": lambda series: series.clock.is_set(3600),
    "clock an hour back": lambda series: series.clock.is_set(-3600),
}


def slept(series: Series, seconds: float) -> None:
    series.clock.slept_for(seconds)
    series.given_ms -= seconds * 1000  # it did go by, though nothing here counted it


@pytest.mark.parametrize("what", HAPPENS)
def test_one_thing_alone_leaves_the_clock_right_and_every_frame(
    what: str, server: Server, contexts: Contexts
) -> None:
    series = Series(contexts, server).begin(ago_s=70)
    near(*series.take())
    assert series.answered() == "1 of 8 answered"
    HAPPENS[what](series)
    expect(series.timer).to_be_visible()
    series.clock.passes(max(0.0, 125 - series.true_s))
    series.page.wait_for_timeout(600)
    series.shows_the_truth()
    assert "uncertain" not in series.page.locator("main").inner_text()
    near(*series.take())
    assert len(series.phone.bodies("frame.taken")) == 2
    assert series.phone.bodies("clock.uncertain") == []
    expect(series.page.get_by_role("heading", name="2 of 8 answered")).to_be_visible()


@pytest.mark.parametrize("hours", [1, -1])
def test_reloaded_and_set_together_asks_the_team_and_loses_nothing(
    hours: int, server: Server, contexts: Contexts
) -> None:
    series = Series(contexts, server).begin(ago_s=70)
    series.take()
    series.clock.is_set(hours * 3600)
    series.phone.reload()
    asked = series.page.get_by_role("alert", name=re.compile("clock uncertain"))
    expect(asked).to_be_visible()
    true_s = series.true_s
    expect_lines(series.phone, "clock.uncertain", 1)
    (said,) = series.phone.bodies("clock.uncertain")
    assert said["wall_s"] == pytest.approx(true_s + hours * 3600, abs=2)
    assert true_s - 4 <= said["mono_s"] <= true_s + 1  # what ran: without the moment in which it was closed
    assert said["agreed_s"] is None
    facts = asked.locator("dd").all_inner_texts()
    assert len(facts) == 2
    assert all(re.search(r"\d:\d\d", fact) for fact in facts), facts

    # a frame can be taken all the same: it is kept, and says of no second what nobody knows
    dye_s, _ = series.take()
    assert dye_s is None
    assert series.answered() == "2 of 8 answered"

    asked.get_by_role("radio", name="Another time").check()
    asked.get_by_label("Who says so").fill("nurse")
    for key in "12":
        asked.get_by_role("button", name=key, exact=True).click()
    tapped_ms = pressed_at(asked.get_by_role("button", name="The clock goes on from this"))
    expect(asked).to_have_count(0)
    series.given_ms = tapped_ms - 12 * 60_000
    agreed = series.phone.bodies("clock.uncertain")[-1]
    assert (agreed["agreed_s"], agreed["by"]) == (720, "nurse")
    series.phone.reload()  # the agreed time is a new beginning, and outlives what one clock alone can do
    expect(series.timer).to_be_visible()
    series.page.wait_for_timeout(500)
    series.shows_the_truth()
    assert series.answered() == "2 of 8 answered"


def test_a_missed_frame_lays_what_is_left_anew(server: Server, contexts: Contexts) -> None:
    """With 20 s to the other eye and 4 s a frame, both mid frames are had by 240 s only if begun by 212 s."""
    series = Series(contexts, server).begin(ago_s=219)
    crowded = series.page.locator(".notice", has_text="Not all fit any more")
    expect(crowded).to_contain_text("Right eye, straight (needed)")
    expect(series.now).to_contain_text("Left eye")
    answered = 0
    while "Left eye" in series.now.inner_text():  # all that keeps the hands from the right eye
        answered += 1
        series.now.get_by_role("button", name="Missed").click()
        expect_lines(series.phone, "frame.taken", answered)
        series.page.wait_for_timeout(300)
    assert {body["outcome"] for body in series.phone.bodies("frame.taken")} == {"missed"}
    expect(crowded).to_have_count(0)
    expect(series.now).to_contain_text("Right eye")
    mid = series.page.get_by_role("button", name=re.compile(r"^Right eye, straight About [34]:\d\d, needed"))
    expect(mid).to_have_count(1)


def test_the_burst_is_one_press_and_looked_through_after(server: Server, contexts: Contexts) -> None:
    series = Series(contexts, server).begin(ago_s=5)
    expect(series.now).to_contain_text("Right eye")
    series.now.get_by_role("button", name="Start the burst").click()
    expect(series.page.get_by_role("region", name="The burst runs")).to_be_visible()
    series.phone.reload()
    expect(series.page.get_by_role("region", name="The burst runs")).to_be_visible()
    series.clock.passes(45)  # its window is over: the hands are on the instrument, so nobody has to press
    expect(series.now).to_contain_text("Left eye")
    series.page.get_by_role("button", name=re.compile("^Look through the burst")).click()
    sheet = series.page.get_by_role("dialog", name="Look through the burst")
    for number in (3, 7):
        sheet.get_by_role("button", name=f"Frame {number}: good").click()
    sheet.get_by_role("button", name="37 good, 2 bad").click()
    expect(sheet).to_have_count(0)
    (looked,) = series.phone.bodies("series.looked")
    assert (looked["shots"], looked["bad"]) == (39, [3, 7])
    (frame,) = series.phone.bodies("frame.taken")
    assert (frame["outcome"], frame["burst"]) == ("taken", looked["burst"])
    (laid,) = series.phone.bodies("series.laid")
    assert laid["eyes"] == ["right", "left"]


def the_screens(series: Series, check: Callable[[Page, str], None]) -> None:
    page = series.page
    check(page, "series: the burst comes")
    series.now.get_by_role("button", name="Start the burst").click()
    expect(page.get_by_role("region", name="The burst runs")).to_be_visible()
    check(page, "series: the burst runs")
    series.clock.passes(45)
    expect(series.now).to_contain_text("Draw back first")
    expect(page.get_by_role("img", name=re.compile("^Left eye"))).to_be_visible()
    check(page, "series: draw back first")
    page.get_by_role("button", name=re.compile("^Look through the burst")).click()
    expect(page.get_by_role("dialog")).to_be_visible()
    check(page, "series: the burst looked through")
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Stop the series").click()
    expect(page.get_by_role("dialog")).to_be_visible()
    check(page, "series: why stop")
    page.keyboard.press("Escape")
    series.bring()
    series.now.get_by_role("button", name="Again", exact=True).click()
    check(page, "series: why again")
    pressed = series.phone.bodies("frame.taken")[-1]
    assert (pressed["outcome"], pressed["reason"]) == ("again", "")  # the press is what counts
    page.get_by_role("dialog").get_by_role("button", name="Blink").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    again = series.phone.stands("frame.taken")[-1]
    assert (again["outcome"], again["reason"], again["eye"]) == ("again", "blink", "left")
    series.clock.passes(25)
    expect(series.now).to_contain_text("Waits for")
    check(page, "series: a frame waits")
    series.phone.home()
    strip = page.get_by_role("region", name="The dye's clock")
    expect(strip.get_by_role("link", name="Go to it")).to_be_visible()
    check(page, "series: a frame waits, at home")
    series.clock.is_set(3600)
    series.phone.reload()
    series.go("series")
    expect(page.get_by_role("alert", name=re.compile("clock uncertain"))).to_be_visible()
    check(page, "series: clock uncertain")


@pytest.mark.parametrize(
    ("check", "size"),
    [
        pytest.param(in_both_themes, {"width": 412, "height": 4000}, id="axe"),
        pytest.param(at_both_sizes, {"width": 360, "height": 740}, id="360px-200pc"),
    ],
)
def test_everyone_can_use_the_series(
    check: Callable[[Page, str], None], size: ViewportSize, server: Server, contexts: Contexts
) -> None:
    series = Series(contexts, server).begin(ago_s=5)
    series.page.set_viewport_size(size)
    the_screens(series, check)


def test_a_stopped_series_calls_nobody_keeps_its_clock_and_can_go_on(
    server: Server, contexts: Contexts
) -> None:
    series = Series(contexts, server).begin(ago_s=121)
    series.page.get_by_role("button", name="Stop the series").click()
    series.page.get_by_role("button", name="The patient cannot go on").click()
    expect(series.page.get_by_role("heading", name="The series is stopped")).to_be_visible()
    series.clock.passes(25)
    series.page.wait_for_timeout(600)
    assert given(series)["said"] == []
    series.shows_the_truth()
    series.page.get_by_role("button", name="Go on with the series").click()
    expect(series.now).to_contain_text("Waits for")
    assert len(series.phone.bodies("series.laid")) == 1


def given(series: Series) -> dict[str, Any]:
    found: dict[str, Any] = series.page.evaluate("() => window.given")
    return found


def test_a_late_frame_calls_from_another_screen_and_leads_back(server: Server, contexts: Contexts) -> None:
    series = Series(contexts, server).begin(ago_s=121)
    series.go("step")
    strip = series.page.get_by_role("region", name="The dye's clock")
    expect(strip).to_contain_text(re.compile(r"2:0\d"))
    expect(strip.get_by_role("alert")).to_be_empty()
    series.page.locator("h1").click()  # a touch, after which a browser lets a page be heard
    series.clock.passes(25)
    expect(strip.get_by_role("alert")).to_contain_text("A frame waits")
    series.page.wait_for_function("() => window.given.said.some((text) => text.includes('waiting'))")
    called = given(series)
    assert called["sound"] == 3
    assert called["shaken"] == 1
    series.phone.home()
    expect(strip).to_contain_text("HR-7301")
    expect(strip).to_contain_text("Waits for")
    strip.get_by_role("link", name="Go to it").click()
    expect(series.now).to_contain_text("Waits for")


def test_sound_vibration_and_speech_count_down_and_can_each_be_off(
    server: Server, contexts: Contexts
) -> None:
    series = Series(contexts, server).begin(ago_s=85, eyes="Right")
    series.page.locator("h1").click()
    series.clock.passes(118.5 - series.true_s)
    series.page.wait_for_function("() => window.given.said.some((text) => text.endsWith('now'))")
    called = given(series)
    assert called["said"][-2:] == ["1", "Right eye, straight, now"]
    assert called["shaken"] == len(called["said"])  # each word with its shake, and its tone or two
    assert called["sound"] == len(called["said"]) + 1

    series.page.evaluate("location.hash = '#/settings'")
    for legend in ("Sound before a frame", "Vibration before a frame", "Spoken countdown"):
        series.page.get_by_role("group", name=legend).get_by_role("radio", name="Off").check()
    expect(series.page.get_by_text("Nothing will call you")).to_be_visible()
    series.page.evaluate("() => { window.given = { sound: 0, shaken: 0, said: [] }; }")
    series.clock.passes(25)
    strip = series.page.get_by_role("region", name="The dye's clock")
    expect(strip.get_by_role("alert")).to_contain_text("A frame waits")  # the screen still says it
    series.page.wait_for_timeout(600)
    assert given(series) == {"sound": 0, "shaken": 0, "said": []}
    series.phone.reload()
    assert (
        series.page.get_by_role("group", name="Spoken countdown")
        .get_by_role("radio", name="Off")
        .is_checked()
    )
