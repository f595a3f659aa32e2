"""The face as capsules through landmarks, each moving evenly with what can be measured or judged."""

from __future__ import annotations

from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]
Vector = tuple[float, float, float]

Landmark = Literal[
    "brow",
    "lateral_brow",
    "glabella",
    "nasal_root",
    "bridge",
    "tip",
    "nasal_flank",
    "lower_orbital_rim",
    "cheek",
    "lateral_orbital_rim",
]
EyeDepthClass = Literal["deep-set", "average", "prominent"]
NoseClass = Literal["low", "medium", "high"]
BrowClass = Literal["flat", "medium", "heavy"]
NeckClass = Literal["free", "limited", "fixed"]
FaceName = Literal["nominal", "forward"]


class FaceMeasures(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What is measured or judged at the chin rest.

    Interpupillary distance in mm; exophthalmometry in mm or as a judged class.
    """

    pd_mm: float
    exophthalmometry: float | EyeDepthClass
    nose: NoseClass
    brow: BrowClass
    neck: NeckClass


class MeasureRange(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Values outside `low`..`high` are refused, with `why` as the sentence."""

    low: float
    high: float
    why: str


class ClassValue(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a judged class stands for: a value, the spread (SD) of people so judged, both mm, and how to
    judge it.

    For eye depth the value is an exophthalmometry. For nose and brow it is how far forward of the medium
    class the nasal root or the brow stands; each landmark follows by its own share (see `Placement`).
    """

    value_mm: float
    spread_mm: float
    meaning: str


class Placement(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One landmark: a point of the skin in the head frame, mm, and how it moves.

    position = mean + per_pd (pd - reference pd) + per_exophthalmometry (exophthalmometry - reference)
             + nose_direction x nose class value + brow_direction x brow class value.
    `sd_mm` is the scatter that remains between people, by axis.
    """

    mean_mm: Vector
    sd_mm: Vector
    per_pd: Vector = (0.0, 0.0, 0.0)
    per_exophthalmometry: Vector = (0.0, 0.0, -1.0)
    nose_direction: Vector = (0.0, 0.0, 0.0)
    brow_direction: Vector = (0.0, 0.0, 0.0)
    source: str


class Face(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole face under one anchor for how far the mid-line stands before the cornea."""

    summary: str
    landmarks: dict[Landmark, Placement]


class CapsuleEnd(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One end: the landmark, the radius there, and the step from skin point to axis (mm)."""

    landmark: Landmark
    radius_mm: float
    inset_mm: Vector


class Capsule(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A rounded solid between two landmarks; the radius changes evenly from end to end."""

    start: CapsuleEnd
    end: CapsuleEnd


class EyeDepth(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Exophthalmometry in mm: the reference, the cut-offs between judged classes, the error of a
    measurement."""

    reference_mm: float
    deep_set_below_mm: float
    prominent_above_mm: float
    measured_spread_mm: float
    classes: dict[EyeDepthClass, ClassValue]


class FaceTables(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Everything the model knows of faces.

    The two faces are never pooled: their difference is bias, not scatter.
    """

    summary: str
    pd_reference_mm: float
    pd_range: MeasureRange
    pd_measured_spread_mm: float
    exophthalmometry_range: MeasureRange
    eye_depth: EyeDepth
    nose_classes: dict[NoseClass, ClassValue]
    brow_classes: dict[BrowClass, ClassValue]
    nominal: Face
    forward: Face
    capsules: list[Capsule]
    sources: list[str]
