"""What travels when the desk asks for a plan of fields."""

from msgspec import Struct

from chinrest.model.face import FaceMeasures
from chinrest.model.fit import AgeBand, EyeSide
from chinrest.model.retina.regions import Cone
from chinrest.pack.replanning import Replanned


class PlanRequest(Struct, frozen=True, kw_only=True):
    """A plan by the figures of a pack that the server holds. `region`: the id of a region that it knows,
    or, with `cones` (full angle, gaze H, V) or a `polygon` of gazes (degrees, nasal+, up+), a name for one
    drawn here. Fractions that are null are the pack's own; without measures the tables' reference adult
    stands in."""

    pack: str
    optic: str
    eye: EyeSide
    region: str
    cones: list[Cone] = []
    polygon: list[tuple[float, float]] = []
    coverage: float | None = None
    overlap: float | None = None
    measures: FaceMeasures | None = None
    age_band: AgeBand | None = None
    pupil_mm: float | None = None


__all__ = ["PlanRequest", "Replanned"]
