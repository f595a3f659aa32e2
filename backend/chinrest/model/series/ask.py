"""What a protocol asks for, spelled out frame by frame, before anything is laid."""

from collections.abc import Callable, Sequence
from math import floor

from msgspec import Struct

from .layout import LaidFrame, MissedFrame, SeriesField
from .order import Job, Place, Taken
from .pace import Pace
from .protocol import EyeRole, Eyes, Protocol, ProtocolWindow

FieldsOf = Callable[[ProtocolWindow], Sequence[SeriesField]]
"""Where the eye looks for a window, with the optic in use."""


class AskedFrame(Struct, frozen=True, kw_only=True):
    """One frame, or one burst, with its window in seconds from its own dye's injection. `after_s`: when that
    dye is given on the line."""

    id: str
    window: ProtocolWindow
    eye: EyeRole
    field: SeriesField
    from_s: float
    to_s: float
    after_s: float

    @property
    def shots(self) -> int:
        """How many frames a burst takes; one of anything else."""
        if not self.window.burst or not self.window.every_s:
            return 1
        return floor((self.to_s - self.from_s) / self.window.every_s + 1e-9) + 1

    def job(self, pace: Pace) -> Job:
        """As the search takes it, on the line. A burst is planned whole: it begins when its window does."""
        length = self.to_s - self.from_s if self.window.burst else pace.frame_s
        return Job(
            place=Place(self.eye, self.field.turn, self.field.h, self.field.v),
            release=self.after_s + self.from_s,
            due=self.after_s + self.to_s,
            least=length,
            to_due=self.window.burst,
            needed=self.window.need == "needed",
        )

    def laid(self, taken: Taken) -> LaidFrame:
        return LaidFrame(
            id=self.id,
            window=self.window.id,
            dye=self.window.dye,
            eye=self.eye,
            field=self.field.id,
            h=self.field.h,
            v=self.field.v,
            needed=self.window.need == "needed",
            turn=self.field.turn,
            turn_deg=self.field.turn_deg,
            start_s=round(taken.begin, 3),
            end_s=round(taken.end, 3),
            from_s=self.from_s,
            to_s=self.to_s,
            burst=self.window.burst,
            shots=self.shots,
        )

    def missed(self, why: str) -> MissedFrame:
        return MissedFrame(
            why=why,
            id=self.id,
            window=self.window.id,
            dye=self.window.dye,
            eye=self.eye,
            field=self.field.id,
            h=self.field.h,
            v=self.field.v,
            needed=self.window.need == "needed",
        )


def asked(protocol: Protocol, eyes: Eyes, fields_of: FieldsOf) -> list[AskedFrame]:
    """Every frame that the protocol asks for, the study eye's first within each window."""
    frames: list[AskedFrame] = []
    for window in protocol.windows:
        after_s = protocol.after_s(window.dye)
        for eye in roles(window, eyes):
            count = 0
            for from_s, to_s in parts(window):
                for field in fields_of(window):
                    count += 1
                    frames.append(
                        AskedFrame(
                            id=f"{window.id}-{eye}-{count}",
                            window=window,
                            eye=eye,
                            field=field,
                            from_s=from_s,
                            to_s=to_s,
                            after_s=after_s,
                        )
                    )
    return frames


def roles(window: ProtocolWindow, eyes: Eyes) -> list[EyeRole]:
    """The eyes in which a window is asked for."""
    named: list[EyeRole] = ["study", "fellow"] if window.eye == "each" else [window.eye]
    return [eye for eye in named if eyes == "two" or eye == "study"]


def parts(window: ProtocolWindow) -> list[tuple[float, float]]:
    """A window that asks again at an interval, as its own parts; the last ends with the window."""
    if window.burst or not window.every_s:
        return [(window.from_s, window.to_s)]
    count = max(1, floor((window.to_s - window.from_s) / window.every_s + 1e-9))
    edges = [window.from_s + k * window.every_s for k in range(count)]
    return list(zip(edges, [*edges[1:], window.to_s], strict=True))
