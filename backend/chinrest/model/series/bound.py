"""Two helps for the exact search: a good order to begin with, and a bound on what could still be kept."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from itertools import accumulate, product

from .order import EPS, Job, Order, Place, follow, setup_s
from .pace import Pace

Score = tuple[int, int, float]
"""Kept needed and kept wanted, both negative, and seconds of moving: less is better."""


def score(jobs: Sequence[Job], order: Order, pace: Pace) -> Score:
    needed = sum(jobs[taken.job].needed for taken in order.taken)
    moved, place = 0.0, None
    for taken in order.taken:
        moved += setup_s(place, jobs[taken.job].place, pace)
        place = jobs[taken.job].place
    return -needed, needed - len(order.taken), moved


def climbed(jobs: Sequence[Job], pace: Pace) -> Order:
    """An order from 0 s that no single frame's move to another place in it makes better."""
    indices = range(len(jobs))
    starts = (
        sorted(indices, key=lambda i: (jobs[i].due, jobs[i].release, i)),
        sorted(indices, key=lambda i: (jobs[i].release, jobs[i].place[:2], jobs[i].due, i)),
        sorted(indices, key=lambda i: (jobs[i].release, not jobs[i].needed, jobs[i].place[:2], i)),
    )
    best: tuple[Score, Order] | None = None
    for order in starts:
        found = _climb(jobs, list(order), pace)
        if best is None or found[0] < best[0]:
            best = found
    assert best is not None  # noqa: S101 -- there are three starts
    return best[1]


def _climb(jobs: Sequence[Job], order: list[int], pace: Pace) -> tuple[Score, Order]:
    found = follow(jobs, order, pace, None, 0.0)
    best = score(jobs, found, pace)
    better = True
    while better:
        better = False
        for i in list(order):
            rest = [j for j in order if j != i]
            for at in range(len(order)):
                tried = [*rest[:at], i, *rest[at:]]
                laid = follow(jobs, tried, pace, None, 0.0)
                reached = score(jobs, laid, pace)
                if reached < best:
                    best, found, order, better = reached, laid, tried, True
    return best, found


class Bound:
    """What no order can beat. Any so many jobs take at least the seconds of the shortest of them, a gaze move
    for each gaze (of one eye) among them and a head turn for each group (of one eye and turn), of which there
    are fewest where the largest are chosen; where eye and head stand already costs nothing. That is asked of
    the jobs of each window, which cannot begin before it opens nor end after it shuts."""

    def __init__(self, jobs: Sequence[Job], pace: Pace) -> None:
        self.jobs = jobs
        self.move = min(pace.gaze_move_s, pace.eye_change_s)
        self.enter = max(0.0, min(pace.head_turn_s, pace.eye_change_s - self.move))
        self.spans = self._spans()
        self._costs: dict[tuple[int, Place | None], list[float]] = {}
        self._moves: dict[tuple[int, Place | None], list[float]] = {}

    def _spans(self) -> list[tuple[int, float, float]]:
        """Jobs (as bits) whose windows lie within one span, when the first opens and when the last shuts."""
        opens, shuts = {job.release for job in self.jobs}, {job.due for job in self.jobs}
        found = {}
        for release, due in product(opens, shuts):
            inside = [i for i, job in enumerate(self.jobs) if job.release >= release and job.due <= due]
            if inside:
                bits = sum(1 << i for i in inside)
                first = min(self.jobs[i].release for i in inside)
                found[bits] = (bits, first, max(self.jobs[i].due for i in inside))
        return list(found.values())

    def most(self, free: float, left: int, here: Place | None) -> int:
        least = left.bit_count()
        for bits, release, due in self.spans:
            within = bits & left
            if not within:
                continue
            # who has to wait can come to the first of them meanwhile, wherever it is
            costs, _ = self._of(within, here if free >= release else None)
            kept = bisect_right(costs, due - max(free, release) + EPS)
            least = min(least, kept + (left ^ within).bit_count())
        return least

    def moves_s(self, left: int, here: Place | None, count: int) -> float:
        return self._of(left, here)[1][count - 1] if count else 0.0

    def _of(self, within: int, here: Place | None) -> tuple[list[float], list[float]]:
        """Least seconds that one, two, ... of these take in all, and those of them that are moves."""
        key = (within, here)
        if key not in self._costs:
            chosen = [job for i, job in enumerate(self.jobs) if within >> i & 1]
            turns = _met([job.place[:2] for job in chosen], here and here[:2])
            gazes = _met([_gaze(job.place) for job in chosen], here and _gaze(here))
            moves = [self.enter * t + self.move * g for t, g in zip(turns, gazes, strict=True)]
            takes = accumulate(sorted(0.0 if job.to_due else job.least for job in chosen))
            self._moves[key] = moves
            self._costs[key] = [a + b for a, b in zip(moves, takes, strict=True)]
        return self._costs[key], self._moves[key]


def _gaze(place: Place) -> tuple[str, float, float]:
    return place.eye, place.h, place.v


def _met(names: Sequence[object], here: object) -> list[int]:
    """How many names besides the one at hand (or the first, where none is) so many of these have at least."""
    sizes = Counter(names)
    free = sizes.pop(here, 0) if here else sizes.pop(max(sizes, key=lambda name: sizes[name]))
    found, room, met = [], free, 0
    rest = sorted(sizes.values())
    for count in range(len(names)):
        if count == room:
            room += rest.pop()
            met += 1
        found.append(met)
    return found
