"""What a pack holds of fields, by reach class: plans, known patterns, sweeps and the choice of optic.

The same for both eyes, nasal positive. A phone finds the patient's class by looking up, and asks the fit
kernel about each gaze anew: a class stands for its usual face, not for this one.
"""

from msgspec import Struct

from chinrest.model.choice import ChoiceRow
from chinrest.model.face import EyeDepthClass, NeckClass, NoseClass
from chinrest.model.fields.patterns import PatternId
from chinrest.model.fields.plan import PlanAsked, PlannedField
from chinrest.model.fields.sweep import Sector

USUAL_CLASS = "average.medium.free"
"""The reach class of the face tables' reference adult."""


class RegionAsked(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A region that plans are made for, and what is asked of it where it differs from the rest."""

    id: str
    coverage: float | None = None
    overlap: float | None = None


class Planning(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What plans are asked for: `coverage`, the least fraction of a region's area; `overlap`, the least
    part of the smaller field's area that joined fields share. Common practice, no source; a clinic sets its
    own, and names the regions that its pack has plans for."""

    coverage: float = 0.95
    overlap: float = 0.2
    regions: list[RegionAsked] = []

    def asked(self, region: str = "") -> PlanAsked:
        """What is asked of a region."""
        own = next((each for each in self.regions if each.id == region), RegionAsked(id=region))
        return PlanAsked(
            coverage=self.coverage if own.coverage is None else own.coverage,
            overlap=self.overlap if own.overlap is None else own.overlap,
        )


class ReachClass(Struct, frozen=True, kw_only=True):
    """Faces that are planned for together: by eye depth, nose and neck as judged (a measured depth falls
    into a class by the face tables' cut-offs). The rest is the tables' reference adult, with the oldest
    band's upward gaze."""

    id: str
    eye_depth: EyeDepthClass
    nose: NoseClass
    neck: NeckClass


class PackPlan(Struct, frozen=True, kw_only=True):
    """The plan of one optic and region for the reach classes named. `fields`: [h, v, field_deg] in the
    order to take them; `turn`: frames with the same number are taken with the head as it stands. `feasible`
    false: the region cannot be shown as asked, `reason` says why, and the fields show nearly all that can
    be. `proved`: no plan has fewer; else at least `lower_bound` are needed."""

    optic: str
    region: str
    classes: list[str]
    feasible: bool
    reason: str
    other_optics: list[str]
    fields: list[PlannedField]
    turn: list[int]
    count: int
    lower_bound: int
    proved: bool
    region_fraction: float
    reachable_fraction: float
    least_join_overlap: float | None
    seconds: float
    discomfort: float


class PatternName(Struct, frozen=True, kw_only=True):
    id: PatternId
    name: str
    source: str


class PackPattern(Struct, frozen=True, kw_only=True):
    """A known pattern with one optic for the reach classes named: its fields and its figures for a region.
    `sentence` says what is better or worse than the plan."""

    optic: str
    region: str
    classes: list[str]
    id: PatternId
    fields: list[PlannedField]
    as_defined: bool
    meets: bool
    region_fraction: float
    least_join_overlap: float | None
    seconds: float
    sentence: str


class PackSweep(Struct, frozen=True, kw_only=True):
    """A sweep with one optic: gazes in order, and by sector the frames (places in `fields`) that show it."""

    optic: str
    classes: list[str]
    fields: list[PlannedField]
    joined: list[bool]
    sectors: list[Sector]


class PackChoice(Struct, frozen=True, kw_only=True):
    """One row an optic for a region and the reach classes named. A row is possible as far as region and
    face go; what else is asked (kinds of image, cross-sections, detail, minutes) is compared with its
    figures. Suggest the first of `quickest` that does it all, or, where minutes are given, the first of
    `farthest` that keeps them; say the row's `says`, and of each other possible optic the row's
    `against`."""

    region: str
    classes: list[str]
    rows: list[ChoiceRow]
    quickest: list[str]
    farthest: list[str]
