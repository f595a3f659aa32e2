"""An invented history: cases that never were, by simulation from the rates stated here. For trying the desk
out and for measuring it at size; never to be shown as measured.

Everything follows from the seed: the same seed gives the same cases, whoever runs it.
"""

import random
from collections.abc import Iterator, Sequence
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
from chinrest.log.series_events import SeriesBurst, SeriesLaid, SeriesLooked, SeriesStopped
from chinrest.log.write import ChainWriter
from chinrest.model.series.layout import LaidFrame, Layout

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
    timed: float = 0.7
    """Of fluorescein cases whose optic has a layout for two eyes: the others are shot without the clock."""
    late: float = 0.012
    """Of the frames of a timed series; they come after their window."""
    given_up: float = 0.008
    """Of the frames of a timed series."""
    stopped: float = 0.008
    """Of timed series, after some of their frames."""
    site_factor: tuple[float, ...] = (1.0, 0.8, 1.7, 1.1, 0.9)
    """How much likelier events are at each site, over and over."""


HARMS = ("none", "mild", "moderate")
SKIP_REASONS = ("does_not_apply", "done_before", "patient_declines", "no_time", "equipment")
AGAIN = ("blink", "off_centre", "dark", "blurred", "lash")
NEAR_MISSES = ("optic_loose_or_dropped", "wrong_eye", "images_lost", "other")
STOPS = ("patient_tired", "reaction", "no_more_needed")
BOTHERS = ("light", "neck", "closeness", "nausea")
OPTICS = ("narrow", "wide", "ultrawide")
DEPTHS = ("deep-set", "average", "prominent")


class InventedPhone:
    """One phone of one site, that writes cases one after another. `layouts`: of the pack that it has."""

    def __init__(
        self,
        device: str,
        boot: str,
        dice: random.Random,
        factor: float,
        steps: list[str],
        layouts: Sequence[Layout] = (),
    ) -> None:
        self.chain = ChainWriter(device, boot)
        self.dice = dice
        self.factor = factor
        self.steps = steps
        self.layouts = [
            layout
            for layout in layouts
            if layout.eyes == "two" and {injection.dye for injection in layout.dyes} == {"fluorescein"}
        ]
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
        eyes: list[Eye] = [eye, "left" if eye == "right" else "right"]
        layout = self._layout(dye, optic)
        if layout:
            followed = SeriesLaid(salt=self.salt(), protocol=layout.protocol, layout=layout.id, eyes=eyes)
            self.write(followed, 60)
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
            1,
        )
        self.write(DyeFlushed(salt=self.salt(), dye=dye), 2)  # the transit comes within seconds
        leak = dice.random() < self.rates.leak * self.factor
        self.write(LeakAsked(salt=self.salt(), dye=dye, leak=leak), 1.5)
        if leak:
            self._event("leak_at_needle", reached=True, harm="mild", optic=optic)
        if layout:
            self._series(layout, given, eyes)
        else:
            self._frames(dye, eye, optic)
        self._comfort(optic)
        if dice.random() < chance * self.factor:
            harm = "severe" if dice.random() < self.rates.severe else dice.choice(HARMS)
            self._event("dye_reaction", reached=True, harm=harm, optic=optic)

    def _layout(self, dye: str, optic: str) -> Layout | None:
        """The layout that the photographer follows, if they go by the clock."""
        fitting = [layout for layout in self.layouts if dye == "fluorescein" and layout.optic == optic]
        return self.dice.choice(fitting) if fitting and self.dice.random() < self.rates.timed else None

    def _series(self, layout: Layout, given: int, eyes: list[Eye]) -> None:
        """A timed series by its layout, `given` being the zero of the dye's clock (ms, true time)."""
        frames = sorted(layout.frames, key=lambda frame: frame.start_s)
        last = len(frames)
        if self.dice.random() < self.rates.stopped:
            last = self.dice.randrange(1, len(frames))
        for frame in frames[:last]:
            self._timed_frame(frame, layout.optic, eyes[frame.eye == "fellow"], given)
        if last < len(frames):
            self.write(SeriesStopped(salt=self.salt(), why=self.dice.choice(STOPS), for_patient=True), 5)

    def _timed_frame(self, frame: LaidFrame, optic: str, eye: Eye, given: int) -> None:
        dice, rates = self.dice, self.rates
        late = dice.random() < rates.late
        modality: Any = frame.dye
        shot: Any = {
            "eye": eye,
            "optic": optic,
            "modality": modality,
            "field": frame.field,
            "gaze_deg": (frame.h, frame.v),
            "series_frame": frame.id,
        }
        if frame.burst:
            begun_s = self._wait(given, frame.from_s + (dice.uniform(1, 8) if late else -dice.uniform(0, 2)))
            about: Any = {"eye": eye, "optic": optic, "frames": [frame.id]}
            burst = self.write(SeriesBurst(salt=self.salt(), state="started", dye_s=begun_s, **about), 0)
            dye_s = self._wait(given, begun_s + frame.end_s - frame.start_s)
            self.write(SeriesBurst(salt=self.salt(), state="ended", dye_s=dye_s, **about), 0)
            self.write(SeriesLooked(salt=self.salt(), burst=burst, shots=frame.shots, bad=[]), 20)
            self.write(FrameTaken(salt=self.salt(), outcome="taken", dye_s=begun_s, burst=burst, **shot), 0)
            return
        planned_s = max(frame.from_s, frame.start_s + dice.uniform(0, 4))
        dye_s = self._wait(given, frame.to_s + dice.uniform(2, 30) if late else min(planned_s, frame.to_s))
        if dice.random() < rates.given_up:
            self.write(FrameTaken(salt=self.salt(), outcome="missed", dye_s=dye_s, **shot), 0)
            return
        if dice.random() < rates.again:
            why = dice.choice(AGAIN)
            self.write(FrameTaken(salt=self.salt(), outcome="again", reason=why, dye_s=dye_s, **shot), 0)
            dye_s = self._wait(given, dye_s + frame.end_s - frame.start_s)
        self.write(FrameTaken(salt=self.salt(), outcome="taken", dye_s=dye_s, **shot), 0)

    def _wait(self, given: int, dye_s: float) -> float:
        """Waits until the dye's clock shows this, or not at all where it shows more; what it shows then."""
        self._at = max(self._at, given + round(1000 * dye_s))
        return round((self._at - given) / 1000, 1)

    def _frames(self, dye: str, eye: Eye, optic: str) -> None:
        """Frames without the clock."""
        dice = self.dice
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
