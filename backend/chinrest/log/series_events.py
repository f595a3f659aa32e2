"""What a phone writes about the timed series of a case, beside its frames.

Seconds are since the injection of the dye, as the phone's clock for that dye had them. Fields are only ever
added, with a default: an old line must stay readable.
"""

from typing import Literal

from chinrest.log.case_events import Body, Eye


class SeriesLaid(Body, frozen=True, tag="series.laid"):
    """From here on the photographer follows this layout.

    `protocol` and `layout` are ids of the pack; `eyes` is the order of the eyes, the study eye first.
    """

    protocol: str
    layout: str
    eyes: list[Eye]


class SeriesBurst(Body, frozen=True, tag="series.burst"):
    """The early frames, taken as shot: both hands are on the instrument, and nothing is judged.

    `frames` are the layout's frames that it stands for; they are looked through afterwards.
    """

    state: Literal["started", "ended"]
    eye: Eye
    optic: str
    frames: list[str]
    dye_s: float | None


class SeriesLooked(Body, frozen=True, tag="series.looked"):
    """A burst, looked through.

    `burst` is the line that began it; `shots` how many frames it has; `bad` those of no use, from 1.
    """

    burst: str
    shots: int
    bad: list[int]


class SeriesStopped(Body, frozen=True, tag="series.stopped"):
    """No more frames of the series are asked for. The dye's clock goes on.

    `for_patient`: stopped for the patient's sake, which lengthens the watch once a dye is in. None, as in
    older lines: not said, and counted as if it were.
    """

    why: str
    for_patient: bool | None = None


class ClockUncertain(Body, frozen=True, tag="clock.uncertain"):
    """The phone can't say how long ago the dye was given: both its clocks failed, or another phone timed it.

    `wall_s` is by the time of day; `mono_s` by what the app counted, without the gap, so that it is the least
    that it can be; `agreed_s` is what the team takes it to be at this line, and `by` who said so.
    """

    dye: str
    wall_s: float
    mono_s: float | None = None
    agreed_s: float | None = None
    by: str = ""


SeriesBody = SeriesLaid | SeriesBurst | SeriesLooked | SeriesStopped | ClockUncertain
