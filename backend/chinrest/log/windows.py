"""Which windows of a timed series were kept, from the frames in the log and the layout that was followed.

A window of a case is one count, by protocol and window (`key`) and by what became of it (`sub`):

kept      every frame of it that the layout has was taken within the window; a burst, begun by its beginning
early     one was taken before its window; late: after it, or a burst begun after its beginning
missed    one was given up, or not taken before the case went on; stopped: the same, where the series was
          stopped first
untimed   taken, but the phone could not say when

The heaviest stands: missed or stopped, late, early, untimed, kept. A case whose pack is not here counts under
the pack's hash as `no_pack`, so that it can be counted again when the pack comes.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Literal

import msgspec
from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Eye, FrameTaken
from chinrest.log.series_events import SeriesBurst, SeriesLaid, SeriesStopped
from chinrest.model.series.layout import LaidFrame, Layout

WindowKind = Literal["window", "no_pack"]
WindowCount = tuple[WindowKind, str, str]
Outcome = Literal["kept", "untimed", "early", "late", "missed", "stopped"]
OUTCOMES: tuple[Outcome, ...] = ("kept", "untimed", "early", "late", "missed", "stopped")
"""The lightest first."""
LayoutsOf = Callable[[str], Mapping[str, Layout] | None]


class _Layouts(Struct, frozen=True):
    layouts: list[Layout] = []


def layouts_in(pack: bytes) -> dict[str, Layout]:
    """The layouts of a compiled pack by their ids; none where it is of a kind that is not known here."""
    try:
        return {layout.id: layout for layout in msgspec.json.decode(pack, type=_Layouts).layouts}
    except msgspec.MsgspecError:
        return {}


def no_layouts(_pack: str) -> None:
    return None


def window_counts(standing: Sequence[Standing], layouts: LayoutsOf) -> Iterator[WindowCount]:
    """The counts of one case, from its lines in order, by the layout that was followed last."""
    lines = [line for line in standing if not line.withdrawn and not line.foreign]
    laid = next((line for line in reversed(lines) if isinstance(line.body, SeriesLaid)), None)
    if laid is None or not isinstance(laid.body, SeriesLaid):
        return
    pack = laid.kept.envelope.pack or ""
    known = layouts(pack) if pack else None
    if known is None:
        yield "no_pack", pack, laid.body.protocol
        return
    layout = known.get(laid.body.layout)
    if layout is None:
        return
    worst: dict[str, int] = {}
    for frame in layout.frames:
        became = OUTCOMES.index(_became(frame, _eye_of(frame, laid.body.eyes), lines))
        worst[frame.window] = max(worst.get(frame.window, 0), became)
    for window, place in worst.items():
        yield "window", f"{laid.body.protocol}/{window}", OUTCOMES[place]


def _eye_of(frame: LaidFrame, eyes: Sequence[Eye]) -> Eye | None:
    place = 0 if frame.eye == "study" else 1
    return eyes[place] if place < len(eyes) else None


def _became(frame: LaidFrame, eye: Eye | None, lines: Sequence[Standing]) -> Outcome:
    if frame.burst:
        begun = [
            line.body
            for line in lines
            if isinstance(line.body, SeriesBurst)
            and line.body.state == "started"
            and frame.id in line.body.frames
        ]
        if not begun:
            return _not_taken(lines)
        first = begun[0].dye_s
        return "untimed" if first is None else "kept" if first <= frame.from_s else "late"
    taken = [
        line.body
        for line in lines
        if isinstance(line.body, FrameTaken)
        and line.body.series_frame == frame.id
        and line.body.outcome == "taken"
        and eye in (None, line.body.eye)
    ]
    if not taken:
        return _not_taken(lines)
    times = [body.dye_s for body in taken if body.dye_s is not None]
    if not times:
        return "untimed"
    if any(frame.from_s <= at <= frame.to_s for at in times):
        return "kept"
    return "early" if all(at < frame.from_s for at in times) else "late"


def _not_taken(lines: Sequence[Standing]) -> Outcome:
    return "stopped" if any(isinstance(line.body, SeriesStopped) for line in lines) else "missed"
