"""What travels when the advice is held against what was found."""

from msgspec import Struct

from chinrest.model.face import FaceName, Landmark
from chinrest.model.rates.offset_fit import OffsetFit
from chinrest.model.rates.summary import Rate


class Band(Struct, frozen=True, kw_only=True):
    """Poses whose class has a predicted chance of touching, on one face, from `from_chance` to `to_chance`.

    `predicted`: the mean of those chances over the poses. What would have touched lies between `touched`
    and `touched_or_more`: whoever turned further first may have spared the patient the touch.
    """

    from_chance: float
    to_chance: float
    predicted: float
    poses: int
    touched: Rate
    touched_or_more: Rate


class FaceReliability(Struct, frozen=True, kw_only=True):
    face: FaceName
    summary: str
    bands: list[Band]


class Adopted(Struct, frozen=True, kw_only=True):
    """One figure of the pack's source that the offset would change."""

    landmark: Landmark
    key: str
    was: tuple[float, float, float]
    becomes: tuple[float, float, float]


class PackHeld(Struct, frozen=True, kw_only=True):
    sha256: str
    version: str
    poses: int


class Calibration(Struct, frozen=True, kw_only=True):
    """Of one pack: `poses` found straight ahead after a computed turn, of which `corrected` were noted with
    how many degrees. `adopted`: what the lead would write into `file`, rounded to a tenth of a millimetre;
    empty where there is no estimate, or where it should not be adopted, and `held_back` says why."""

    pack: PackHeld | None
    packs: list[PackHeld]
    poses: int
    unchanged: int
    corrected: int
    faces: list[FaceReliability]
    offset: OffsetFit | None
    file: str
    adopted: list[Adopted]
    held_back: str
    rules: list[str]
    position: int
    first: str | None
    last: str | None
    site: str | None
