"""The guidance pack as it travels: one JSON, named by the SHA-256 of its bytes.

Everything that the phone may say or ask stands here, so that the clinic's lead can change it without code.
"""

from typing import Literal

from msgspec import Struct

from chinrest.model.dye.aftercare import Takeaway, Watch
from chinrest.model.dye.rule import Dosing, Dye
from chinrest.model.dye.screening import ScreeningQuestion
from chinrest.model.dye.vectors import DoseVector
from chinrest.model.face import FaceTables
from chinrest.model.fields.phone import CellVector, PackRegion, PhoneRetina
from chinrest.model.fit import EyeSide, Limits
from chinrest.model.optic import Modality, Optic
from chinrest.model.reaction.tables import ReactionTables
from chinrest.model.series.clock_vectors import ClockVector
from chinrest.model.series.layout import Layout
from chinrest.model.series.next_frame_vectors import NextFrameVector
from chinrest.model.series.pace import PACE, Pace
from chinrest.model.series.protocol import Protocol
from chinrest.model.tables import PupilTable, TouchTable
from chinrest.model.vectors import FitVector

from .planned import (
    PackChoice,
    PackPattern,
    PackPlan,
    PackSweep,
    PatternName,
    Planning,
    ReachClass,
)
from .regions import DrawnRegion

Weight = Literal["stop", "must", "should", "note"]
"""A `stop` is passed by doing it, or by a named licensed person's release; a `must` also with a reason."""
Screen = Literal[
    "tick",
    "face",
    "pupil",
    "fixation",
    "position",
    "found",
    "frames",
    "series",
    "comfort",
    "optic",
    "text",
    "number",
    "screening",
    "ready",
    "release",
    "dose",
    "inject",
    "arm",
    "watch",
    "takeaway",
    "images",
]


class Condition(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """All that is given must hold. A list holds when any of it does. Empty means always.

    `flags`: any of these flags is set on the case; `without_flags`: none of these is.
    `optic_change`: for the round of one optic, true when another optic was on before it in this case; false
    when it is the first. `close_optic`: its working distance is at or below thresholds' `close_optic_mm`.
    `study_eye`: true when this round's eye is the study eye, or none is named; false for the fellow eye.
    `modalities` and `cross_sections` are of what the case asks for.
    """

    optics: list[str] = []
    eyes: list[EyeSide] = []
    modalities: list[Modality] = []
    flags: list[str] = []
    without_flags: list[str] = []
    cross_sections: bool | None = None
    optic_change: bool | None = None
    close_optic: bool | None = None
    study_eye: bool | None = None


class Step(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One thing to do, as an imperative sentence; `why` is folded away; `say` is the key in `Pack.phrases` of
    what the patient is told.

    `each`: asked once for the case, for each eye, or for each optic used. Neighbours in one stage with the
    same `each` are gone through round by round: all of them for the first eye and optic, then all for the
    next. Optics come in the order of use, and under each the study eye first. `screen` says what the phone
    shows.
    `shows`: the optic's own sentences to list beneath. `fields`: the frames that a `frames` screen checks off
    (those whose own condition holds), or a `series` screen where no layout of a protocol fits the case. A
    `number` screen has a `unit` and refuses what is outside `least` to `most`. `dye`: the dye that a
    `dose` or `inject` screen is about.
    """

    id: str
    stage: str
    weight: Weight
    text: str
    why: str = ""
    say: str = ""
    screen: Screen = "tick"
    each: Literal["case", "eye", "optic", "eye_and_optic"] = "case"
    when: Condition = Condition()
    source: str = ""
    shows: Literal["nothing", "swap_steps", "focus_steps"] = "nothing"
    fields: list[str] = []
    unit: str = ""
    least: float | None = None
    most: float | None = None
    dye: str = ""


class Stage(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    id: str
    name: str


class Choice(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An answer that can be picked: a flag, a reason, a sign, what bothers, what was done."""

    id: str
    text: str
    help: str = ""


class Choices(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Every list that is picked from. `flags` are facts of the patient or request; `unusual` are reasons
    for not computing a turn; `nearest` names where the optic was nearest; `safety_what` the kinds of event.
    """

    flags: list[Choice]
    unusual: list[Choice]
    age_bands: list[Choice]
    skip_reasons: list[Choice]
    nearest: list[Choice]
    frame_again: list[Choice]
    bothers: list[Choice]
    safety_what: list[Choice]
    signs: list[Choice]
    safety_done: list[Choice]
    told: list[Choice]
    harm: list[Choice]
    harm_scale: str


class Field(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A frame to take: where the eye looks (nasal+, up+), for which modalities, with which optics."""

    id: str
    name: str
    gaze_deg: tuple[float, float]
    when: Condition = Condition()


class Contact(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An emergency contact of one site (or every site when `site` is empty)."""

    site: str
    name: str
    phone: str
    note: str = ""


class Emergency(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The clinic's own page. `first` is what the way out opens with."""

    first: list[str]
    contacts: list[Contact]
    kit: str
    local_steps: list[str]
    caution: str


class Thresholds(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`keep_days`: how long a closed and acknowledged case stays on the phone. `close_optic_mm`: a working
    distance at or below this is a close optic. `large_move_deg`: a move of the gaze this far or further is
    made with the instrument drawn back. `chin_rest_break_min`: after so many minutes in the rest a break is
    offered, 0 for never."""

    comfort_pause_at: int
    comfort_rise_pause: int
    keep_days: float
    close_optic_mm: float
    large_move_deg: float
    clock_warn_ms: int
    chin_rest_break_min: float = 0.0


class Site(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    id: str
    name: str
    has_network: bool


class Pack(Struct, frozen=True, kw_only=True):
    """`format` is the number of this layout; a phone that doesn't know it keeps its old pack and says so.

    `phrases`: language, then key, then what is said to the patient. `phrases_unreviewed`: languages whose
    wording nobody who speaks them has signed yet. `phrase_fallbacks`: language, then the language that stands
    in for what it does not say.
    """

    format: int
    clinic: str
    version: str
    demo: bool
    language: str
    cautions: list[str]
    sites: list[Site]
    optics: list[Optic]
    faces: FaceTables
    limits: Limits
    pupil: PupilTable
    touch: TouchTable
    stages: list[Stage]
    steps: list[Step]
    fields: list[Field]
    choices: Choices
    phrases: dict[str, dict[str, str]]
    thresholds: Thresholds
    emergency: Emergency
    fit_vectors: list[FitVector]
    phrases_unreviewed: list[str] = []
    phrase_fallbacks: dict[str, str] = {}
    protocols: list[Protocol] = []
    pace: Pace = PACE
    layouts: list[Layout] = []
    clock_vectors: list[ClockVector] = []
    next_frame_vectors: list[NextFrameVector] = []
    dosing: Dosing | None = None
    dyes: list[Dye] = []
    screening: list[ScreeningQuestion] = []
    reaction: ReactionTables | None = None
    watch: Watch | None = None
    takeaway: Takeaway | None = None
    dose_vectors: list[DoseVector] = []
    own_regions: list[DrawnRegion] = []
    retina: PhoneRetina | None = None
    regions: list[PackRegion] = []
    cell_vectors: list[CellVector] = []
    planning: Planning = Planning()
    reach_classes: list[ReachClass] = []
    plans: list[PackPlan] = []
    pattern_names: list[PatternName] = []
    patterns: list[PackPattern] = []
    sweeps: list[PackSweep] = []
    optic_choices: list[PackChoice] = []
