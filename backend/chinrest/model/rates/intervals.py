"""Two-sided 95 % intervals for a proportion and for a count.

Clopper & Pearson 1934, Biometrika 26:404 (from beta quantiles); Wilson 1927, JASA 22:209, as method 3 of
Newcombe 1998, Stat Med 17:857; Garwood 1936, Biometrika 28:437 (from gamma quantiles). The exact ones hold
at least 95 % whatever the truth, and often more; Wilson's holds 95 % on average and is narrower.
"""

from math import sqrt

from scipy.special import betaincinv, gammaincinv

from .counts import events_among, whole

Interval = tuple[float, float]

TAIL = 0.025
Z = 1.9599639845400545


def clopper_pearson(events: int, procedures: int) -> Interval:
    """Exact limits of the proportion, 0 to 1. Raises InputError."""
    x, n = events_among(events, procedures)
    low = 0.0 if x == 0 else float(betaincinv(x, n - x + 1, TAIL))
    high = 1.0 if x == n else float(betaincinv(x + 1, n - x, 1 - TAIL))
    return low, high


def wilson(events: int, procedures: int) -> Interval:
    """Score limits of the proportion, 0 to 1, without continuity correction. Raises InputError."""
    x, n = events_among(events, procedures)
    p, shrink = x / n, 1 + Z * Z / n
    centre = (p + Z * Z / (2 * n)) / shrink
    half = Z * sqrt(p * (1 - p) / n + Z * Z / (4 * n * n)) / shrink
    return 0.0 if x == 0 else centre - half, 1.0 if x == n else centre + half


def garwood(events: int) -> Interval:
    """Exact central limits of a Poisson count's mean, in events, unbounded. Raises InputError."""
    x = whole("events", events)
    low = 0.0 if x == 0 else float(gammaincinv(x, TAIL))
    return low, float(gammaincinv(x + 1, 1 - TAIL))
