"""Lays a protocol's frames on one line: what is kept and when, what cannot be, and by how much it holds."""

from msgspec import structs

from .ask import FieldsOf, asked
from .bound import Bound, climbed, score
from .layout import Layout
from .order import Job, Order, Taken, best_order, setup_s, times
from .pace import Pace
from .protocol import Eyes, Protocol

LABELS = 400_000
MOVE_LABELS = 60_000
"""Search labels before a layout is given up as not proved; 24 frames of any usual protocol need far fewer."""


def layout_id(protocol: str, optic: str, eyes: Eyes) -> str:
    """How a case names the layout that it follows."""
    return f"{protocol}:{optic}:{eyes}"


def lay(
    protocol: Protocol, optic: str, eyes: Eyes, fields_of: FieldsOf, pace: Pace, labels: int = LABELS
) -> Layout:
    """The layout that keeps the most needed frames, then the most wanted ones, then moves least.

    `fields_of` says where the eye looks for each window with this optic. Remedies are left to `remedies`.
    """
    frames = asked(protocol, eyes, fields_of)
    jobs = [frame.job(pace) for frame in frames]
    order = laid_order(jobs, pace, labels)
    kept = {taken.job for taken in order.taken}
    return Layout(
        id=layout_id(protocol.id, optic, eyes),
        protocol=protocol.id,
        optic=optic,
        eyes=eyes,
        dyes=protocol.dyes,
        frames=[frames[taken.job].laid(taken) for taken in order.taken],
        missed=[frame.missed(_why(jobs[i], order, pace)) for i, frame in enumerate(frames) if i not in kept],
        slack_s=round(slack_s(jobs, order.taken, pace), 3),
        proved=order.proved,
        could_keep_more=order.most - len(order.taken),
    )


def laid_order(jobs: list[Job], pace: Pace, labels: int = LABELS) -> Order:
    """Begins with an order at hand, so that it need only look where a better one could be: first for one that
    keeps more, which is what is proved, then for one that moves less, as far as `MOVE_LABELS` go."""
    best, bound = climbed(jobs, pace), Bound(jobs, pace)
    needed, wanted, _ = score(jobs, best, pace)
    more = best_order(jobs, pace, None, 0.0, labels, (needed, wanted, 0.0), bound, moves=False)
    best = more if more.taken else best
    calmer = best_order(jobs, pace, None, 0.0, min(labels, MOVE_LABELS), score(jobs, best, pace), bound)
    best = calmer if calmer.taken else best
    proved = more.proved or len(best.taken) == len(jobs)
    most = len(best.taken) if proved else bound.most(0.0, (1 << len(jobs)) - 1, None)
    return best._replace(proved=proved, most=most)


def _why(job: Job, order: Order, pace: Pace) -> str:
    """Why a job is not in the order: too short a window, or what else is taken in it."""
    window = f"its window, {job.release:g} to {job.due:g} s on the line,"
    if times(job, 0.0, 0.0) is None:
        return f"{window} is shorter than the {pace.frame_s:g} s of a frame"
    within = sum(taken.begin < job.due and taken.end > job.release for taken in order.taken)
    more = "no order holds it too" if order.proved else "no order was found that holds it too"
    return f"{window} has room for {within} {'frame' if within == 1 else 'frames'} and the moves; {more}"


def slack_s(jobs: list[Job], order: list[Taken], pace: Pace) -> float:
    """How late any one frame may begin with it and all after it still kept; bursts apart, which cannot."""
    least, after, place = float("inf"), float("inf"), None
    for taken in reversed(order):
        job = jobs[taken.job]
        moves = setup_s(job.place, place, pace) if place else 0.0
        latest = min(job.due - job.least, after - moves - (taken.end - taken.begin))
        if not job.to_due:
            least = min(least, latest - taken.begin)
        after, place = latest, job.place
    return max(0.0, least) if least < float("inf") else 0.0


def widened(protocol: Protocol, windows: set[str], by_s: float) -> Protocol:
    """The protocol with these windows ending later."""
    return structs.replace(
        protocol,
        windows=[
            structs.replace(window, to_s=window.to_s + by_s) if window.id in windows else window
            for window in protocol.windows
        ],
    )
