"""Comfort and craft: what the log can tell of how it felt and how the advice fared, and what it can't."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from math import sqrt

from litestar import get
from scipy.stats import t as student

from chinrest.log.craft import MOST
from chinrest.log.windows import OUTCOMES
from chinrest.model.rates.summary import rate_of
from chinrest.server.context import Call, store_of
from chinrest.server.craft_wire import (
    AdjustedRow,
    AdviceRow,
    CountRow,
    CraftReport,
    ScoreRow,
    StageRow,
    WindowRow,
)
from chinrest.server.guards import reviewer
from chinrest.server.rates import Month, Short, period_of
from chinrest.server.scope import WITHIN
from chinrest.store.craft import Counts

WORDS = ("likely_clear", "close", "expect_to_adjust", "unsaid")
STAGES = ("prepare", "position", "series", "finish")
TURNS = ("0_5", "5_10", "10_15", "15_20", "20")
DEPTHS = ("deep-set", "average", "prominent", "measured")
MINUTES = ("0_15", "15_30", "30_60", "60")
RULES = [
    "Practice cases, and cases cancelled before any dye was given, are left out. What was amended counts as "
    "it stands. A case belongs to the month (UTC) in which it was opened.",
    "Comfort is noted when somebody asks: a case with trouble has more scores than one without, and a score "
    "is not a patient. Each counts for the optic on at that moment; patients who get another optic differ in "
    "more than the optic.",
    "The turn is that of the last pose found, where it was said or the advice was taken as it was.",
    "The words are the last shown for that eye and optic before the pose was found.",
    "Advice taken unchanged is no evidence that it was right: nobody tried a smaller or a larger turn.",
    "Touches alone cannot tell whether the advice is right: they are rare, and whoever expects one turns the "
    "head further first, so that the touch never comes.",
    "By how much it was off counts only where somebody said so; those who say it are not all who felt it.",
    "A window of a series was kept where every frame that the layout has in it was taken within it, by the "
    "phone's clock of the dye; a burst, where it had begun by the window's beginning. The layout followed "
    "last counts; frames that it could not keep are not asked of anybody. The heaviest stands: stopped or "
    "missed, late, early, untimed, kept. A frame taken early and again in time is kept.",
    "A stage counts where both of its ends came from one device; more than four hours count as four.",
]


def at_or_below(counts: Mapping[int, int], share: float) -> int:
    """The least value that this share of the counted lies at or below."""
    total, seen = sum(counts.values()), 0
    for value in sorted(counts):
        seen += counts[value]
        if seen >= share * total:
            return value
    raise ValueError("nothing was counted")


def quartiles(counts: Mapping[int, int]) -> tuple[int, int, int]:
    return at_or_below(counts, 0.25), at_or_below(counts, 0.5), at_or_below(counts, 0.75)


def by_key(counts: Counts) -> dict[str, Counter[int]]:
    """Of a kind whose sub is a whole number."""
    found: dict[str, Counter[int]] = defaultdict(Counter)
    for (key, sub), n in counts.items():
        found[key][int(sub)] += n
    return found


def in_order(keys: Mapping[str, object], order: tuple[str, ...]) -> list[str]:
    return sorted(keys, key=lambda key: (order.index(key) if key in order else len(order), key))


def score_rows(counts: Counts, order: tuple[str, ...] = ()) -> list[ScoreRow]:
    found = by_key(counts)
    rows = []
    for key in in_order(found, order):
        scores = found[key]
        noted = sum(scores.values())
        rows.append(
            ScoreRow(
                key=key,
                noted=noted,
                counts=[scores[score] for score in range(MOST + 1)],
                quartiles=quartiles(scores),
                mean=sum(score * n for score, n in scores.items()) / noted,
            )
        )
    return rows


def advice_rows(counts: Counts) -> list[AdviceRow]:
    outcomes: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    touches: Counter[tuple[str, str]] = Counter()
    for (optic, sub), n in counts.items():
        words, outcome, touched = sub.split("/")
        outcomes[optic, words][outcome] += n
        touches[optic, words] += n if touched == "touched" else 0
    rows = []
    for optic, words in sorted(outcomes, key=lambda key: (key[0], WORDS.index(key[1]))):
        of = outcomes[optic, words]
        poses, touched_times = sum(of.values()), touches[optic, words]
        rows.append(
            AdviceRow(
                optic=optic,
                words=words,
                poses=poses,
                as_advised=of["as_advised"],
                asked_more=of["more"],
                asked_less=of["less"],
                not_reached=of["not_reached"],
                touched=touched_times,
                more=rate_of(of["more"], poses),
                touch=rate_of(touched_times, poses),
            )
        )
    return rows


def adjusted_rows(counts: Counts) -> list[AdjustedRow]:
    rows = []
    for optic, degrees in sorted(by_key(counts).items()):
        said = sum(degrees.values())
        mean = sum(value * n for value, n in degrees.items()) / said
        rows.append(
            AdjustedRow(
                optic=optic,
                said=said,
                mean_deg=mean,
                mean95=mean95(degrees, mean),
                counts=sorted(degrees.items()),
            )
        )
    return rows


def mean95(degrees: Mapping[int, int], mean: float) -> tuple[float, float] | None:
    said = sum(degrees.values())
    squares = sum(n * (value - mean) ** 2 for value, n in degrees.items())
    if said < 2 or squares == 0:
        return None
    half = float(student.ppf(0.975, said - 1)) * sqrt(squares / (said - 1) / said)
    return mean - half, mean + half


def stage_rows(counts: Counts) -> list[StageRow]:
    found = by_key(counts)
    return [
        StageRow(
            stage=stage,
            cases=sum(found[stage].values()),
            quartiles=quartiles(found[stage]),
            longest=max(found[stage]),
        )
        for stage in in_order(found, STAGES)
    ]


def window_rows(counts: Counts) -> list[WindowRow]:
    found: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for (key, outcome), n in counts.items():
        protocol, _, window = key.partition("/")
        found[protocol, window][outcome] += n
    return [
        WindowRow(
            protocol=protocol,
            window=window,
            cases=sum(became.values()),
            rate=rate_of(became["kept"], sum(became.values())),
            **{outcome: became[outcome] for outcome in OUTCOMES},
        )
        for (protocol, window), became in sorted(found.items())
    ]


def count_rows(counts: Counts) -> list[CountRow]:
    """The most frequent first."""
    ordered = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return [CountRow(key=key, sub=sub, n=n) for (key, sub), n in ordered]


@get("/api/craft", guards=[reviewer], opt=WITHIN)
async def craft(
    request: Call,
    first: Month = None,
    last: Month = None,
    site: Short = None,
) -> CraftReport:
    """Comfort by optic, turn, depth and minutes; advice against what was found; frames taken again; steps
    skipped; time on each stage."""
    period = period_of(request, first, last, site)
    counted = await store_of(request).craft_counts(period)
    kinds = defaultdict(dict, counted.kinds)
    return CraftReport(
        visits=sum(kinds["visit"].values()),
        comfort=score_rows(kinds["comfort"]),
        by_turn=score_rows(kinds["comfort_turn"], TURNS),
        by_depth=score_rows(kinds["comfort_depth"], DEPTHS),
        by_minutes=score_rows(kinds["comfort_minutes"], MINUTES),
        advice=advice_rows(kinds["found"]),
        adjusted=adjusted_rows(kinds["adjusted"]),
        again=count_rows(kinds["again"]),
        skipped=count_rows(kinds["skipped"]),
        stages=stage_rows(kinds["stage"]),
        windows=window_rows(kinds["window"]),
        windows_unread=sum(kinds["no_pack"].values()),
        rules=RULES,
        position=counted.position,
        first=first,
        last=last,
        site=period.site,
    )


ROUTES = [craft]
