"""What is written between the screening and the end of the watch: answers, doses, the moment of injection.

None of these is advice: a dose is arithmetic over what the clinic's lead approved, a release is a licensed
person's own decision, and a watch is as long as the clinic's own rule.
"""

from typing import Literal

from chinrest.log.case_events import Body, Eye, Modality

Consequence = Literal["go", "note", "ask", "stop"]
"""What the clinic's pack says of an answer: nothing, keep it in mind, ask the physician, or stop."""


class ScreeningAnswered(Body, frozen=True, tag="screening.answered"):
    """`question` and `answer` are ids of the pack. A later answer to the same question replaces the earlier.

    `consequence` is what the pack in force said of it, so that the line can be read without that pack.
    `why`: the reason, where an answer that held the dye back is replaced by one that holds it back less.
    """

    question: str
    answer: str
    note: str = ""
    consequence: Consequence | None = None
    why: str = ""


class PhysicianAsked(Body, frozen=True, tag="physician.asked"):
    """What the physician said of an answer that asks for them. `goes_on` false is a stop from then on."""

    question: str
    answer: str
    by: str
    role: str
    goes_on: bool
    words: str = ""


class StopReleased(Body, frozen=True, tag="stop.released"):
    """A licensed person lets the dye go ahead in spite of a stop, in their own words.

    Names what was stopped: a screening question (with the `answer` that was released: another answer is
    another stop), or a step of weight stop. `by` is initials or a staff id, `role` as the clinic calls it.
    """

    question: str | None
    step: str | None
    by: str
    role: str
    words: str
    answer: str | None = None
    eye: Eye | None = None
    optic: str | None = None


class DyeLeftOut(Body, frozen=True, tag="dye.left_out"):
    """The visit goes on without these dyes; what was asked for stays as it was asked. `why` in words."""

    modalities: list[Modality]
    why: str
    question: str | None = None
    step: str | None = None


class DoseWorked(Body, frozen=True, tag="dose.worked"):
    """The arithmetic as it was shown. Amounts are decimals as text, exactly as worked.

    `working` is the line that a second person can follow. `with_dye` is the other dye whose mass was added
    for the cap on both. Null weight where the pack's rule is a fixed dose. `made_up_min`: whole minutes from
    when the dye was made up to this line; null where it comes ready, or nobody said.
    """

    dye: str
    weight_kg: str | None
    concentration_mg_ml: str
    dose_mg: str
    volume_ml: str
    capped: bool
    working: str
    with_dye: str | None = None
    made_up_min: int | None = None


class DoseChecked(Body, frozen=True, tag="dose.checked"):
    """A second person worked it through by themselves. `agrees` false stops the injection until reworked.

    `what`: the phone's working was checked; or the physician's own order, where the clinic's dose rules are
    not for this patient. Then `note` holds the order as it was said aloud, and who gave it. `worked_by`:
    whose working it was, never the same person. `dose_line` and `volume_ml`: the line of the dose that was
    compared, and its volume; agreeing counts for that dose alone. `own_volume_ml`: their own figure, entered
    before the phone showed its; null where they worked it by hand and compared on sight.
    """

    dye: str
    by: str
    role: str
    agrees: bool
    note: str = ""
    what: Literal["working", "order"] = "working"
    worked_by: str = ""
    dose_line: str | None = None
    volume_ml: str | None = None
    own_volume_ml: str | None = None


class DyeInjected(Body, frozen=True, tag="dye.injected"):
    """The zero of this dye's clock.

    `pressed_at` (wall clock, ms since the epoch) and `pressed_mono` (monotonic, ms since the start that the
    envelope's `boot` names) are of when the press began, not of when it had been held long enough.
    """

    dye: str
    arm: Literal["right", "left"] | None
    route: str
    pressed_at: int
    pressed_mono: int


class DyeFlushed(Body, frozen=True, tag="dye.flushed"):
    """The saline after the bolus is in."""

    dye: str


class LeakAsked(Body, frozen=True, tag="leak.asked"):
    """Whether anything went beside the vein: asked at the bolus, and again at the arm afterwards."""

    dye: str
    leak: bool
    note: str = ""
    moment: Literal["at_injection", "at_the_end"] = "at_injection"


class WatchStarted(Body, frozen=True, tag="watch.started"):
    """`minutes` by the pack's rules of the names in `rules`, counted from `since` (wall clock, ms)."""

    minutes: int
    rules: list[str]
    since: int


class WatchEnded(Body, frozen=True, tag="watch.ended"):
    """`after_min` whole minutes after the watch's `since`. `early`: before its minutes were over, and why."""

    after_min: int
    early: bool
    well: bool | None = None
    why: str = ""


class TakeawayGiven(Body, frozen=True, tag="takeaway.given"):
    """The clinic's take-away card, by the ids of what it said, in the patient's language."""

    language: str
    how: Literal["printed", "shared", "shown", "read_out", "declined"]
    parts: list[str]


DyeBody = (
    ScreeningAnswered
    | PhysicianAsked
    | StopReleased
    | DyeLeftOut
    | DoseWorked
    | DoseChecked
    | DyeInjected
    | DyeFlushed
    | LeakAsked
    | WatchStarted
    | WatchEnded
    | TakeawayGiven
)
