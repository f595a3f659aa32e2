"""Seconds after the dye at each line of a case, by the clocks that its lines tell of.

The rule itself is held by `tests/model/test_series_clock.py`; here it is which readings it is asked with.
"""

import base64
from typing import Any

import msgspec
import pytest
from invented import START, Phone, digest, kept

from chinrest.log.amendments import stand
from chinrest.log.dye_clock import SinceDye, since_dyes
from chinrest.log.line import Line

HOUR_MS = 3_600_000
SALT = base64.b64encode(digest("salt")[:16]).decode()


class TwoClocks:
    """A phone whose time of day (`at`) and count (`mono`) are moved apart on purpose."""

    def __init__(self, name: str = "phone", offset_ms: int | None = 0) -> None:
        self.phone = Phone(name)
        self.at, self.mono, self.boot, self.offset_ms = START, 50_000, "first", offset_ms

    def inject(self, dye: str = "fluorescein", **more: Any) -> Line:
        """Pressed two seconds before the line is written."""
        pressed = {"pressed_at": self.at - 2000, "pressed_mono": self.mono - 2000}
        return self.line("dye.injected", dye=dye, arm="left", **{"route": "intravenous", **pressed, **more})

    def after(self, seconds: float, *, moved_ms: int = 0, restart: bool = False) -> Line:
        """A line so much later; the time of day was moved in between, or the app started anew."""
        ms = round(seconds * 1000)
        self.at += ms + moved_ms
        self.mono, self.boot = (400, "second") if restart else (self.mono + ms, self.boot)
        return self.line("comfort.noted", score=1, bothers=[])

    def line(self, type_: str, **fields: Any) -> Line:
        body = msgspec.json.encode({"salt": SALT, **fields})
        return self.phone.write_raw(type_, body, "c1", at=self.at, mono=self.mono, boot=self.boot)


def at_line(line: Line, *phones: TwoClocks) -> list[SinceDye]:
    lines = [kept(each, offset_ms=one.offset_ms) for one in phones for each in one.phone.lines]
    return since_dyes(stand(lines))[line.envelope.id]


def test_it_runs_from_the_press_and_not_from_its_line_or_before_it() -> None:
    phone = TwoClocks()
    before = phone.after(0)
    injected = phone.inject()
    later = phone.after(240)
    assert at_line(before, phone) == []
    assert [since.seconds for since in at_line(injected, phone)] == [2.0]
    [since] = at_line(later, phone)
    assert (since.seconds, since.by, since.agreed) == (242.0, "both", False)


@pytest.mark.parametrize("pressed", [{"pressed_at": 10**400}, {"pressed_mono": -(10**400)}])
def test_a_press_at_a_time_that_no_clock_says_times_nothing(pressed: dict[str, int]) -> None:
    """JSON has whole numbers of any length, and the case must stay readable."""
    phone = TwoClocks()
    phone.inject(**pressed)
    phone.inject("indocyanine_green")
    [since] = at_line(phone.after(240), phone)
    assert (since.dye, since.seconds) == ("indocyanine_green", 242.0)


def test_a_clock_that_was_set_back_does_not_move_it() -> None:
    phone = TwoClocks()
    phone.inject()
    phone.after(60)
    [since] = at_line(phone.after(60, moved_ms=-HOUR_MS), phone)
    assert (since.seconds, since.by) == (122.0, "mono")
    assert since.wall_s == 122.0 - 3600.0


def test_after_a_new_start_the_time_of_day_stands_alone() -> None:
    phone = TwoClocks()
    phone.inject()
    phone.after(60)
    [since] = at_line(phone.after(30, restart=True), phone)
    assert (since.seconds, since.by) == (92.0, "wall")


@pytest.mark.parametrize("moved_ms", [HOUR_MS, -HOUR_MS])
def test_where_both_failed_it_is_uncertain_and_says_what_each_says(moved_ms: int) -> None:
    phone = TwoClocks()
    phone.inject()
    phone.after(60)
    [since] = at_line(phone.after(30, moved_ms=moved_ms, restart=True), phone)
    assert (since.seconds, since.by) == (None, "neither")
    assert since.wall_s == 92.0 + moved_ms / 1000
    assert since.mono_s == 62.0  # the least that it can be
    # until the team agrees on a time: it counts from there
    agreed = phone.line("clock.uncertain", dye="fluorescein", wall_s=1.0, agreed_s=95.0, by="team")
    assert [one.seconds for one in at_line(agreed, phone)] == [95.0]
    [since] = at_line(phone.after(10), phone)
    assert (since.seconds, since.by, since.agreed) == (105.0, "both", True)


def test_what_the_phone_itself_found_uncertain_is_not_made_certain_here() -> None:
    phone = TwoClocks()
    phone.inject()
    phone.after(5)
    phone.line("clock.uncertain", dye="fluorescein", wall_s=7.0, mono_s=3.0)
    [since] = at_line(phone.after(5), phone)
    assert (since.seconds, since.by) == (None, "neither")


def test_two_phones_are_compared_by_the_servers_clock_or_not_at_all() -> None:
    one, other = TwoClocks(), TwoClocks("other", offset_ms=90_000)
    one.inject()
    other.at += 355_000  # 90 s of it are that its clock is ahead
    line = other.after(0)
    [since] = at_line(line, one, other)
    assert (since.seconds, since.by, since.mono_s) == (267.0, "wall", None)
    other.offset_ms = None
    [since] = at_line(line, one, other)
    assert (since.seconds, since.by) == (None, "neither")
    # nor where the phone that timed the dye has a clock that was set since
    other.offset_ms = 90_000
    one.after(10, moved_ms=-5_000)
    [since] = at_line(line, one, other)
    assert since.seconds is None


def test_each_dye_has_its_own_drunk_ones_too_and_one_given_twice_counts_from_the_first() -> None:
    phone = TwoClocks()
    phone.inject(route="oral")
    phone.after(100)
    phone.inject("indocyanine_green")
    phone.inject()
    found = at_line(phone.after(20), phone)
    assert [(since.dye, since.seconds) for since in found] == [
        ("fluorescein", 122.0),
        ("indocyanine_green", 22.0),
    ]


def test_an_injection_that_was_taken_back_starts_no_clock_and_a_corrected_one_its_own() -> None:
    phone = TwoClocks()
    wrong = phone.inject()
    phone.line("line.amended", line=wrong.envelope.id, body=None, why="not given")
    assert at_line(phone.after(5), phone) == []


def test_long_cases_are_thinned_to_the_same_answer() -> None:
    """Every line of an hour, with a clock that drifts by 20 ms a minute and once is set back."""
    phone = TwoClocks()
    phone.inject()
    for minute in range(60):
        line = phone.after(60, moved_ms=-1_800_000 if minute == 30 else 20)
    [since] = at_line(line, phone)
    assert since.by == "mono"
    assert since.seconds == pytest.approx(3602.0, abs=1.3)
