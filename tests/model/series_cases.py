"""What the tests of the series share: the demo's protocols, and small random cases of jobs."""

import tomllib
from collections.abc import Sequence
from itertools import permutations
from typing import Any

import msgspec
from hypothesis import strategies as st
from model_demo import SOURCE

from chinrest.model.series.layout import SeriesField
from chinrest.model.series.order import Job, Place
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Protocol, ProtocolWindow

_TABLE = tomllib.loads((SOURCE / "protocols.toml").read_text("utf-8"))
PROTOCOLS = {p.id: p for p in msgspec.convert(_TABLE["protocols"], list[Protocol])}
PACE = msgspec.convert(_TABLE["pace"], Pace)
Score = tuple[int, int, float]


def fields(count: int, turns: int = 1) -> Any:
    """The centre, and for a plan `count` fields of which each `turns`-th shares a turn of the head."""
    centre = SeriesField(id="centre", name="Centre", h=0.0, v=0.0)
    rest = [SeriesField(id=f"f{i}", name=f"F{i}", h=8.0 * i, v=4.0, turn=i % turns) for i in range(1, count)]

    def fields_of(window: ProtocolWindow) -> list[SeriesField]:
        return [centre] if window.at == "centre" else [centre, *rest]

    return fields_of


def simulated(jobs: Sequence[Job], order: Sequence[int], pace: Pace, start: Place | None) -> Score:
    """Kept needed, kept wanted and minus the seconds of moving, worked out here from the rules alone: more is
    better. What does not fit is passed over."""
    now, place, needed, wanted, moved = 0.0, start, 0, 0, 0.0
    for i in order:
        job = jobs[i]
        moves = 0.0
        if place is not None and place.eye != job.place.eye:
            moves = pace.eye_change_s
        elif place is not None:
            moves += pace.head_turn_s * (place.turn != job.place.turn)
            moves += pace.gaze_move_s * ((place.h, place.v) != (job.place.h, job.place.v))
        begin = max(now + moves, job.release)
        if begin + job.least > job.due + 1e-9:
            continue
        now, place, moved = (job.due if job.to_due else begin + job.least), job.place, moved + moves
        needed, wanted = needed + job.needed, wanted + (not job.needed)
    return needed, wanted, -moved


def best_by_force(jobs: Sequence[Job], pace: Pace, start: Place | None = None) -> Score:
    """Every order of all jobs: the best subset in its best order is the front of one of them."""
    return max(simulated(jobs, order, pace, start) for order in permutations(range(len(jobs))))


tenths = st.integers(0, 400).map(lambda n: n / 10)
paces = st.builds(
    Pace,
    frame_s=st.integers(5, 80).map(lambda n: n / 10),
    gaze_move_s=st.integers(0, 80).map(lambda n: n / 10),
    head_turn_s=st.integers(0, 150).map(lambda n: n / 10),
    eye_change_s=st.integers(0, 250).map(lambda n: n / 10),
)
places = st.builds(
    Place,
    eye=st.sampled_from(["study", "fellow"]),
    turn=st.integers(0, 2),
    h=st.sampled_from([0.0, 10.0, 20.0]),
    v=st.sampled_from([0.0, 15.0]),
)


@st.composite
def jobs_of(draw: st.DrawFn, most: int) -> list[Job]:
    """Jobs with windows that crowd each other; some bursts; some alike."""
    windows = draw(st.lists(st.tuples(tenths, tenths), min_size=1, max_size=3))
    found = []
    for _ in range(draw(st.integers(1, most))):
        release, length = draw(st.sampled_from(windows))
        burst = draw(st.integers(0, 9)) == 0
        found.append(
            Job(
                place=draw(places),
                release=release,
                due=release + length,
                least=length if burst else 4.0,
                to_due=burst,
                needed=draw(st.booleans()),
            )
        )
    return found
