"""How far the mid-line stands from where a pack has it, from what photographers had to turn more or less.

Each pose that was corrected by d whole degrees is one observation. If the mid-line stood at an offset, the
turn needed would differ from the one advised by shift(offset), which the model says for each class of face;
about it people scatter with a normal SD that is estimated too. A correction is noted in whole degrees, so its
chance is that of d - 1/2 to d + 1/2. Only poses that were corrected are used, so the chance is conditional on
that: a normal distribution truncated to corrections of half a degree and more. Advice that was taken
unchanged says nothing (nobody tried another turn), and touches are left out: they are rare, and whoever
expects one turns first.

The interval is where the profile log-likelihood lies within half the 95 % point of chi-squared with one
degree of freedom below its best (Wilks 1938, Ann Math Stat 9:60). It takes poses as independent, and "less"
as noted as readily as "more"; `from_more` uses the larger turns alone and needs no such thing, so a
difference between the two tells that it is not so.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.special import log_ndtr

from .intervals import Interval

Array = NDArray[np.floating[Any]]
HALF_CHI_SQUARED = 1.9207294103470494
STEP_MM = 0.1
SCATTER_DEG = np.geomspace(0.5, 20.0, 48)
LEAST_SAID = 20
LEAST_SLOPE_DEG_PER_MM = 0.1


class Corrected(Struct, frozen=True, kw_only=True):
    """`n` poses of one class, corrected by `off_deg` whole degrees (more is positive, never 0).

    `shift_deg`: by how much the turn needed differs from that advised, at each offset that was tried.
    """

    shift_deg: tuple[float, ...]
    off_deg: int
    n: int


class Offset(Struct, frozen=True, kw_only=True):
    """mm, forward positive. `scatter_deg`: the SD of the turn needed about the model's. An end of
    `interval95` is null where it lies beyond the offsets that were tried. `said`: corrections used."""

    offset_mm: float
    interval95: tuple[float | None, float | None]
    scatter_deg: float
    said: int


class OffsetFit(Struct, frozen=True, kw_only=True):
    """`both`: from all corrections; `from_more`: from the larger ones alone. Null where there are fewer than
    20; `agree`: whether the two intervals overlap."""

    both: Offset | None
    from_more: Offset | None
    agree: bool | None


def fit_offset(corrected: Sequence[Corrected], offsets_mm: Sequence[float]) -> OffsetFit:
    """Classes whose turn does not depend on the offset say nothing of it, and are left out."""
    span = offsets_mm[-1] - offsets_mm[0]
    telling = [
        one
        for one in corrected
        if one.off_deg != 0 and abs(one.shift_deg[-1] - one.shift_deg[0]) >= LEAST_SLOPE_DEG_PER_MM * span
    ]
    both = _fit(telling, offsets_mm, more_only=False)
    from_more = _fit([one for one in telling if one.off_deg > 0], offsets_mm, more_only=True)
    return OffsetFit(both=both, from_more=from_more, agree=_overlap(both, from_more))


def _fit(corrected: Sequence[Corrected], offsets_mm: Sequence[float], *, more_only: bool) -> Offset | None:
    said = sum(one.n for one in corrected)
    if said < LEAST_SAID:
        return None
    steps = round((offsets_mm[-1] - offsets_mm[0]) / STEP_MM)
    tried = np.linspace(offsets_mm[0], offsets_mm[-1], steps + 1)
    shifts = np.array([np.interp(tried, offsets_mm, one.shift_deg) for one in corrected])
    off = np.array([float(one.off_deg) for one in corrected])[:, None]
    count = np.array([float(one.n) for one in corrected])
    by_scatter = np.array(
        [
            count @ _log_chances(off, shifts, scatter, more_only=more_only)  # (offsets,)
            for scatter in SCATTER_DEG
        ]
    )
    profile = by_scatter.max(axis=0)
    best = int(np.argmax(profile))
    inside = np.flatnonzero(profile >= profile[best] - HALF_CHI_SQUARED)
    # the first steps that are outside, so that the steps make no interval narrower than it is
    low, high = max(0, int(inside[0]) - 1), min(steps, int(inside[-1]) + 1)
    return Offset(
        offset_mm=float(tried[best]),
        interval95=(
            None if low == 0 else float(tried[low]),
            None if high == steps else float(tried[high]),
        ),
        scatter_deg=float(SCATTER_DEG[int(np.argmax(by_scatter[:, best]))]),
        said=said,
    )


def _log_chances(off: Array, shifts: Array, scatter: float, *, more_only: bool) -> Array:
    """Of the chance of each correction (rows) at each offset (columns), given that there was one. As
    logarithms throughout: both may be too small for any float where the offset is far from what was seen."""
    noted = log_ndtr((shifts - 0.5) / scatter)
    if not more_only:
        noted = np.logaddexp(noted, log_ndtr((-0.5 - shifts) / scatter))
    return np.asarray(_log_between((off - 0.5 - shifts) / scatter, (off + 0.5 - shifts) / scatter) - noted)


def _log_between(low: Array, high: Array) -> Array:
    """Logarithm of the chance that a standard normal lies between; in the tail that it lies in."""
    upper = low > 0
    less, more = np.where(upper, -high, low), np.where(upper, -low, high)
    most = log_ndtr(more)
    return np.asarray(most + np.log1p(-np.exp(log_ndtr(less) - most)))


def _overlap(one: Offset | None, other: Offset | None) -> bool | None:
    if one is None or other is None:
        return None

    def ends(offset: Offset) -> Interval:
        low, high = offset.interval95
        return (-np.inf if low is None else low, np.inf if high is None else high)

    (low, high), (other_low, other_high) = ends(one), ends(other)
    return bool(low <= other_high and other_low <= high)
