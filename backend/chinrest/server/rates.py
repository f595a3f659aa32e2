"""Rates, each with its own denominator from the log, its intervals, and what it cannot tell."""

from datetime import UTC, datetime
from typing import Annotated, get_args

from litestar import get
from litestar.params import FromQuery, QueryParameter

from chinrest.log.case_events import Harm
from chinrest.log.tallies import TallyKind
from chinrest.model.rates.compare import compare
from chinrest.model.rates.published import PUBLISHED
from chinrest.model.rates.summary import rate_of
from chinrest.server.context import Call, now_ms, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import reviewer
from chinrest.server.rates_wire import (
    BesidePublished,
    DeviceAwaited,
    RateBy,
    RateOf,
    RateReport,
    RateRow,
)
from chinrest.server.reaction_rates import class_counts
from chinrest.server.scope import WITHIN, scope_of
from chinrest.store.counting import UNJUDGED, Counted, Period, Split

Month = Annotated[str | None, QueryParameter(pattern=r"^[0-9]{4}-(0[1-9]|1[0-2])$")]
Short = Annotated[str | None, QueryParameter(max_length=200)]

DEFINITIONS: dict[RateOf, str] = {
    "reaction": "Reactions to an injected dye that reached the patient, among injections given.",
    "reaction_oral": "Reactions to a dye that was drunk, among drinks given; never added to injections.",
    "touch": "Touches of the patient by an optic, among times that an optic was put on.",
    "event": "Safety events that reached the patient or may have, among visits.",
    "near_miss": "Near misses, among visits.",
}
BY_DESK = " Split by the harm that the desk judged, not by the reporter's."
BELOW: dict[RateOf, TallyKind] = {
    "reaction": "injection",
    "reaction_oral": "drink",
    "touch": "use",
    "event": "visit",
    "near_miss": "visit",
}
# a published rate stands beside ours only where the dye went in the same way
ROUTES_OF: dict[RateOf, str] = {"reaction": "intravenous", "reaction_oral": "oral"}
HARM: dict[RateBy, tuple[Split, Split]] = {"harm": ("sub", "none"), "desk_harm": ("desk_harm", "none")}
# what each rate can be split by: the column of its events, and of its procedures (none: all of them)
SPLITS: dict[RateOf, dict[RateBy, tuple[Split, Split]]] = {
    "reaction": {"dye": ("key", "key"), **HARM, "class": ("key", "none")},
    "reaction_oral": {"dye": ("key", "key"), **HARM, "class": ("key", "none")},
    "touch": {"optic": ("key", "key")},
    "event": {"what": ("key", "none"), **HARM},
    "near_miss": {"what": ("key", "none")},
}
EVERYWHERE: dict[RateBy, tuple[Split, Split]] = {
    "none": ("none", "none"),
    "site": ("site", "site"),
    "month": ("month", "month"),
}


HARM_ORDER: tuple[str, ...] = get_args(Harm)
"""The lightest first; what has no degree comes last."""


def split_of(of: RateOf, by: RateBy) -> tuple[Split, Split]:
    found = {**EVERYWHERE, **SPLITS[of]}.get(by)
    if found is None:
        known = ", ".join([*EVERYWHERE, *SPLITS[of]])
        raise RequestError(400, "invalid", "by", f"a rate of {of} can be split by {known}")
    return found


def row_of(key: str, events: int, procedures: int) -> RateRow:
    none: str | None = None
    if procedures == 0:
        none = "Nothing of the kind was done: there is no rate."
    elif events > procedures:
        none = (
            "More events than procedures on record: no proportion holds that. "
            "Look for a case without its injection or its optic."
        )
    rate = None if none else rate_of(events, procedures)
    return RateRow(key=key, events=events, procedures=procedures, rate=rate, none=none)


def rows_of(counted: Counted, by: RateBy, split: tuple[Split, Split]) -> list[RateRow]:
    """A row for each value that occurs, above or below the line."""
    if by == "none":
        return []
    whole = split[1] == "none"
    keys = sorted({*counted.events, *({} if whole else counted.procedures)})
    if by in ("harm", "desk_harm"):
        keys.sort(key=lambda key: HARM_ORDER.index(key) if key in HARM_ORDER else len(HARM_ORDER))
    return [
        row_of(
            key,
            counted.events.get(key, 0),
            counted.all_procedures if whole else counted.procedures.get(key, 0),
        )
        for key in keys
    ]


def period_of(request: Call, first: str | None, last: str | None, site: str | None) -> Period:
    """At the asker's own site where they have one, whether they named it or not."""
    if first is not None and last is not None and first > last:
        raise RequestError(400, "invalid", "last", "the period ends before it begins")
    return Period(first=first, last=last, site=scope_of(request).narrowed(site or None))


def end_of(last: str | None, now: int) -> int:
    """The end of the period's last month, ms; now where it is open or still runs."""
    if last is None:
        return now
    year, month = int(last[:4]), int(last[5:])
    year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    if year > 9999:
        return now
    return min(now, int(datetime(year, month, 1, tzinfo=UTC).timestamp() * 1000))


def rules_of(of: RateOf, by: RateBy, counted: Counted) -> list[str]:
    out = counted.left_out
    odd = "1 case is" if out["misdated"] == 1 else f"{out['misdated']} cases are"
    rules = [
        "Where nothing was done there is no rate, and none where more events than procedures are on record: "
        "the row says which, and nothing is divided.",
        f"Left out: {out['practice']} practice, {out['cancelled']} cancelled before any dye was given, "
        f"{out['not_opened']} of which the opening has not come (of all time).",
        "What was amended counts as it stands; what was taken back does not count.",
        "A case belongs to the month (UTC) in which it was opened, by its device's clock set right by what "
        "that clock was off when the line came, be it years. A line that came by a hub or a file was never "
        f"compared, and is taken at its word. {odd} dated before this server was set up or after its last "
        "line came, by such a clock: counted in the total of all time and in the month that they name, and "
        "in no other.",
        "A site is known by its id: a renamed one keeps its cases.",
        "A withdrawn device's lines count, those too that a hub brings later; it is waited for no longer.",
        "One patient may have come more than once: the log knows cases, not people, so events of one person "
        "may hang together, and intervals are then too narrow.",
    ]
    if of == "reaction":
        rules.append(
            f"A reaction counts for the last dye given before it, and for its route: dye that is drunk has a "
            f"rate of its own. {counted.unnamed} without a dye on record are in the queue, and in no rate."
        )
    if of == "reaction_oral":
        rules.append("A reaction counts for the last dye given before it, and for its route.")
    if of == "touch":
        rules.append(f"{counted.unnamed} touches by an unnamed optic are in the queue, and in no rate.")
    if of in ("reaction", "reaction_oral", "event"):
        rules.append(
            "An emergency and the reports of a reaction that tell of it count once: as the report with the "
            "heaviest harm, and with what the desk judged of that one."
        )
        if by == "desk_harm":
            unjudged = counted.events.get(UNJUDGED, 0)
            rules.append(
                "Harm is as the desk last judged it (WHO degree), whether the review is closed or not; the "
                f"reporter's word is never taken in its place. {unjudged} not judged yet stand in a row of "
                "their own: as they are judged, the rows of the degrees can only grow."
            )
        else:
            rules.append("Harm is as the reporter gave it (WHO degree); the desk's own is another split.")
    if counted.without_case:
        rules.append(f"{counted.without_case} incidents belong to no case: in the queue, and in no rate.")
    return rules


def beside(of: RateOf, by: RateBy, rows: list[RateRow]) -> list[BesidePublished]:
    """Published reactions of the same dye beside ours; only where the rate is split by dye."""
    if of not in ROUTES_OF or by != "dye":
        return []
    found = []
    ours = {row.key: row for row in rows}
    for published in PUBLISHED:
        if published.route != ROUTES_OF[of]:
            continue
        row = ours.get(published.dye)
        if row is None:
            continue
        comparison = None
        if row.rate is not None and published.which == "any":
            comparison = compare(row.events, row.procedures, published.events, published.tests)
        found.append(
            BesidePublished(
                published=published,
                rate=rate_of(published.events, published.tests),
                ours=row.key,
                comparison=comparison,
            )
        )
    return found


@get("/api/rates", guards=[reviewer], opt=WITHIN)
async def rates(
    request: Call,
    of: FromQuery[RateOf],
    by: FromQuery[RateBy] = "none",
    first: Month = None,
    last: Month = None,
    site: Short = None,
    scale: Short = None,
) -> RateReport:
    """Events among procedures, both counted from the log, per 1,000 with exact, Wilson and Poisson
    intervals. `scale`: by which reactions are classed where they are split by class."""
    split = split_of(of, by)
    period, now = period_of(request, first, last, site), now_ms()
    store = store_of(request)
    counted = await store.counted(of, BELOW[of], period, split, end_of(last, now))
    rows, classed = rows_of(counted, by, split), None
    if by == "class":
        seen = await store.seen_reactions(period, oral=of == "reaction_oral")
        classed = await class_counts(store, seen, scale)
        rows = [row_of(key, n, counted.all_procedures) for key, n in classed.counts.items()]
    return RateReport(
        of=of,
        by=by,
        definition=DEFINITIONS[of] + BY_DESK if by == "desk_harm" else DEFINITIONS[of],
        rules=[*rules_of(of, by, counted), *(classed.rules if classed else [])],
        rows=rows,
        total=row_of("", counted.all_events, counted.all_procedures),
        published=beside(of, by, rows),
        provisional=[
            DeviceAwaited(
                label=device.label,
                site=device.site,
                last_heard_at=device.last_heard_at,
                waiting=device.waiting,
            )
            for device in counted.unheard
        ],
        scale=classed.scale if classed else None,
        scales=classed.scales if classed else [],
        harm_pairs=counted.pairs,
        position=counted.position,
        first=first,
        last=last,
        site=period.site,
    )


ROUTES = [rates]
