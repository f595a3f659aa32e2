"""How long a series takes to lay with proof, in Python: the demo's protocols with many fields."""

import time

from chinrest.model.series.lay import lay
from chinrest.model.series.layout import SeriesField
from chinrest.model.series.next_frame import SeriesProgress, next_frames
from chinrest.model.series.protocol import ProtocolWindow
from chinrest.pack.demo import demo_path
from chinrest.pack.source import load

from .table import Row, against

FIELDS = 9
TURNS = 3


def fields_of(window: ProtocolWindow) -> list[SeriesField]:
    """The centre; for a plan, nine fields at three turns of the head."""
    count = FIELDS if window.at == "plan" else 1
    return [SeriesField(id=f"f{i}", name=f"F{i}", h=8.0 * i, v=0.0, turn=i % TURNS) for i in range(count)]


def measure() -> list[Row]:
    source = load(demo_path())
    rows = []
    for protocol in source.protocols:
        began = time.perf_counter()
        layout = lay(protocol, "any", "two", fields_of, source.pace)
        seconds = time.perf_counter() - began
        asked = len(layout.frames) + len(layout.missed)
        proof = "proved" if layout.proved else f"not proved, {layout.could_keep_more} open"
        rows.append(against(f"'{protocol.id}', {asked} frames laid, {proof}", seconds, 10, "s"))
        late = SeriesProgress(since={injection.dye: 200.0 for injection in layout.dyes})
        began = time.perf_counter()
        next_frames(layout, source.pace, late)
        rows.append(
            against("the rest of it laid anew at 200 s", (time.perf_counter() - began) * 1000, 1000, "ms")
        )
    return rows
