"""Tables that a phone only looks up: compiled here, so that it holds no formula for them."""

from msgspec import Struct

from .face import Landmark


class PupilTable(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Pupil ratio by horizontal gaze (nasal+): entry i stands at `from_deg` + i x `step_deg`.

    Between two entries the phone takes the smaller (the careful side); beyond the ends, the end.
    """

    from_deg: float
    step_deg: float
    ratios: list[float]
    source: str


class TouchRow(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """For one optic and the landmark it is nearest to: the clearance (mm, nominal face) from which each word is used.

    None: no clearance that was tried earns the word. A clearance below both is expect_to_adjust, as is a landmark
    without a row.
    """

    optic: str
    landmark: Landmark
    likely_clear_mm: float | None
    close_mm: float | None
    samples: int


class TouchTable(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Words for how near the optic comes, by the worse of the two faces and rounded to the careful side."""

    rows: list[TouchRow]
    how: str
