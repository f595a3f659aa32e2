"""The dye's clock on a simulated phone, whose true time the test knows: right, or uncertain."""

from dataclasses import dataclass, field

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chinrest.model.series.clock import UNSEEN_MS, Anchor, Reading, seconds_since

RIGHT_S = 0.2
HOUR_S = 3600.0


@dataclass
class Phone:
    """Two clocks, one truth. All in seconds; readings are whole ms, as browsers give them."""

    true: float = 0.0
    wall_off: float = 1_760_000_000.0
    mono: float = 12.0
    boot: int = 0
    hidden: bool = False
    readings: list[Reading] = field(default_factory=list)

    def read(self) -> None:
        at = round((self.true + self.wall_off) * 1000)
        self.readings.append(
            Reading(at=at, mono=round(self.mono * 1000), boot=str(self.boot), hidden=self.hidden)
        )
        self.hidden = False

    def press(self) -> Anchor:
        self.read()
        first = self.readings[-1]
        self.pressed = self.true
        return Anchor(at=first.at, mono=first.mono, boot=first.boot)

    def runs(self, seconds: float, beat_s: float = 5.0) -> None:
        """In view, with a reading every few seconds."""
        left = seconds
        while left > 0:
            step = min(beat_s, left)
            self.true, self.mono, left = self.true + step, self.mono + step, left - step
            self.read()

    def away(self, seconds: float, asleep: float = 0.0) -> None:
        """Hidden; for a part of it the count stands still."""
        self.hidden = True
        self.true, self.mono = self.true + seconds, self.mono + seconds - asleep
        self.read()

    def set_clock(self, by: float) -> None:
        self.wall_off += by

    def reload(self, closed: float = 3.0) -> None:
        self.true, self.boot, self.mono = self.true + closed, self.boot + 1, 0.4
        self.read()

    @property
    def since(self) -> float:
        return self.true - self.pressed


def test_nothing_happens() -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(600)
    answer = seconds_since(anchor, phone.readings)
    assert (answer.state, answer.by) == ("certain", "both")
    assert answer.seconds == pytest.approx(phone.since, abs=0.002)


@pytest.mark.parametrize("by", [HOUR_S, -HOUR_S, 90.0, -90.0, 1e7, 0.5])
def test_a_clock_set_in_view_changes_nothing(by: float) -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(100)
    phone.set_clock(by)
    phone.runs(100)
    answer = seconds_since(anchor, phone.readings)
    assert answer.state == "certain"
    assert answer.seconds == pytest.approx(phone.since, abs=0.002)


@pytest.mark.parametrize("closed", [0.5, 3.0, 600.0, 1400.0])
def test_a_reload_counts_by_the_wall_clock(closed: float) -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(100)
    phone.reload(closed)
    phone.runs(100)
    answer = seconds_since(anchor, phone.readings)
    assert (answer.state, answer.by) == ("certain", "wall")
    assert answer.seconds == pytest.approx(phone.since, abs=0.002)


@pytest.mark.parametrize("asleep", [0.0, 60.0, 119.5])
def test_hidden_for_two_minutes(asleep: float) -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(30)
    phone.away(120, asleep)
    phone.runs(10)
    answer = seconds_since(anchor, phone.readings)
    assert answer.state == "certain"
    assert answer.seconds == pytest.approx(phone.since, abs=0.002)


@pytest.mark.parametrize("by", [HOUR_S, -HOUR_S])
@pytest.mark.parametrize("when", ["before", "during", "after"])
def test_reload_and_moved_clock_together_are_uncertain(by: float, when: str) -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(50)
    if when == "before":
        phone.set_clock(by)
        phone.runs(20)
    if when == "during":
        phone.set_clock(by)
    phone.reload()
    phone.runs(20)
    if when == "after":
        phone.set_clock(by)
        phone.runs(20)
    answer = seconds_since(anchor, phone.readings)
    assert (answer.state, answer.by, answer.seconds) == ("uncertain", "neither", None)
    assert answer.wall_s == pytest.approx(phone.since + by, abs=0.002)
    assert answer.mono_s <= phone.since + 0.002, "the count never says more than ran"


def test_the_team_agrees_and_the_clock_goes_on() -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(50)
    phone.set_clock(HOUR_S)
    phone.reload()
    assert seconds_since(anchor, phone.readings).state == "uncertain"
    last = phone.readings[-1]
    agreed = Anchor(at=last.at, mono=last.mono, boot=last.boot, seconds=57.0)
    phone.runs(20)
    answer = seconds_since(agreed, phone.readings)
    assert (answer.state, answer.by) == ("certain", "both")
    assert answer.seconds == pytest.approx(77.0, abs=0.002)


def test_small_steps_of_the_network_are_taken_out() -> None:
    """The phone's clock is set right by 0.6 s in view, and the app is started anew later: still exact."""
    phone = Phone()
    anchor = phone.press()
    phone.runs(50)
    phone.set_clock(0.6)
    phone.runs(50)
    phone.reload()
    phone.runs(50)
    answer = seconds_since(anchor, phone.readings)
    assert answer.state == "certain"
    assert answer.seconds == pytest.approx(phone.since, abs=0.002)


def test_another_phones_press_is_uncertain() -> None:
    phone = Phone()
    anchor = phone.press()
    phone.runs(10)
    foreign = Anchor(at=anchor.at - 4_000, mono=1.0, boot="theirs", foreign=True)
    assert seconds_since(foreign, phone.readings).state == "uncertain"


def test_what_was_read_before_the_press_is_left_out() -> None:
    phone = Phone()
    phone.runs(20)
    phone.reload()
    phone.set_clock(-HOUR_S)
    phone.runs(20)
    anchor = phone.press()
    phone.runs(20)
    assert seconds_since(anchor, phone.readings).by == "both"


def test_no_reading_is_no_time() -> None:
    with pytest.raises(ValueError, match="no reading"):
        seconds_since(Anchor(at=0, mono=0, boot="a"), [])


steps = st.one_of(
    st.tuples(st.just("runs"), st.floats(0.5, 200)),
    st.tuples(st.just("away"), st.floats(1, 300)),
    st.tuples(st.just("sleep"), st.floats(2, 1400)),
    st.tuples(st.just("set"), st.one_of(st.floats(-1e5, -2), st.floats(2, 1e5))),
    st.tuples(st.just("reload"), st.floats(0.2, 1400)),
)


@settings(max_examples=600, deadline=None)
@given(st.lists(steps, max_size=8))
def test_one_witness_failing_is_always_survived(story: list[tuple[str, float]]) -> None:
    """Only the wall clock or only the count fails, and a set clock is seen in view: always certain and right.
    Both fail: never certain and wrong where the phone could see it."""
    phone = Phone()
    anchor = phone.press()
    failed = set()
    for what, size in story:
        if what == "runs":
            phone.runs(size, 20.0)
        elif what == "away":
            phone.away(size)
        elif what == "sleep":
            phone.away(size + 0.5, size)
            failed.add("mono")
        elif what == "set":
            phone.set_clock(size)
            phone.runs(1.0)
            failed.add("wall")
        else:
            phone.reload(size)
            failed.add("mono")
    phone.runs(1.0)
    answer = seconds_since(anchor, phone.readings)
    if len(failed) < 2:
        assert answer.seconds is not None
        assert abs(answer.seconds - phone.since) <= RIGHT_S
    else:
        assert answer.state == "uncertain"
        assert answer.seconds is None


@settings(max_examples=300, deadline=None)
@given(st.floats(1.2, 6000), st.booleans(), st.floats(0.5, 600), st.booleans())
def test_a_clock_set_out_of_sight(by: float, back: bool, away: float, reload: bool) -> None:
    """Set while hidden or closed: caught where it leapt far, or back beyond what it had shown; a small leap
    is what this cannot see, and then the answer says that the wall clock alone vouches."""
    phone = Phone()
    anchor = phone.press()
    phone.runs(60)
    phone.set_clock(-by if back else by)
    phone.reload(away) if reload else phone.away(away)
    phone.runs(5)
    answer = seconds_since(anchor, phone.readings)
    wrong = answer.seconds is not None and abs(answer.seconds - phone.since) > RIGHT_S
    if wrong:
        assert answer.by == "wall"
        shown = by + (away if reload else 0.0)
        assert by <= away + RIGHT_S + 0.01 if back else shown < UNSEEN_MS / 1000 + 0.01
    if back and not reload:
        assert not wrong, "a wall clock that falls behind the count of one start is always caught"
