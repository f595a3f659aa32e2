"""What can be taken out of the desk: incidents as CSV or FHIR, and every line with its chain. Each is
logged."""

from collections.abc import AsyncIterator
from datetime import UTC, datetime
from typing import Any, Literal

import msgspec
from litestar import Response, get
from litestar.openapi import ResponseSpec
from litestar.params import FromQuery
from litestar.response import Stream

from chinrest.log.case_events import Harm
from chinrest.log.house_events import LogExported
from chinrest.log.reviews import ReviewState
from chinrest.log.write import new_salt
from chinrest.pack.compiled import decode_pack
from chinrest.pack.faults import PackFaults
from chinrest.server import incident_csv
from chinrest.server.context import Call, now_ms, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.fhir import Told, Words, bundle
from chinrest.server.guards import lead, reviewer
from chinrest.server.queue import Day, Flag, Short, span_ms, today
from chinrest.server.review import names_of
from chinrest.server.scope import WITHIN
from chinrest.store import Store

ROWS_LIMIT = 20_000


async def _told(request: Call, filters: dict[str, Any]) -> list[Told]:
    store = store_of(request)
    listed = await store.exported_incidents(limit=ROWS_LIMIT + 1, **filters)
    if len(listed) > ROWS_LIMIT:
        why = f"more than {ROWS_LIMIT} incidents: narrow the filter, so that nothing is left out unseen"
        raise RequestError(413, "too_many", "query", why)
    return [
        Told(
            row=each.row,
            device=each.device,
            envelope_sha256=each.envelope_sha256,
            review=await store.review_of(each.row.line),
        )
        for each in listed
    ]


async def _note(request: Call, what: Literal["incidents_csv", "incidents_fhir", "lines"], rows: int) -> None:
    """Written before anything is given out."""
    by = staff_of(request).id
    body = LogExported(salt=new_salt(), by=by, what=what, query=request.url.query, rows=rows)
    await store_of(request).append_own(body, by, now_ms())


def _file(name: str) -> dict[str, str]:
    day = datetime.now(UTC).strftime("%Y-%m-%d")
    return {"Content-Disposition": f'attachment; filename="chinrest-{day}-{name}"'}


async def words_of(store: Store) -> Words:
    """The words of the newest pack that can be read; ids stand for themselves where there is none."""
    people = await names_of(store)
    for row in await store.packs():
        raw = await store.pack_bytes(row.sha256)
        try:
            pack = decode_pack(raw or b"")
        except PackFaults:  # of another version: the next newest may be readable
            continue
        what = {choice.id: choice.text for choice in pack.choices.safety_what}
        return Words(what=what, optics={optic.id: optic.name for optic in pack.optics}, people=people)
    return Words(what={}, optics={}, people=people)


def _filters(
    site: str | None,
    kind: str | None,
    what: str | None,
    harm: str | None,
    practice: int | None,
    review: str | None,
    q: str | None,
) -> dict[str, Any]:
    return {
        "site": site or None,
        "kind": kind,
        "what": what or None,
        "harm": harm,
        "practice": None if practice is None else bool(practice),
        "state": review,
        "q": q or None,
    }


def _narrowed(overdue: int | None, since: str | None, until: str | None) -> dict[str, Any]:
    first, after = span_ms(since, until)
    return {"overdue_on": today() if overdue else None, "since": first, "until": after}


@get(
    "/api/export/incidents.csv",
    guards=[reviewer],
    opt=WITHIN,
    responses={200: ResponseSpec(str, description="CSV (RFC 4180)", media_type="text/csv")},
)
async def incidents_csv(
    request: Call,
    site: Short = None,
    kind: FromQuery[Literal["event", "near_miss"] | None] = None,
    what: Short = None,
    harm: FromQuery[Harm | None] = None,
    practice: Flag = None,
    review: FromQuery[ReviewState | None] = None,
    overdue: Flag = None,
    since: Day = None,
    until: Day = None,
    q: Short = None,
) -> Response[bytes]:
    """The incidents of a filter, a row each. The columns are documented at /api/export/columns."""
    told = await _told(
        request,
        {
            **_filters(site, kind, what, harm, practice, review, q),
            **_narrowed(overdue, since, until),
        },
    )
    await _note(request, "incidents_csv", len(told))
    return Response(
        incident_csv.rows(told).encode(), media_type="text/csv; charset=utf-8", headers=_file("incidents.csv")
    )


@get("/api/export/columns", guards=[reviewer], opt=WITHIN)
async def columns(request: Call) -> dict[str, str]:
    """What each column of the CSV holds."""
    return incident_csv.COLUMNS


@get(
    "/api/export/incidents.fhir.json",
    guards=[reviewer],
    opt=WITHIN,
    responses={
        200: ResponseSpec(
            dict[str, Any], description="HL7 FHIR R4 Bundle", media_type="application/fhir+json"
        )
    },
)
async def incidents_fhir(
    request: Call,
    site: Short = None,
    kind: FromQuery[Literal["event", "near_miss"] | None] = None,
    what: Short = None,
    harm: FromQuery[Harm | None] = None,
    practice: Flag = None,
    review: FromQuery[ReviewState | None] = None,
    overdue: Flag = None,
    since: Day = None,
    until: Day = None,
    q: Short = None,
) -> Response[bytes]:
    """The incidents of a filter as a Bundle of AdverseEvents with their provenance."""
    told = await _told(
        request,
        {
            **_filters(site, kind, what, harm, practice, review, q),
            **_narrowed(overdue, since, until),
        },
    )
    await _note(request, "incidents_fhir", len(told))
    store = store_of(request)
    made = bundle(
        told,
        await words_of(store),
        made_at=now_ms(),
        by=staff_of(request).name,
        position=await store.position(),
        server=(await store.identity()).server,
    )
    return Response(
        msgspec.json.encode(made), media_type="application/fhir+json", headers=_file("incidents.fhir.json")
    )


@get(
    "/api/export/lines",
    guards=[lead],
    responses={200: ResponseSpec(str, description="a sealed export", media_type="application/x-ndjson")},
)
async def lines(request: Call) -> Stream:
    """Every line of every chain as a sealed export, which `chinrest verify` checks without a server. It
    holds every case whole, so it is the lead's."""
    store = store_of(request)
    await _note(request, "lines", await store.position())

    async def rows() -> AsyncIterator[bytes]:
        async with store.export(now_ms()) as made:
            async for row in made:
                yield row

    return Stream(rows, media_type="application/x-ndjson", headers=_file("lines.ndjson"))


ROUTES = [incidents_csv, columns, incidents_fhir, lines]
