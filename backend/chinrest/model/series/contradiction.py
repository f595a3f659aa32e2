"""Windows that no photographer can keep together, whatever the optic and wherever the eye looks."""

from collections.abc import Iterator

from .ask import AskedFrame, asked
from .layout import SeriesField
from .order import best_order
from .pace import Pace
from .protocol import Protocol

CENTRE = SeriesField(id="centre", name="Centre", h=0.0, v=0.0)
LABELS = 20_000


def contradictions(protocol: Protocol, pace: Pace) -> Iterator[list[AskedFrame]]:
    """Sets of needed frames that cannot all be kept, each as small as it can be: without any one of it, the
    others of the set can. One frame stands for each window, eye and part of a window, without moves of the
    gaze or turns of the head, so that what is named contradicts itself with any plan."""
    left = [frame for frame in asked(protocol, "two", lambda _: [CENTRE]) if frame.window.need == "needed"]
    while not _together(left, pace):
        smallest = list(left)
        for frame in left:
            without = [other for other in smallest if other is not frame]
            if not _together(without, pace):
                smallest = without
        yield smallest
        left = [frame for frame in left if frame is not smallest[-1]]


def _together(frames: list[AskedFrame], pace: Pace) -> bool:
    """Whether some order keeps them all; also where the search gives up, for then nothing is known."""
    found = best_order([frame.job(pace) for frame in frames], pace, None, 0.0, LABELS)
    return len(found.taken) == len(frames) or not found.proved
