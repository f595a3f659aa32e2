"""One rate with every interval that goes with it."""

from math import expm1, log

from msgspec import Struct

from .counts import events_among, small_number
from .intervals import Interval, clopper_pearson, garwood, wilson


class Rate(Struct, frozen=True, kw_only=True):
    """Events among procedures. All but the two counts are per 1,000 procedures; intervals are [low, high].

    `rule_of_three` is 3/n and `upper95_one_sided` the exact limit that it stands for, 1 - 0.05^(1/n); both
    only where no event was seen, else null. Hanley & Lippman-Hand 1983, JAMA 249:1743; Eypasch et al. 1995,
    BMJ 311:619, who use 3/n above 30 procedures. `exact95` is two-sided, so its upper end lies higher.
    `poisson95` takes the count as Poisson; it fits where one procedure may have several events.
    """

    events: int
    procedures: int
    per_1000: float
    exact95: Interval
    wilson95: Interval
    poisson95: Interval
    rule_of_three: float | None
    upper95_one_sided: float | None
    small_number: tuple[str, ...]


def rate_of(events: int, procedures: int) -> Rate:
    """The rate of `events` among `procedures`. Raises InputError for counts that make none."""
    x, n = events_among(events, procedures)
    return Rate(
        events=x,
        procedures=n,
        per_1000=1000 * x / n,
        exact95=_per_1000(clopper_pearson(x, n)),
        wilson95=_per_1000(wilson(x, n)),
        poisson95=_per_1000(garwood(x), n),
        rule_of_three=min(1000.0, 3000 / n) if x == 0 else None,
        upper95_one_sided=-1000 * expm1(log(0.05) / n) if x == 0 else None,
        small_number=small_number(x, n),
    )


def _per_1000(interval: Interval, of: int = 1) -> Interval:
    low, high = interval
    return 1000 * low / of, 1000 * high / of
