"""The officer's queue in numbers, and what a period's report holds."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Literal

import msgspec
from litestar import get
from litestar.params import FromQuery, QueryParameter

from chinrest.log.case_events import Harm
from chinrest.log.reviews import Review
from chinrest.server.context import Call, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import reviewer
from chinrest.server.review_wire import IncidentCounts, PeriodReport, PersonName, ReportedIncident
from chinrest.server.scope import WITHIN
from chinrest.store import Store
from chinrest.store.review import IncidentFilter
from chinrest.store.rows import Staff

Short = Annotated[str | None, QueryParameter(max_length=200)]
Flag = Annotated[int | None, QueryParameter(ge=0, le=1)]
Day = Annotated[str | None, QueryParameter(max_length=10, description="ISO 8601 day, UTC")]
PERIOD_LIMIT = 500


def today() -> str:
    """The day by which an action is overdue: UTC, as the log's days are."""
    return datetime.now(UTC).date().isoformat()


def _day(text: str, where: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise RequestError(400, "invalid", where, "give a day as YYYY-MM-DD") from error


def _ms(day: date) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() * 1000)


def span_ms(since: str | None, until: str | None) -> tuple[int | None, int | None]:
    """Both days included. Faults: a day that is none, or an end before the beginning."""
    first = _day(since, "since") if since else None
    last = _day(until, "until") if until else None
    if first is not None and last is not None and last < first:
        raise RequestError(400, "invalid", "until", "the period ends before it begins")
    after = None if last is None or last == date.max else _ms(last + timedelta(days=1))
    return (None if first is None else _ms(first)), after


async def named_in(reviews: Sequence[Review], store: Store, reader: Staff) -> list[PersonName]:
    """Whoever's id stands in these reviews, and the reader, who may decide next; nobody else."""
    written = msgspec.json.encode([reviews, reader.id])
    return [
        PersonName(id=person.id, name=person.name)
        for person in sorted(await store.staff(), key=lambda person: person.id)
        if person.id.encode() in written
    ]


@get("/api/incident-counts", guards=[reviewer], opt=WITHIN)
async def incident_counts(
    request: Call,
    site: Short = None,
    kind: FromQuery[Literal["event", "near_miss"] | None] = None,
    what: Short = None,
    harm: FromQuery[Harm | None] = None,
    practice: Flag = None,
    since: Day = None,
    until: Day = None,
    q: Short = None,
) -> IncidentCounts:
    """How many incidents of a filter are in each state of review, and how many have an overdue action."""
    first, after = span_ms(since, until)
    wanted = IncidentFilter(
        site=site or None,
        kind=kind,
        what=what or None,
        harm=harm,
        practice=None if practice is None else bool(practice),
        since=first,
        until=after,
        q=q or None,
    )
    found = await store_of(request).incident_counts(wanted, today())
    return IncidentCounts(**msgspec.structs.asdict(found))


@get("/api/period-report", guards=[reviewer], opt=WITHIN)
async def period_report(
    request: Call, since: Day = None, until: Day = None, site: Short = None
) -> PeriodReport:
    """Incidents of a period with their reviews. Practice is left out; what was taken back stays, marked."""
    first, after = span_ms(since, until)
    store = store_of(request)
    listed = await store.incidents(
        site=site or None, practice=False, since=first, until=after, limit=PERIOD_LIMIT
    )
    reviews = await store.reviews_of([row.line for row in listed.rows])
    rows = [ReportedIncident(row=r, review=v) for r, v in zip(listed.rows, reviews, strict=True)]
    return PeriodReport(
        rows=rows[::-1],
        total=listed.total,
        position=listed.position,
        people=await named_in(reviews, store, staff_of(request)),
    )


ROUTES = [incident_counts, period_report]
