"""A layout: a protocol's frames on one line, in order, with what could not be kept and what would help."""

from typing import Literal

from msgspec import Struct

from .protocol import Dye, EyeRole, Eyes, Injection


class SeriesField(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the eye looks for a frame (degrees, nasal +, up +), and the head turn that it asks for there.

    `turn`: frames of one optic with the same number are taken with the head as it stands.
    `turn_deg`: that turn, [yaw, pitch] as in the fit model; null where none was computed.
    """

    id: str
    name: str
    h: float
    v: float
    turn: int = 0
    turn_deg: tuple[float, float] | None = None


class LaidFrame(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One frame, or one burst.

    `start_s` to `end_s` on the line, in seconds from the first injection; the moves before it lie before
    `start_s`. `from_s` and `to_s` are its window in seconds from the injection of its own `dye`. `shots`: how
    many a burst takes.
    """

    id: str
    window: str
    dye: Dye
    eye: EyeRole
    field: str
    h: float
    v: float
    turn: int
    turn_deg: tuple[float, float] | None
    start_s: float
    end_s: float
    from_s: float
    to_s: float
    needed: bool
    burst: bool
    shots: int


class MissedFrame(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A frame that was asked for and that the layout cannot keep, and why, as a sentence."""

    id: str
    window: str
    dye: Dye
    eye: EyeRole
    field: str
    h: float
    v: float
    needed: bool
    why: str = ""


RemedyKind = Literal["fewer_fields", "other_optic", "wider_window", "one_eye"]


class Remedy(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One change by which every frame that was asked for would be kept.

    `window` and `amount`: how many fields of it can be kept, or seconds by which it must end later; `optic`:
    which other one. `keeps`: `all` frames asked for, or only those `needed`.
    """

    kind: RemedyKind
    keeps: Literal["all", "needed"]
    window: str = ""
    amount: float | None = None
    optic: str = ""
    sentence: str


class Layout(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was laid for a protocol with one optic, in one eye or two.

    `id`: protocol, optic, eyes (and a number, but for the usual face), as a case names what it followed.
    `classes`: the reach classes of the faces that it is for; empty where it is for any. `slack_s`: how late
    any one frame may begin with everything after it still kept; a burst apart, which begins when it must.
    `proved`: no order keeps more. `could_keep_more`: where it is not proved, by how many frames a better
    order might still beat it.
    """

    id: str
    protocol: str
    optic: str
    eyes: Eyes
    dyes: list[Injection]
    frames: list[LaidFrame]
    missed: list[MissedFrame]
    slack_s: float
    proved: bool
    could_keep_more: int = 0
    remedies: list[Remedy] = []
    notes: list[str] = []
    classes: list[str] = []
