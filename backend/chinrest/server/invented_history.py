"""An invented history: cases that never were, by simulation from the rates stated here. For trying the desk
out and for measuring it at size; never to be shown as measured.

Everything follows from the seed: the same seed gives the same cases, whoever runs it.
"""

import random
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from chinrest.log.case_events import (
    Body,
    CaseClosed,
    CaseOpened,
    ComfortNoted,
    Eye,
    FaceMeasured,
    FixationChosen,
    FrameTaken,
    Modality,
    OpticChosen,
    PauseNoted,
    PoseAdvised,
    PoseFound,
    PupilMeasured,
    SafetyNoted,
    StepDone,
    StepSkipped,
)
from chinrest.log.dye_events import DyeFlushed, DyeInjected, LeakAsked, ScreeningAnswered
from chinrest.log.write import ChainWriter

MINUTE_MS = 60_000
DAY_MS = 24 * 60 * MINUTE_MS


class Rates(Struct, frozen=True, kw_only=True):
    """The chances by which cases are made. All invented."""

    practice: float = 0.02
    cancelled: float = 0.03
    indocyanine_green: float = 0.18
    reaction: float = 0.011
    """To fluorescein, per injection."""
    reaction_green: float = 0.004
    severe: float = 0.04
    """Of reactions."""
    leak: float = 0.006
    touch: tuple[tuple[str, float], ...] = (("narrow", 0.0005), ("wide", 0.002), ("ultrawide", 0.014))
    near_miss: float = 0.012
    skipped: float = 0.02
    """Of steps."""
    again: float = 0.11
    """Of frames."""
    site_factor: tuple[float, ...] = (1.0, 0.8, 1.7, 1.1, 0.9)
    """How much likelier events are at each site, over and over."""


HARMS = ("none", "mild", "moderate")
SKIP_REASONS = ("does_not_apply", "done_before", "patient_declines", "no_time", "equipment")
AGAIN = ("blink", "off_centre", "dark", "blurred", "lash")
NEAR_MISSES = ("optic_loose_or_dropped", "wrong_eye", "images_lost", "other")
BOTHERS = ("light", "neck", "closeness", "nausea")
OPTICS = ("narrow", "wide", "ultrawide")
DEPTHS = ("deep-set", "average", "prominent")


class InventedPhone:
    """One phone of one site, that writes cases one after another."""

    def __init__(self, device: str, boot: str, dice: random.Random, factor: float, steps: list[str]) -> None:
        self.chain = ChainWriter(device, boot)
        self.dice = dice
        self.factor = factor
        self.steps = steps
        self.rates = Rates()
        # one clock in forty is wrong by an hour, one in two hundred by years
        lot = dice.random()
        self.clock_off_ms = (
            3_600_000 if lot < 0.025 else 10 * 365 * DAY_MS if lot < 0.03 else dice.randint(-900, 900)
        )
        self._at = 0
        self._case: str | None = None
        self._practice = False
        self._actor = "AB"
        self._pack: str | None = None
        self._lines: list[bytes] = []

    def write(self, body: Body, after_s: float = 20.0) -> str:
        """A line, some seconds after the last; its id."""
        self._at += int(1000 * after_s * self.dice.uniform(0.5, 1.5))
        line = self.chain.write(
            body,
            at=self._at + self.clock_off_ms,
            mono=self._at % DAY_MS,
            actor=self._actor,
            case=self._case,
            practice=self._practice,
            pack=self._pack,
        )
        self._lines.append(line.raw)
        return line.envelope.id

    def case(self, number: int, at: int, pack: str) -> list[bytes]:
        """The lines of one case, which begins at `at` (ms, true time)."""
        dice, rates = self.dice, self.rates
        self._lines, self._at, self._pack = [], at, pack
        self._case = f"{dice.getrandbits(128):032x}"
        self._practice = dice.random() < rates.practice
        self._actor = dice.choice(("AB", "CD", "EF", "GH"))
        green = dice.random() < rates.indocyanine_green
        modalities: list[Modality] = ["colour", "fluorescein"]
        if green:
            modalities.append("indocyanine_green")
        study: Eye = dice.choice(("right", "left"))
        self.write(
            CaseOpened(
                salt=self.salt(),
                code=f"INV-{number:06d}",
                eyes=["right", "left"],
                study_eye=study,
                modalities=modalities,
                cross_sections=dice.random() < 0.2,
                flags=[],
            )
        )
        if dice.random() < rates.cancelled:
            self.write(CaseClosed(salt=self.salt(), outcome="cancelled"))
            return self._lines
        self._prepare(study)
        optic = dice.choices(OPTICS, (1, 3, 4))[0]
        self._mount(optic, study)
        self._dye("fluorescein", rates.reaction, study, optic)
        if green:
            self._dye("indocyanine_green", rates.reaction_green, study, optic)
        if dice.random() < 0.15:
            self._mount(dice.choice(OPTICS), study)
        self._finish()
        return self._lines

    def salt(self) -> str:
        return f"{self.dice.getrandbits(126):032x}"[:22] + "=="

    def _prepare(self, study: Eye) -> None:
        dice = self.dice
        for question in ("earlier_reaction", "asthma", "pregnancy"):
            self.write(
                ScreeningAnswered(salt=self.salt(), question=question, answer="no", consequence="go"), 8
            )
        depth: Any = dice.choices(DEPTHS, (1, 3, 1))[0]
        for eye in (study, "left" if study == "right" else "right"):
            self.write(
                FaceMeasured(
                    salt=self.salt(),
                    eye=eye,
                    pd_mm=round(dice.gauss(63, 3.5), 1),
                    exophthalmometry=depth,
                    nose=dice.choice(("low", "medium", "high")),
                    brow=dice.choice(("flat", "medium", "heavy")),
                    neck="free",
                    age_band=dice.choice(("18-39", "40-59", "60-79")),
                )
            )
            self.write(
                PupilMeasured(salt=self.salt(), eye=eye, pupil_mm=round(dice.uniform(5, 8), 1), dilated=True)
            )
            self.write(
                FixationChosen(
                    salt=self.salt(), eye=eye, method="outside", imaged_sees=True, fellow_sees=True
                ),
                10,
            )
        for step in self.steps:
            if dice.random() < self.rates.skipped:
                self.write(StepSkipped(salt=self.salt(), step=step, reason=dice.choice(SKIP_REASONS)), 6)
            else:
                self.write(StepDone(salt=self.salt(), step=step), 12)

    def _mount(self, optic: str, eye: Eye) -> None:
        dice = self.dice
        self.write(OpticChosen(salt=self.salt(), optic=optic), 40)
        if dice.random() < self.rates.near_miss * self.factor:
            self._event(dice.choice(NEAR_MISSES), reached=False, harm="none", optic=optic)
        advised = round(max(0.0, dice.gauss(9 if optic == "ultrawide" else 2, 4)), 1)
        likely: Any = "likely_clear" if advised < 4 else "close" if advised < 10 else "expect_to_adjust"
        self.write(
            PoseAdvised(
                salt=self.salt(),
                eye=eye,
                optic=optic,
                gaze_deg=(0.0, 0.0),
                reason=None,
                yaw_deg=advised,
                pitch_deg=0.0,
                working_distance_mm=10.0 if optic == "ultrawide" else 30.0,
                clearance_mm=4.0,
                nearest="bridge",
                field_deg=102.0 if optic == "ultrawide" else 56.0,
                words=likely,
            ),
            10,
        )
        touched = dice.random() < dict(self.rates.touch)[optic] * self.factor
        outcome: Any = dice.choices(("as_advised", "more", "less"), (6, 3, 1))[0]
        self.write(
            PoseFound(
                salt=self.salt(),
                eye=eye,
                optic=optic,
                gaze_deg=(0.0, 0.0),
                outcome=outcome,
                by_deg=None if outcome == "as_advised" else float(dice.choice((2, 4, 6))),
                nearest=dice.choice(("bridge", "brow", "tip")),
                touched=touched,
            ),
            30,
        )

    def _dye(self, dye: str, chance: float, eye: Eye, optic: str) -> None:
        dice = self.dice
        given = self._at
        self.write(
            DyeInjected(
                salt=self.salt(),
                dye=dye,
                arm=dice.choice(("right", "left")),
                route="intravenous",
                pressed_at=given + self.clock_off_ms,
                pressed_mono=given % DAY_MS,
            ),
            5,
        )
        self.write(DyeFlushed(salt=self.salt(), dye=dye), 8)
        leak = dice.random() < self.rates.leak * self.factor
        self.write(LeakAsked(salt=self.salt(), dye=dye, leak=leak), 6)
        if leak:
            self._event("leak_at_needle", reached=True, harm="mild", optic=optic)
        modality: Any = dye
        for number in range(8):
            again = dice.random() < self.rates.again
            self.write(
                FrameTaken(
                    salt=self.salt(),
                    eye=eye,
                    optic=optic,
                    modality=modality,
                    field=f"frame_{number + 1}",
                    gaze_deg=(0.0, 0.0),
                    outcome="again" if again else "taken",
                    reason=dice.choice(AGAIN) if again else "",
                ),
                25,
            )
        self._comfort(optic)
        if dice.random() < chance * self.factor:
            harm = "severe" if dice.random() < self.rates.severe else dice.choice(HARMS)
            self._event("dye_reaction", reached=True, harm=harm, optic=optic)

    def _comfort(self, optic: str) -> None:
        score = max(0, min(10, round(self.dice.gauss(3.4 if optic == "ultrawide" else 2.1, 1.8))))
        bothers = [self.dice.choice(BOTHERS)] if score > 2 else []
        self.write(ComfortNoted(salt=self.salt(), score=score, bothers=bothers), 15)
        if score >= 7:
            self.write(PauseNoted(salt=self.salt(), state="started", why="comfort"), 5)
            self.write(PauseNoted(salt=self.salt(), state="ended"), 120)

    def _event(self, what: str, *, reached: bool, harm: Any, optic: str) -> None:
        self.write(
            SafetyNoted(
                salt=self.salt(),
                what=what,
                reached_patient=reached,
                harm=harm,
                signs=["nausea"] if what == "dye_reaction" else [],
                done=[],
                told=["clinician"],
                optic=optic,
                note="Invented.",
            )
        )

    def _finish(self) -> None:
        self._comfort("wide")
        for step in self.steps[-6:]:
            self.write(StepDone(salt=self.salt(), step=step, optic="end"), 15)
        outcome: Any = "completed" if self.dice.random() < 0.98 else "stopped"
        self.write(CaseClosed(salt=self.salt(), outcome=outcome), 30)


def opening_hours(dice: random.Random, first: int, last: int, count: int) -> Iterator[int]:
    """Moments in the order of time, spread over the days between `first` and `last` (ms), from 8 to 16 h
    UTC."""
    days = max(1, (last - first) // DAY_MS)
    for start in sorted(dice.uniform(0, days) for _ in range(count)):
        day = int(start)
        yield first + day * DAY_MS + int((8 + 8 * (start - day)) * 60 * MINUTE_MS)
