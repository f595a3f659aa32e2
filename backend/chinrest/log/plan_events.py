"""What is decided on the way to the pictures: which plan is followed, what to go back over, the language."""

from typing import Literal

from chinrest.log.case_events import Body, Eye


class PlanChosen(Body, frozen=True, tag="plan.chosen"):
    """The plan or known pattern that this eye is photographed by, with what it is for: `plan:REGION`, a
    pattern's id and the region such as `ring_of_four:midperiphery`, or `sweep`."""

    plan: str
    eye: Eye
    optic: str
    reason: str = ""


class SweepSector(Body, frozen=True, tag="sweep.sector"):
    """How one sector of the retina stands after a look through the frames. `sector` is `centre`, or its ring
    and an hour of the clock (1 to 12) as the photographer faces the eye: `mid-3`, `far-11`."""

    eye: Eye
    sector: str
    state: Literal["covered", "missing", "dark"]


class LanguageChosen(Body, frozen=True, tag="language.chosen"):
    """The language that the patient is spoken to in, as the pack's phrases name it."""

    language: str


PlanBody = PlanChosen | SweepSector | LanguageChosen
