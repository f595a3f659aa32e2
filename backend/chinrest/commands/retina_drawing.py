"""What a plan shows of a region, drawn with letters for a terminal: a list of areas says too little."""

from collections.abc import Iterator

import numpy as np
import shapely

from chinrest.model.fields.coverage import Gap
from chinrest.model.fields.plan import PlannedField
from chinrest.model.fit import EyeSide
from chinrest.model.retina.regions import Region, cone

COLUMNS = 48
TALL = 2.0
"""A letter is about this many times as high as it is wide."""
SHOWN, LEFT, MISSING = "#", "o", "x"
LEGEND = f"{SHOWN} shown by these fields, {LEFT} within reach but not shown, {MISSING} beyond reach"


def drawn(region: Region, fields: list[PlannedField], missing: list[Gap], eye: EyeSide) -> Iterator[str]:
    """The region as looked at from in front: up is up, nasal to the right in a right eye. `missing`: what
    no gaze within reach shows."""
    west, south, east, north = region.shape.bounds
    step = (east - west) / COLUMNS
    across = west + step * (np.arange(COLUMNS) + 0.5)
    if eye == "left":
        across = across[::-1]
    shown = shapely.union_all([cone(field_deg, h, v)[0] for h, v, field_deg in fields])
    beyond = shapely.union_all([shapely.Polygon(gap.outline, gap.holes) for gap in missing])
    for up in np.arange(north - step * TALL / 2.0, south, -step * TALL):
        at = shapely.points(across, np.full(COLUMNS, up))
        letters = np.full(COLUMNS, " ")
        letters[shapely.contains(region.shape, at)] = LEFT
        inside = letters == LEFT
        letters[inside & shapely.contains(shown, at)] = SHOWN
        letters[inside & (letters != SHOWN) & shapely.contains(beyond, at)] = MISSING
        yield "  " + "".join(letters).rstrip()
    yield f"  {LEGEND}; nasal is {'right' if eye == 'right' else 'left'}"
