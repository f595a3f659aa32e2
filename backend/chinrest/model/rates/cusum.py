"""Log-likelihood CUSUM of yes/no outcomes, one step a procedure: the quickest look-out for a worse rate.

Steiner et al. 2000, Biostatistics 1:441, with one risk for everybody (unadjusted): a procedure without the
event adds ln((1 - out) / (1 - in)), one with it ln(out / in), and the sum never falls below 0. It speaks up
when it reaches the threshold. With `out` below `in` it looks for a better rate.

Run lengths: the Markov chain of Brook & Evans 1972, Biometrika 59:539, on a grid of the sum. The two steps
are put on the grid by the best fraction for their ratio: an even grid laid without regard to it comes out
0.5 % too long at in-control 0.05, doubled odds, threshold 2.5. Where the small step is finer than any grid of
STATES, it goes to either neighbour with chances that keep its mean.
"""

from collections.abc import Iterable
from fractions import Fraction
from math import ceil, copysign, floor, log, log1p

import numpy as np
from msgspec import Struct
from scipy.sparse import coo_array, eye_array
from scipy.sparse.linalg import spsolve

from ..errors import InputError
from .counts import chance

STATES = 16_000
# A threshold that is a whole number of units but for this much is one.
ROUNDING = 1e-9
# Run lengths grow like exp(threshold); above this the chain's figures would have no digits left.
HIGHEST_THRESHOLD = 10.0


class CusumPlan(Struct, frozen=True, kw_only=True):
    """Fixed before looking: rates as proportions, threshold in units of log likelihood.

    `arl_in` and `arl_out`: mean number of procedures from 0 to the threshold at each rate. At `rate_in` that
    is the time between false alarms.
    """

    rate_in: float
    rate_out: float
    threshold: float
    step_without: float
    step_with: float
    arl_in: float
    arl_out: float


class CusumPath(Struct, frozen=True, kw_only=True):
    """The sum after each procedure, and the places (from 0) where it reached the threshold.

    After each the sum starts again at 0 with the next procedure.
    """

    sums: tuple[float, ...]
    signals: tuple[int, ...]


def cusum_plan(rate_in: float, rate_out: float, threshold: float) -> CusumPlan:
    """A plan with its run lengths. Raises InputError."""
    without, with_event = steps(rate_in, rate_out)
    if not 0.0 < threshold <= HIGHEST_THRESHOLD:
        raise InputError("threshold", f"is {threshold}; must lie above 0, at most {HIGHEST_THRESHOLD:g}")
    arl_in, arl_out = (_run_length(without, with_event, threshold, rate) for rate in (rate_in, rate_out))
    return CusumPlan(
        rate_in=rate_in,
        rate_out=rate_out,
        threshold=threshold,
        step_without=without,
        step_with=with_event,
        arl_in=arl_in,
        arl_out=arl_out,
    )


def steps(rate_in: float, rate_out: float) -> tuple[float, float]:
    """What a procedure without, and one with, the event adds to the sum. Raises InputError."""
    p, q = chance("rate_in", rate_in), chance("rate_out", rate_out)
    if p == q:
        raise InputError("rate_out", f"is {q}, the same as rate_in; there is nothing to tell apart")
    return log1p(-q) - log1p(-p), log(q / p)


def cusum_path(plan: CusumPlan, outcomes: Iterable[bool]) -> CusumPath:
    """The path for outcomes in order, true for a procedure with the event."""
    sums: list[float] = []
    signals: list[int] = []
    at = 0.0
    for place, event in enumerate(outcomes):
        at = max(0.0, at + (plan.step_with if event else plan.step_without))
        sums.append(at)
        if at >= plan.threshold:
            signals.append(place)
            at = 0.0
    return CusumPath(sums=tuple(sums), signals=tuple(signals))


def _run_length(without: float, with_event: float, threshold: float, rate: float) -> float:
    """Mean number of procedures until the sum, from 0, reaches `threshold`, at a true `rate`."""
    unit, without, with_event = _in_units(without, with_event, threshold)
    count = ceil(threshold / unit - ROUNDING)
    states = np.arange(count)
    rows, columns, chances = [], [], []
    for step, happens in ((without, 1 - rate), (with_event, rate)):
        to = np.maximum(states + step, 0.0)
        lower = np.floor(to).astype(int)
        for column, share in ((lower, 1 - (to - lower)), (lower + 1, to - lower)):
            stays = (column < count) & (share > 0)
            rows.append(states[stays])
            columns.append(column[stays])
            chances.append(happens * share[stays])
    where = (np.concatenate(rows), np.concatenate(columns))
    moves = coo_array((np.concatenate(chances), where), shape=(count, count))
    lengths = spsolve((eye_array(count) - moves).tocsc(), np.ones(count))
    return float(lengths[0])


def _in_units(without: float, with_event: float, threshold: float) -> tuple[float, float, float]:
    """A unit of the sum with at most STATES below the threshold, and the two steps in that unit.

    Both steps are whole numbers of units where the smaller one spans at least one; else only the larger.
    """
    small, large = sorted((abs(without), abs(with_event)))
    finest = floor(STATES * small / threshold)
    if finest:
        ratio = Fraction(large / small).limit_denominator(finest)
        unit, short, long = small / ratio.denominator, float(ratio.denominator), float(ratio.numerator)
    else:
        long = float(max(1, floor(STATES * large / threshold)))
        unit = large / long
        short = small / unit
    if abs(without) > abs(with_event):
        short, long = long, short
    return unit, copysign(short, without), copysign(long, with_event)
