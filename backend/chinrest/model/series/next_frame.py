"""What to take next, and when, from a layout and what has happened since: the reference of the phone's own.

As long as the order that is followed keeps every frame that is left, it is followed. When it no longer does
(a frame was missed, or things took longer), what is left is laid anew from this moment and this place; the
new order is taken only if it keeps more. A burst is begun as early as it can be from here; one for which
that leaves no room may begin later. Either way it ends when its window does.
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from .layout import LaidFrame, Layout
from .order import Job, Order, Place, best_order, follow, setup_s, times
from .pace import Pace
from .protocol import Dye

LABELS = 4000
"""Search labels on the phone: a fraction of a second."""
SEARCHED = 24
"""Frames laid anew; those that close later keep their order behind them."""


class SeriesProgress(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What has happened. `order`: the ids in the order that is followed, from the last answer; empty at the
    beginning. `done`: taken, or given up. `last`: the frame taken last, which says where eye and head stand.
    `since`: seconds since the injection of each dye; a dye that is left out was not given yet."""

    order: list[str] = []
    done: list[str] = []
    last: str | None = None
    since: dict[Dye, float] = {}


class Coming(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A frame that is still to be taken. Seconds from now: `move_s` to begin the moves to it, `begin_s` to
    begin it, `shut_s` until it can no longer be begun."""

    id: str
    move_s: float
    begin_s: float
    shut_s: float


class NextFrames(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`coming`: what is kept, in order; the first is the next. `shut`: can no longer be reached in its window
    even if it were next. `crowded`: could be taken, but not with the others. `relaid`: the order is not the
    one that was followed. `slack_s`: how late the next may begin with all the others still kept; null when
    there is none."""

    coming: list[Coming]
    shut: list[str]
    crowded: list[str]
    relaid: bool
    slack_s: float | None


def next_frames(layout: Layout, pace: Pace, progress: SeriesProgress) -> NextFrames:
    """Raises KeyError where `order`, `done` or `last` name a frame that the layout has not."""
    frames = {frame.id: frame for frame in layout.frames}
    for name in (*progress.order, *progress.done, *((progress.last,) if progress.last else ())):
        if name not in frames:
            raise KeyError(name)
    done = set(progress.done)
    told = list(dict.fromkeys((*progress.order, *frames)))
    left = [frames[name] for name in told if name not in done]
    since = since_each(layout, progress.since)
    late = [_job(frame, since[frame.dye], pace) for frame in left]
    start = _place(frames[progress.last]) if progress.last else None
    alive = [i for i, job in enumerate(late) if times(job, 0.0, setup_s(start, job.place, pace))]
    jobs = [_at_once(job, setup_s(start, job.place, pace)) for job in late]
    found = _planned(jobs, alive, pace, start)
    kept = {taken.job for taken in found.taken}
    if any(late[i].to_due and i not in kept for i in alive):
        eased = [job if i in kept else late[i] for i, job in enumerate(jobs)]
        again = _planned(eased, alive, pace, start)
        if _kept(eased, again) > _kept(jobs, found):
            jobs, found, kept = eased, again, {taken.job for taken in again.taken}
    coming, place = [], start
    for taken in found.taken:
        job = late[taken.job]
        coming.append(
            Coming(
                id=left[taken.job].id,
                move_s=max(0.0, taken.begin - setup_s(place, job.place, pace)),
                begin_s=taken.begin,
                shut_s=job.due - job.least,
            )
        )
        place = job.place
    return NextFrames(
        coming=coming,
        shut=[frame.id for i, frame in enumerate(left) if i not in set(alive)],
        crowded=[left[i].id for i in alive if i not in kept],
        relaid=[taken.job for taken in found.taken] != [i for i in alive if i in kept],
        slack_s=_slack_s(jobs, found, pace),
    )


def since_each(layout: Layout, since: Mapping[Dye, float]) -> dict[Dye, float]:
    """Seconds since each dye's injection. A dye not given yet counts from when the layout means it to be
    given after the others; from now at the earliest."""
    given = [injection for injection in layout.dyes if injection.dye in since]
    first = min(given, key=lambda injection: injection.after_s, default=None)
    line = since[first.dye] + first.after_s if first else 0.0
    return {
        injection.dye: since[injection.dye] if injection.dye in since else -max(injection.after_s - line, 0.0)
        for injection in layout.dyes
    }


def _job(frame: LaidFrame, since: float, pace: Pace) -> Job:
    return Job(
        place=_place(frame),
        release=max(0.0, frame.from_s - since),
        due=frame.to_s - since,
        least=pace.frame_s,
        to_due=frame.burst,
        needed=frame.needed,
    )


def _place(frame: LaidFrame) -> Place:
    return Place(frame.eye, frame.turn, frame.h, frame.v)


def _at_once(job: Job, moves: float) -> Job:
    """A burst that is to begin as early as it can from here; any other job as it is."""
    if not job.to_due:
        return job
    return job._replace(least=max(job.least, job.due - max(job.release, moves)))


def _planned(jobs: Sequence[Job], alive: Sequence[int], pace: Pace, start: Place | None) -> Order:
    """The order that is followed where it keeps everything, or where the best one keeps no more."""
    plain = follow(jobs, alive, pace, start, 0.0)
    if len(plain.taken) == len(alive):
        return plain
    soon = sorted(sorted(alive, key=lambda i: (jobs[i].due, i))[:SEARCHED])
    searched = best_order([jobs[i] for i in soon], pace, start, 0.0, LABELS)
    front = [soon[taken.job] for taken in searched.taken]
    behind = [i for i in alive if i not in set(front)]
    found = follow(jobs, [*front, *behind], pace, start, 0.0)
    return found if _kept(jobs, found) > _kept(jobs, plain) else plain


def _kept(jobs: Sequence[Job], order: Order) -> tuple[int, int]:
    needed = sum(jobs[taken.job].needed for taken in order.taken)
    return needed, len(order.taken) - needed


def _slack_s(jobs: Sequence[Job], order: Order, pace: Pace) -> float | None:
    if not order.taken:
        return None
    after, place = float("inf"), None
    for taken in reversed(order.taken):
        job = jobs[taken.job]
        moves = setup_s(job.place, place, pace) if place else 0.0
        latest = job.due - job.least
        if not job.to_due:  # a burst ends with its window however late it begins
            latest = min(latest, after - moves - job.least)
        after, place = latest, job.place
    return after - order.taken[0].begin
