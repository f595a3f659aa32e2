"""The order of a series against every order there is; nothing needed is lost without being named."""

import math

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from series_cases import PACE, PROTOCOLS, best_by_force, fields, jobs_of, paces, places, simulated

from chinrest.model.series.ask import asked
from chinrest.model.series.bound import Bound, climbed, score
from chinrest.model.series.lay import laid_order, lay
from chinrest.model.series.order import Job, Place, best_order, follow
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Eyes, Injection, Protocol, ProtocolWindow

PLENTY = 1_000_000


def reached(jobs: list[Job], pace: Pace, start: Place | None, bounded: bool) -> tuple[int, int, float]:
    """The search's score; with a bound it starts from a climbed order, as a layout does."""
    if not bounded:
        found = best_order(jobs, pace, start, 0.0, PLENTY)
    else:
        first = climbed(jobs, pace)
        found = best_order(jobs, pace, None, 0.0, PLENTY, score(jobs, first, pace), Bound(jobs, pace))
        found = found if found.taken else first
    assert bounded or found.proved
    # what the search says that it kept is worked out again here, from the order alone
    order = [taken.job for taken in found.taken]
    again = simulated(jobs, order, pace, start)
    assert again[0] + again[1] == len(order), "an order that does not hold"
    return again


def same(a: tuple[int, int, float], b: tuple[int, int, float]) -> bool:
    return a[:2] == b[:2] and math.isclose(a[2], b[2], abs_tol=1e-6)


@settings(max_examples=200, deadline=None)
@given(jobs_of(6), paces, st.one_of(st.none(), places))
def test_search_agrees_with_every_order(jobs: list[Job], pace: Pace, start: Place | None) -> None:
    wanted = best_by_force(jobs, pace, start)
    assert same(reached(jobs, pace, start, bounded=False), wanted)


@settings(max_examples=200, deadline=None)
@given(jobs_of(6), paces)
def test_bounded_search_agrees_with_every_order(jobs: list[Job], pace: Pace) -> None:
    assert same(reached(jobs, pace, None, bounded=True), best_by_force(jobs, pace))


@settings(max_examples=200, deadline=None)
@given(jobs_of(6), paces)
def test_a_laid_order_is_proved_and_agrees_with_every_order(jobs: list[Job], pace: Pace) -> None:
    found = laid_order(jobs, pace)
    order = [taken.job for taken in found.taken]
    assert found.proved
    assert same(simulated(jobs, order, pace, None), best_by_force(jobs, pace))


@settings(max_examples=60, deadline=None)
@given(jobs_of(11), paces)
def test_bound_never_cuts_the_best_off(jobs: list[Job], pace: Pace) -> None:
    plain, bounded = reached(jobs, pace, None, bounded=False), reached(jobs, pace, None, bounded=True)
    assert same(plain, bounded)


@settings(max_examples=200, deadline=None)
@given(jobs_of(7), paces, st.randoms(use_true_random=False))
def test_no_order_beats_the_bound(jobs: list[Job], pace: Pace, random: object) -> None:
    bound = Bound(jobs, pace)
    order = list(range(len(jobs)))
    random.shuffle(order)  # type: ignore[attr-defined]  # Hypothesis says only 'object'
    kept = follow(jobs, order, pace, None, 0.0).taken
    everything = (1 << len(jobs)) - 1
    assert len(kept) <= bound.most(0.0, everything, None)
    moved = score(jobs, follow(jobs, order, pace, None, 0.0), pace)[2]
    assert moved >= bound.moves_s(everything, None, len(kept)) - 1e-9


windows = st.builds(
    ProtocolWindow,
    id=st.uuids().map(lambda u: u.hex[:8]),
    name=st.just("A window"),
    dye=st.sampled_from(["fluorescein", "indocyanine_green"]),
    eye=st.sampled_from(["study", "fellow", "each"]),
    from_s=st.integers(0, 200).map(float),
    to_s=st.integers(205, 400).map(float),
    need=st.sampled_from(["needed", "wanted"]),
    at=st.sampled_from(["centre", "plan"]),
    region=st.just("r"),
    every_s=st.sampled_from([None, None, 60.0]),
    source=st.just("a test"),
)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(windows, min_size=1, max_size=4, unique_by=lambda w: w.id),
    paces,
    st.sampled_from(["one", "two"]),
    st.integers(1, 3),
)
def test_every_frame_asked_for_is_kept_or_named(
    given_windows: list[ProtocolWindow], pace: Pace, eyes: Eyes, count: int
) -> None:
    dyes = [Injection(dye="indocyanine_green"), Injection(dye="fluorescein", after_s=30.0)]
    protocol = Protocol(id="p", name="P", summary="", dyes=dyes, windows=given_windows)
    layout = lay(protocol, "wide", eyes, fields(count), pace, labels=20_000)
    frames = {frame.id: frame for frame in asked(protocol, eyes, fields(count))}
    kept, missed = [f.id for f in layout.frames], [f.id for f in layout.missed]
    assert sorted(kept + missed) == sorted(frames)
    now, place = 0.0, None
    for laid in layout.frames:
        frame = frames[laid.id]
        assert frame.after_s + laid.from_s - 1e-3 <= laid.start_s
        assert laid.end_s <= frame.after_s + laid.to_s + 1e-3
        assert laid.end_s - laid.start_s >= pace.frame_s - 2e-3
        here = (laid.eye, laid.turn, laid.h, laid.v)
        least = 0.0
        if place is not None and place[0] != here[0]:
            least = pace.eye_change_s
        elif place is not None:
            least = pace.head_turn_s * (place[1] != here[1]) + pace.gaze_move_s * (place[2:] != here[2:])
        assert laid.start_s >= now + least - 2e-3
        now, place = laid.end_s, here
    assert layout.slack_s >= 0


def test_slack_is_what_the_layout_bears_and_no_more() -> None:
    """Every frame but a burst is made late by the slack, then by half a second more, each in turn."""
    for protocol in PROTOCOLS.values():
        layout = lay(protocol, "wide", "two", fields(5), PACE)
        frames = {frame.id: frame for frame in asked(protocol, "two", fields(5))}
        jobs = [frames[laid.id].job(PACE) for laid in layout.frames]

        def held(late: int, by_s: float, jobs: list[Job] = jobs) -> bool:
            made = [
                job._replace(release=job.release + by_s) if i == late else job for i, job in enumerate(jobs)
            ]
            begin = follow(jobs, range(len(jobs)), PACE, None, 0.0).taken[late].begin
            made[late] = jobs[late]._replace(release=begin + by_s)
            return len(follow(made, range(len(made)), PACE, None, 0.0).taken) == len(jobs)

        free = [i for i, laid in enumerate(layout.frames) if not laid.burst]
        assert all(held(i, layout.slack_s) for i in free)
        assert not all(held(i, layout.slack_s + 0.5) for i in free)


@pytest.mark.parametrize("protocol", PROTOCOLS.values(), ids=lambda protocol: protocol.id)
@pytest.mark.parametrize("eyes", ["one", "two"])
def test_the_demos_layouts_are_proved_and_whole(protocol: Protocol, eyes: Eyes) -> None:
    layout = lay(protocol, "wide", eyes, fields(5), PACE)
    assert (layout.proved, layout.missed) == (True, [])


def test_twenty_four_frames_are_proved() -> None:
    """Two eyes, nine fields at three turns of the head: 24 frames, more than the mid window holds."""
    layout = lay(PROTOCOLS["fluorescein"], "wide", "two", fields(9, turns=3), PACE)
    assert len(layout.frames) + len(layout.missed) == 24
    assert layout.proved


def test_needed_windows_come_before_wanted_ones() -> None:
    """Time for one frame only: the needed one is kept, though a wanted one would fit as well."""
    wanted = ProtocolWindow(
        id="a",
        name="A",
        dye="fluorescein",
        eye="study",
        from_s=10.0,
        to_s=14.0,
        need="wanted",
        source="a test",
    )
    both = [wanted, msgspec.structs.replace(wanted, id="b", eye="fellow", need="needed")]
    protocol = Protocol(id="p", name="P", summary="", dyes=[Injection(dye="fluorescein")], windows=both)
    layout = lay(protocol, "wide", "two", fields(1), PACE)
    assert [frame.window for frame in layout.frames] == ["b"]
    assert [frame.window for frame in layout.missed] == ["a"]
