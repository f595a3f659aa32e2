"""What a photographer's phone writes about one case.

Each class is the body of one event type (its tag). `salt` is 16 random bytes in base64, so that a short body
cannot be guessed from its hash. Fields are only ever added, with a default: an old line must stay readable.
"""

from typing import Literal

from msgspec import Struct

Eye = Literal["right", "left"]
Modality = Literal["colour", "fluorescein", "indocyanine_green"]
Harm = Literal["none", "mild", "moderate", "severe", "death"]
"""WHO degree of harm."""


class Body(Struct, frozen=True, kw_only=True, tag_field="type"):
    salt: str


class CaseOpened(Body, frozen=True, tag="case.opened"):
    """`code` is the clinic's own case code, never a name. `asked` is what the request asks for."""

    code: str
    eyes: list[Eye]
    study_eye: Eye | None
    modalities: list[Modality]
    cross_sections: bool
    flags: list[str]
    note: str = ""


class CaseFlagged(Body, frozen=True, tag="case.flagged"):
    """The whole new list of flags (each an id from the pack) and eyes, replacing the earlier one."""

    flags: list[str]
    study_eye: Eye | None = None


class CaseTaken(Body, frozen=True, tag="case.taken"):
    """This device goes on with a case; `seen` is how many lines of it the device held when it took it."""

    seen: int


class OpticChosen(Body, frozen=True, tag="optic.chosen"):
    """The photographer's own choice; `suggested` is the optic that the phone named first, where it named
    one."""

    optic: str
    reason: str = ""
    suggested: str | None = None


class StepDone(Body, frozen=True, tag="step.done"):
    """`step` is an id from the pack; `eye` and `optic` say which round of a repeated step."""

    step: str
    eye: Eye | None = None
    optic: str | None = None
    value: str | None = None


class StepSkipped(Body, frozen=True, tag="step.skipped"):
    step: str
    reason: str
    note: str = ""
    eye: Eye | None = None
    optic: str | None = None


class FaceMeasured(Body, frozen=True, tag="face.measured"):
    """`exophthalmometry` in mm, or the class as judged. `unusual` names why no turn may be computed."""

    eye: Eye
    pd_mm: float
    exophthalmometry: float | Literal["deep-set", "average", "prominent"]
    nose: Literal["low", "medium", "high"]
    brow: Literal["flat", "medium", "heavy"]
    neck: Literal["free", "limited", "fixed"]
    age_band: str
    unusual: str | None = None


class PupilMeasured(Body, frozen=True, tag="pupil.measured"):
    eye: Eye
    pupil_mm: float
    dilated: bool


class FixationChosen(Body, frozen=True, tag="fixation.chosen"):
    """What each eye can do, and how it is guided."""

    eye: Eye
    method: Literal["inside", "outside", "spoken"]
    imaged_sees: bool
    fellow_sees: bool
    squint: bool = False
    drifts: bool = False


class PoseAdvised(Body, frozen=True, tag="pose.advised"):
    """What the phone computed and showed; null pose with `reason` where nothing was computed or possible."""

    eye: Eye
    optic: str
    gaze_deg: tuple[float, float]
    reason: str | None
    yaw_deg: float | None
    pitch_deg: float | None
    working_distance_mm: float | None
    clearance_mm: float | None
    nearest: str | None
    field_deg: float | None
    words: Literal["likely_clear", "close", "expect_to_adjust"] | None


class PoseFound(Body, frozen=True, tag="pose.found"):
    """How it was in truth. `yaw_deg` and `pitch_deg` are as used, where the photographer says so."""

    eye: Eye
    optic: str
    gaze_deg: tuple[float, float]
    outcome: Literal["as_advised", "more", "less", "not_reached"]
    by_deg: float | None = None
    nearest: str | None = None
    touched: bool = False
    yaw_deg: float | None = None
    pitch_deg: float | None = None


class FrameTaken(Body, frozen=True, tag="frame.taken"):
    """`outcome`: taken, again (with why), or missed. `field` is the pack's field id, or free.

    In a timed series `series_frame` is the layout's frame, `dye_s` when it was shot or given up, in seconds
    since the injection; `burst` is the line that began the burst which it was taken in.
    """

    eye: Eye
    optic: str
    modality: Modality
    field: str
    gaze_deg: tuple[float, float]
    outcome: Literal["taken", "again", "missed"]
    reason: str = ""
    series_frame: str | None = None
    dye_s: float | None = None
    burst: str | None = None


class ComfortNoted(Body, frozen=True, tag="comfort.noted"):
    """0 (comfortable) to 10 (as bad as can be), and what bothers (ids from the pack)."""

    score: int
    bothers: list[str]
    note: str = ""


class PauseNoted(Body, frozen=True, tag="pause.noted"):
    state: Literal["started", "ended"]
    why: str = ""


class SafetyNoted(Body, frozen=True, tag="safety.noted"):
    """A safety event or near miss. `reached_patient` false is a near miss, whatever `harm` might have been.

    `harm` is the WHO degree (none, mild, moderate, severe, death), or null when not yet known; the signs are
    stored as seen, and no class is derived while the event runs. `late`: it came after the case was closed,
    as a reaction at home does.

    `dye_s`: seconds since the latest dye went in, null where none did. `reaction`: the line that opened the
    reaction which this tells of. `finished`: whoever wrote it says that no more is known.

    Of a late event: `when` it was, in the patient's words, and how many hours after the last dye went in, as
    told (`after_dye_h`; null where nobody knows).
    """

    what: str
    reached_patient: bool | None
    harm: Harm | None
    signs: list[str]
    done: list[str]
    told: list[str]
    note: str = ""
    step: str | None = None
    optic: str | None = None
    eye: Eye | None = None
    late: bool = False
    dye_s: float | None = None
    reaction: str | None = None
    finished: bool = False
    when: str = ""
    after_dye_h: float | None = None


class LineAmended(Body, frozen=True, tag="line.amended"):
    """Amends an earlier line of the same case: both stay. `body` is the new body of `line`'s type, or null:
    it did not happen."""

    line: str
    body: dict[str, object] | None
    why: str


class LinesConfirmed(Body, frozen=True, tag="lines.confirmed"):
    """Who wrote these lines (by id), said afterwards: the phone was locked then, so they name nobody."""

    lines: list[str]
    by: str


class CaseHandedOver(Body, frozen=True, tag="case.handed_over"):
    to: str
    note: str = ""


class CaseClosed(Body, frozen=True, tag="case.closed"):
    outcome: Literal["completed", "stopped", "cancelled"]
    note: str = ""


CaseBody = (
    CaseOpened
    | CaseFlagged
    | CaseTaken
    | OpticChosen
    | StepDone
    | StepSkipped
    | FaceMeasured
    | PupilMeasured
    | FixationChosen
    | PoseAdvised
    | PoseFound
    | FrameTaken
    | ComfortNoted
    | PauseNoted
    | SafetyNoted
    | LineAmended
    | LinesConfirmed
    | CaseHandedOver
    | CaseClosed
)
