"""Check vectors of the next frame: layouts of the pack at many moments, and what the reference says."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from chinrest.model.spread import spread

from .layout import Layout
from .next_frame import NextFrames, SeriesProgress, next_frames
from .pace import Pace
from .protocol import Dye

MOST = 20


class NextFrameVector(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A layout of the pack by its id, what has happened, and the reference's answer."""

    layout: str
    progress: SeriesProgress
    answer: NextFrames


def next_frame_vectors(layouts: Sequence[Layout], pace: Pace) -> list[NextFrameVector]:
    """One moment each, over the layouts in turn; none where there is no layout with a frame."""
    usable = [layout for layout in layouts if layout.frames]
    return [_vector(*pair, pace) for pair in _moments(usable)] if usable else []


def _vector(layout: Layout, progress: SeriesProgress, pace: Pace) -> NextFrameVector:
    answer = next_frames(layout, pace, progress)
    return NextFrameVector(layout=layout.id, progress=progress, answer=answer)


def _moments(layouts: Sequence[Layout]) -> Iterator[tuple[Layout, SeriesProgress]]:
    for i, row in enumerate(spread(MOST, 6)):
        yield layouts[i * 7 % len(layouts)], random_progress(layouts[i * 7 % len(layouts)], row)


def random_progress(layout: Layout, row: Sequence[float]) -> SeriesProgress:
    """A moment in a series from six numbers of the unit interval: how far it is, how late it runs, how many
    frames were left out, whether each dye is in, and whether the order is the layout's own."""
    ids = [frame.id for frame in layout.frames]
    far = int(row[0] * len(ids))
    skip = 2 + int(row[2] * 6)
    done = [name for i, name in enumerate(ids[:far]) if i % skip != 1]
    planned = layout.frames[far].start_s if far < len(ids) else layout.frames[-1].end_s
    now = round(max(0.0, planned + 160.0 * (row[1] - 0.4)), 1)
    since: dict[Dye, float] = {}
    for k, injection in enumerate(sorted(layout.dyes, key=lambda dye: dye.after_s)):
        given = round(now - injection.after_s - 30.0 * k * row[4], 1)
        if given >= 0 and row[3] > 0.05:
            since[injection.dye] = given
    turned = int(row[5] * len(ids)) if row[5] > 0.5 else 0
    return SeriesProgress(
        order=ids[turned:] + ids[:turned] if row[5] > 0.25 else [],
        done=done,
        last=done[-1] if done and row[4] > 0.1 else None,
        since=since,
    )
