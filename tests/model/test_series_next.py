"""What comes next while a series runs: followed step by step, late, missed, laid anew."""

from functools import cache

import msgspec
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from series_cases import PACE, PROTOCOLS, best_by_force, fields

from chinrest.model.series.lay import lay
from chinrest.model.series.layout import LaidFrame, Layout
from chinrest.model.series.next_frame import SeriesProgress, next_frames, since_each
from chinrest.model.series.order import Job, Place, setup_s
from chinrest.model.series.protocol import Dye


@cache
def layout(protocol: str, eyes: str = "two", count: int = 4) -> Layout:
    return lay(PROTOCOLS[protocol], "wide", eyes, fields(count), PACE)  # type: ignore[arg-type]  # by the tests


def given_at(name: str, line_s: float) -> dict[Dye, float]:
    """Seconds since each dye that was given on time, at a moment of the line."""
    dyes = PROTOCOLS[name].dyes
    return {dye.dye: line_s - dye.after_s for dye in dyes if line_s >= dye.after_s}


@pytest.mark.parametrize("name", PROTOCOLS)
def test_before_any_injection_it_counts_as_given_now(name: str) -> None:
    laid = layout(name)
    answer = next_frames(laid, PACE, SeriesProgress())
    assert [c.id for c in answer.coming] == [f.id for f in laid.frames]
    assert [c.begin_s for c in answer.coming] == pytest.approx([f.start_s for f in laid.frames])
    assert (answer.shut, answer.crowded, answer.relaid) == ([], [], False)


@pytest.mark.parametrize("name", PROTOCOLS)
def test_followed_on_time_the_layout_comes_true(name: str) -> None:
    """A photographer who always does what comes next takes every frame at its planned second."""
    laid = layout(name)
    line, last = 0.0, None
    done: list[str] = []
    order: list[str] = []
    for frame in laid.frames:
        progress = SeriesProgress(order=order, done=done, last=last, since=given_at(name, line))
        answer = next_frames(laid, PACE, progress)
        assert answer.coming[0].id == frame.id
        assert not answer.relaid
        assert line + answer.coming[0].begin_s == pytest.approx(frame.start_s)
        order = [coming.id for coming in answer.coming]
        line, last, done = frame.end_s, frame.id, [*done, frame.id]
    assert next_frames(laid, PACE, SeriesProgress(done=done, since=given_at(name, line))).coming == []


def run(name: str, laid: Layout, waits: list[float]) -> tuple[list[str], list[str]]:
    """Runs a series in which each frame is begun late by a wait. Ids taken, and ids told as out of reach."""
    line, last = 0.0, None
    order: list[str] = []
    done: list[str] = []
    taken: list[str] = []
    told: list[str] = []
    frames = {frame.id: frame for frame in laid.frames}
    waits = list(waits)
    while len(done) < len(frames):
        since = given_at(name, line)
        answer = next_frames(laid, PACE, SeriesProgress(order=order, done=done, last=last, since=since))
        told += answer.shut
        done += answer.shut
        if not answer.coming:
            assert not answer.crowded, "what could be taken was not offered"
            break
        order = [coming.id for coming in answer.coming]
        frame = frames[order[0]]
        line += answer.coming[0].begin_s + (waits.pop() if waits else 0.0)
        due = frame.to_s + PROTOCOLS[name].after_s(frame.dye)
        done.append(frame.id)
        if line + PACE.frame_s > due + 1e-6:
            told.append(frame.id)  # it came too late: the photographer logs it as missed
            continue
        taken.append(frame.id)
        line, last = (due if frame.burst else line + PACE.frame_s), frame.id
    return taken, told


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(list(PROTOCOLS)), st.lists(st.floats(0, 90), max_size=14))
def test_however_late_nothing_is_lost_without_a_word(name: str, waits: list[float]) -> None:
    laid = layout(name)
    taken, told = run(name, laid, waits)
    assert sorted(taken + told) == sorted(frame.id for frame in laid.frames)


@pytest.mark.parametrize("name", PROTOCOLS)
def test_waits_within_the_slack_lose_nothing(name: str) -> None:
    laid = layout(name)
    for at in range(len(laid.frames)):
        if laid.frames[at].burst:
            continue
        waits = [0.0] * at + [laid.slack_s]
        taken, told = run(name, laid, list(reversed(waits)))
        assert told == []
        assert len(taken) == len(laid.frames)


# four moments of five leave too much to try every order of
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(
    st.integers(0, 2),
    st.floats(0, 420),
    st.lists(st.integers(0, 15), max_size=11, unique=True),
    st.integers(0, 15),
)
def test_what_is_kept_is_the_most_that_can_be(which: int, line: float, gone: list[int], last: int) -> None:
    """Against every order of what is left and open, where that is little enough to try."""
    name = list(PROTOCOLS)[which]
    laid = layout(name, count=3)
    frames = laid.frames
    gone = [i for i in gone if i < len(frames)]
    done = [frames[i].id for i in gone]
    before = frames[last % len(frames)]
    progress = SeriesProgress(done=done, last=before.id, since=given_at(name, line))
    answer = next_frames(laid, PACE, progress)
    since = since_each(laid, progress.since)
    left = [frame for frame in frames if frame.id not in done and frame.to_s - since[frame.dye] < 400]
    assume(0 < len(left) <= 6)
    assume(not any(frame.burst for frame in left))
    jobs = [job(frame, since[frame.dye]) for frame in left]
    start = Place(before.eye, before.turn, before.h, before.v)
    needed, wanted, _ = best_by_force(jobs, PACE, start)
    kept = {coming.id for coming in answer.coming}
    mine = [frame for frame in left if frame.id in kept]
    assert sum(frame.needed for frame in mine) == needed
    assert len(mine) == needed + wanted


def job(frame: LaidFrame, since: float) -> Job:
    return Job(
        place=Place(frame.eye, frame.turn, frame.h, frame.v),
        release=max(0.0, frame.from_s - since),
        due=frame.to_s - since,
        least=PACE.frame_s,
        to_due=frame.burst,
        needed=frame.needed,
    )


def test_a_burst_that_begins_late_is_still_taken_to_its_end() -> None:
    laid = layout("fluorescein")
    burst = laid.frames[0]
    assert burst.burst
    for since, kept in (
        (0.0, True),
        (20.0, True),
        (burst.to_s - PACE.frame_s, True),
        (burst.to_s - 3, False),
    ):
        answer = next_frames(laid, PACE, SeriesProgress(since={"fluorescein": since}))
        assert (answer.coming[0].id == burst.id) is kept
        assert (burst.id in answer.shut) is not kept
        if kept:
            assert answer.coming[0].begin_s == pytest.approx(max(0.0, burst.from_s - since))
            following = answer.coming[1]
            moves = setup_s(place(burst), place(named(laid, following.id)), PACE)
            assert following.begin_s >= burst.to_s - since + moves - 1e-9


def test_the_second_dye_shifts_its_own_windows_only() -> None:
    """Fluorescein given 60 s later than planned: its frames come 60 s later, the other dye's do not."""
    laid = layout("both")
    first, second = PROTOCOLS["both"].dyes
    late = second.after_s + 60.0
    planned = since_each(laid, {first.dye: late})
    assert planned[second.dye] == 0.0, "overdue: it counts as given now"
    given_now = next_frames(laid, PACE, SeriesProgress(since={first.dye: late, second.dye: 0.0}))
    begins = {coming.id: coming.begin_s for coming in given_now.coming}
    assert begins["transit-study-1"] == pytest.approx(named(laid, "transit-study-1").from_s)
    assert begins["icg_late-study-1"] == pytest.approx(
        max(named(laid, "icg_late-study-1").from_s - late, begins["icg_late-study-1"])
    )
    assert named(laid, "icg_early-study-1").to_s < late
    assert "icg_early-study-1" in given_now.shut


def test_an_order_that_still_holds_is_kept_to() -> None:
    """Reversing what may be reversed: the order that is followed stays, though the layout had another."""
    laid = layout("fluorescein", eyes="one", count=5)
    mid = [frame.id for frame in laid.frames if frame.window == "mid_fields"]
    rest = [frame.id for frame in laid.frames if frame.id not in mid]
    order = [*rest[:2], *reversed(mid), *rest[2:]]
    answer = next_frames(laid, PACE, SeriesProgress(order=order, since={"fluorescein": 1.0}))
    assert [coming.id for coming in answer.coming] == order
    assert not answer.relaid


def test_needed_frames_are_kept_before_wanted_ones_when_time_runs_out() -> None:
    laid = layout("fluorescein")
    answer = next_frames(laid, PACE, SeriesProgress(since={"fluorescein": 210.0}))
    assert answer.relaid
    kept = {coming.id for coming in answer.coming}
    assert {"mid-study-1", "mid-fellow-1"} <= kept
    assert answer.coming[0].id.startswith("mid-")


def named(laid: Layout, name: str) -> LaidFrame:
    return next(frame for frame in laid.frames if frame.id == name)


def place(frame: LaidFrame) -> Place:
    return Place(frame.eye, frame.turn, frame.h, frame.v)


def test_a_layout_survives_the_wire() -> None:
    laid = layout("both")
    assert msgspec.json.decode(msgspec.json.encode(laid), type=Layout) == laid
