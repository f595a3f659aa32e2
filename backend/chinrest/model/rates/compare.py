"""Two rates side by side: is the difference more than chance, and how large may it be?"""

from math import sqrt

import numpy as np
from msgspec import Struct
from scipy.special import gammaln

from .counts import events_among
from .intervals import Interval, wilson

# Tables whose chance differs by rounding alone are ties and belong to the tail.
TIE = 1e-7


class Comparison(Struct, frozen=True, kw_only=True):
    """First rate less second rate, as proportions (-1 to 1), with its 95 % interval and the exact test's P.

    `p_two_sided`: Fisher's exact test, the sum over all tables with these margins that are no likelier than
    the one seen. Other exact tests exist and may fall on the other side of any threshold: this one is fixed
    in advance. `difference95`: method 10 of Newcombe 1998, Stat Med 17:873, from the two Wilson intervals.
    The two answer by different methods, so near P = 0.05 one may include no difference and the other not.
    """

    difference: float
    difference95: Interval
    p_two_sided: float


def compare(events: int, procedures: int, other_events: int, other_procedures: int) -> Comparison:
    """Compares events/procedures with other_events/other_procedures. Raises InputError."""
    x, n = events_among(events, procedures)
    y, m = events_among(other_events, other_procedures, "other_")
    p, q = x / n, y / m
    p_low, p_high = wilson(x, n)
    q_low, q_high = wilson(y, m)
    difference = p - q
    return Comparison(
        difference=difference,
        difference95=(
            difference - sqrt((p - p_low) ** 2 + (q_high - q) ** 2),
            difference + sqrt((p_high - p) ** 2 + (q - q_low) ** 2),
        ),
        p_two_sided=_fisher(x, n, y, m),
    )


def _fisher(x: int, n: int, y: int, m: int) -> float:
    events = x + y
    first = np.arange(max(0, events - m), min(events, n) + 1, dtype=float)
    logs = _log_choose(n, first) + _log_choose(m, events - first)
    logs -= logs.max()
    chances = np.exp(logs)
    seen = chances[x - int(first[0])]
    return min(1.0, float(chances[chances <= seen * (1 + TIE)].sum() / chances.sum()))


def _log_choose(n: int, k: np.ndarray) -> np.ndarray:
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))
