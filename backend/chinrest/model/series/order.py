"""The order in which frames are taken: the most needed ones, then the most wanted, then the fewest seconds
of moving, with every frame inside its window. Exact, unless the search is cut short.

Labels are searched in the order of time. A label says when the hands are free, where eye and head stand, and
which frames could still be begun. Of two with the same place and the same frames open, the later one is
dropped unless it has kept more: whatever follows it could follow the earlier one as well. Frames that differ
in nothing that a later choice could notice are taken in the order in which they stand.
"""

from collections.abc import Sequence
from heapq import heappop, heappush
from typing import NamedTuple, Protocol

from .pace import Pace
from .protocol import EyeRole

EPS = 1e-9
"""Seconds; sums of decimals may miss a window's end by less."""


class Place(NamedTuple):
    """What must change between two frames: the eye, the head's turn (a number within one eye), the gaze."""

    eye: EyeRole
    turn: int
    h: float
    v: float


class Job(NamedTuple):
    """A frame to take: begun at or after `release`, ended by `due`, `least` seconds long. A burst (`to_due`)
    goes on to `due` once it has begun."""

    place: Place
    release: float
    due: float
    least: float
    to_due: bool
    needed: bool


class Taken(NamedTuple):
    """A job by its index, and when it begins and ends."""

    job: int
    begin: float
    end: float


class Bounding(Protocol):
    """What no order can beat, given the jobs that could still be begun (as bits) and where eye and head
    stand."""

    def most(self, free: float, left: int, here: Place | None) -> int:
        """As many of them as could be kept when the hands are free at `free`."""

    def moves_s(self, left: int, here: Place | None, count: int) -> float:
        """The least seconds of moving that so many of them take."""


class Order(NamedTuple):
    """`proved`: no order keeps more. `most`: where it is not, as many jobs as any order could keep."""

    taken: list[Taken]
    proved: bool
    most: int


def setup_s(before: Place | None, after: Place, pace: Pace) -> float:
    """Seconds of moving between two frames; none before the first."""
    if before is None:
        return 0.0
    if before.eye != after.eye:
        return pace.eye_change_s
    turned = pace.head_turn_s if before.turn != after.turn else 0.0
    moved = pace.gaze_move_s if (before.h, before.v) != (after.h, after.v) else 0.0
    return turned + moved


def times(job: Job, free: float, setup: float) -> tuple[float, float] | None:
    """Begin and end of a job when the hands are free at `free`; null when its window cannot hold it."""
    begin = max(free + setup, job.release)
    if begin + job.least > job.due + EPS:
        return None
    return begin, job.due if job.to_due else begin + job.least


def follow(jobs: Sequence[Job], order: Sequence[int], pace: Pace, start: Place | None, now: float) -> Order:
    """The jobs in a given order, each as early as it can be; what no longer fits is passed over."""
    free, place, taken = now, start, []
    for i in order:
        at = times(jobs[i], free, setup_s(place, jobs[i].place, pace))
        if at:
            taken.append(Taken(i, *at))
            free, place = at[1], jobs[i].place
    return Order(taken, len(taken) == len(jobs), len(jobs))


def best_order(
    jobs: Sequence[Job],
    pace: Pace,
    start: Place | None,
    now: float,
    labels: int,
    known: tuple[int, int, float] = (0, 0, 0.0),
    bound: Bounding | None = None,
    moves: bool = True,
) -> Order:
    """The best order of the jobs from `now` and `start`. After `labels` labels the search is cut short.

    `known`: the score of an order that is at hand; with a `bound`, what cannot reach it is not looked into,
    so that an empty order means that none is better. Without `moves` only what is kept is compared.
    """
    count = len(jobs)
    places = _numbered(jobs, start)
    number = [places[job.place] for job in jobs]
    setups = [[setup_s(a, job.place, pace) for job in jobs] for a in (*places, None)]
    twins = _earlier_twins(jobs, start)
    heap = [(now, 0, 0, 0.0, 0, (1 << count) - 1, places[start] if start else len(places), -1)]
    tree: list[tuple[int, Taken]] = []
    seen: dict[tuple[int, int], tuple[int, int, float]] = {}
    best, best_at, pushed, popped = known, -1, 0, 0
    spots: list[Place | None] = [*places, None]
    must = sum(1 << i for i, job in enumerate(jobs) if job.needed)
    while heap and popped < labels:
        free, needed, wanted, moved, _, left, here, at = heappop(heap)
        popped += 1
        open_now = 0
        for i in range(count):
            if left >> i & 1 and free + jobs[i].least <= jobs[i].due + EPS:
                open_now |= 1 << i
        score = (needed, wanted, moved)
        key = (open_now, here)
        if key in seen and seen[key] <= score:
            continue
        seen[key] = score
        if score < best:
            best, best_at = score, at
        if bound is not None:
            place = spots[here]
            most = (
                needed - bound.most(free, open_now & must, place),
                needed + wanted - bound.most(free, open_now, place),
            )
            if most > (best[0], best[0] + best[1]):
                continue
            more = needed + wanted - most[1]
            if (
                most == (best[0], best[0] + best[1])
                and moved + bound.moves_s(open_now, place, more) > best[2] - EPS
            ):
                continue
        for i in range(count):
            if not open_now >> i & 1 or open_now & twins[i]:
                continue
            job, setup = jobs[i], setups[here][i]
            when = times(job, free, setup)
            if when is None:
                continue
            tree.append((at, Taken(i, *when)))
            pushed += 1
            heappush(
                heap,
                (
                    when[1],
                    needed - job.needed,
                    wanted - (not job.needed),
                    moved + setup if moves else 0.0,
                    pushed,
                    open_now & ~(1 << i),
                    number[i],
                    len(tree) - 1,
                ),
            )
    taken = []
    while best_at >= 0:
        best_at, step = tree[best_at]
        taken.append(step)
    taken.reverse()
    return Order(taken, not heap, len(taken) if not heap else count)


def _numbered(jobs: Sequence[Job], start: Place | None) -> dict[Place, int]:
    places: dict[Place, int] = {}
    for place in (*((start,) if start else ()), *(job.place for job in jobs)):
        places.setdefault(place, len(places))
    return places


def _earlier_twins(jobs: Sequence[Job], start: Place | None) -> list[int]:
    """For each job the jobs before it that it cannot be told from, as bits."""
    places = [job.place for job in jobs] + ([start] if start else [])

    def alone(i: int) -> tuple[bool, bool]:
        eye, turn, h, v = jobs[i].place
        others = [p for j, p in enumerate(places) if j != i and p.eye == eye]
        return all(p.turn != turn for p in others), all((p.h, p.v) != (h, v) for p in others)

    lone = [alone(i) for i in range(len(jobs))]
    found = []
    for i, job in enumerate(jobs):
        bits = 0
        for j in range(i):
            a, b = jobs[j].place, job.place
            turns = a.turn == b.turn or (lone[i][0] and lone[j][0])
            gazes = (a.h, a.v) == (b.h, b.v) or (lone[i][1] and lone[j][1])
            if jobs[j][1:] == job[1:] and a.eye == b.eye and turns and gazes:
                bits |= 1 << j
        found.append(bits)
    return found
