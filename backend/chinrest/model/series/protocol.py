"""A protocol: which frames are asked for, and when after each dye's injection."""

from typing import Literal

from msgspec import Struct

Dye = Literal["fluorescein", "indocyanine_green"]
EyeRole = Literal["study", "fellow"]
Need = Literal["needed", "wanted"]
Eyes = Literal["one", "two"]


class Injection(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A dye, and how long after the series' first injection it is meant to be given."""

    dye: Dye
    after_s: float = 0.0


class ProtocolWindow(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Frames to be begun and ended between two moments, in seconds after the injection of `dye`.

    `at`: the centre, the pack's `fields` by their ids, or the plan that covers `region` with the optic in use
    (the centre where there is none). `every_s`: asked for again at this interval, each time within its own
    part of the window. `burst`: taken as one run from `from_s` to `to_s`, a frame every `every_s`; it cannot
    begin late when it is planned. `each`: in both eyes, in either order.
    """

    id: str
    name: str
    dye: Dye
    eye: Literal["study", "fellow", "each"]
    from_s: float
    to_s: float
    need: Need
    at: Literal["centre", "fields", "plan"] = "centre"
    fields: list[str] = []
    region: str = ""
    every_s: float | None = None
    burst: bool = False
    source: str


class Protocol(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Windows of one or two dyes on one line, which begins at the first injection.

    With one eye only the study eye's windows (and `each`, in it) are asked for.
    """

    id: str
    name: str
    summary: str
    dyes: list[Injection]
    windows: list[ProtocolWindow]

    def after_s(self, dye: Dye) -> float:
        """When this dye is given on the line. Raises KeyError for a dye that the protocol has not."""
        for injection in self.dyes:
            if injection.dye == dye:
                return injection.after_s
        raise KeyError(dye)
