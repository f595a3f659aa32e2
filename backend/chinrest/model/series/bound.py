"""Two helps for the exact search: a good order to begin with, and a bound on what could still be kept."""

from collections import Counter
from collections.abc import Sequence

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


def _gaze(job: Job) -> tuple[str, float, float]:
    return job.place.eye, job.place.h, job.place.v


class Bound:
    """As many jobs as any order could still keep. Each takes its own seconds and, where nothing else in its
    group (one eye, one turn of the head) has its gaze, a gaze move; each further group a head turn more. The
    release of the jobs is not counted, so it errs on the high side only."""

    def __init__(self, jobs: Sequence[Job], pace: Pace) -> None:
        self.jobs = jobs
        gazes = Counter(_gaze(job) for job in jobs)
        move = min(pace.gaze_move_s, pace.eye_change_s)
        self.moves = [move if gazes[_gaze(job)] == 1 else 0.0 for job in jobs]
        self.cost = [
            moves + (0.0 if job.to_due else job.least) for moves, job in zip(self.moves, jobs, strict=True)
        ]
        self.enter = max(0.0, min(pace.head_turn_s, pace.eye_change_s - move))
        self.first = move
        self.group = [job.place[:2] for job in jobs]
        self.dues = sorted({job.due for job in jobs})

    def most(self, free: float, left: Sequence[int], here: Place | None) -> int:
        least = len(left)
        for due in self.dues:
            within = [i for i in left if self.jobs[i].due <= due]
            if within:
                least = min(least, self._within(free, due, within, here) + len(left) - len(within))
        return least

    def _within(self, free: float, due: float, within: list[int], here: Place | None) -> int:
        begin = max(free, min(self.jobs[i].release for i in within))
        # coming to the first of them is not counted where it may be free: from the same gaze, or from nowhere
        budget = due - begin + self.first + EPS
        spent = 0.0
        for count, cost in enumerate(self._costs(within, here, self.cost)):
            spent += cost
            if spent > budget:
                return count
        return len(within)

    def moves_s(self, left: Sequence[int], here: Place | None, count: int) -> float:
        return sum(self._costs(left, here, self.moves)[:count]) - self.first

    def _costs(self, within: Sequence[int], here: Place | None, costs: list[float]) -> list[float]:
        """What the first, second, ... of any choice of these cost at least: cheapest first, largest groups
        first, and the group in which the head stands free."""
        sizes = Counter(self.group[i] for i in within)
        room = sizes.pop(here[:2], 0) if here else 0
        groups = sorted(sizes.values())
        found = sorted(costs[i] for i in within)
        for count in range(len(found)):
            if count == room:
                room += groups.pop()
                found[count] += self.enter if count or here else 0.0
        return found
