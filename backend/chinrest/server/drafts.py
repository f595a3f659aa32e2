"""The lead edits a draft of a guidance pack: every save is kept, and checked as `pack check` does."""

import asyncio
from typing import Annotated, Any

import msgspec
from litestar import get, post
from litestar.params import JSONBody, PathParameter

from chinrest.model.errors import InputError
from chinrest.pack.compiled import decode_pack
from chinrest.pack.difference.difference import PackDifference, difference
from chinrest.pack.editing import changed
from chinrest.pack.faults import PackFault, PackFaults
from chinrest.pack.forms import FORMS
from chinrest.pack.plans import reach_classes
from chinrest.pack.reader import Table
from chinrest.pack.source import Source, load_tables
from chinrest.pack.source_tables import tables_of
from chinrest.server.compiling import Compiling
from chinrest.server.context import Call, now_ms, staff_of, store_of
from chinrest.server.drafts_wire import (
    CompileJob,
    CompileRequest,
    Draft,
    DraftChange,
    DraftRequest,
    DraftRow,
    Forms,
    SaveRow,
)
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, lead, own_page
from chinrest.server.pack_views import pack_bytes, unreadable, worked_out
from chinrest.store.drafts import DraftSave

DraftId = Annotated[str, PathParameter(pattern="^[0-9a-f-]{36}$", description="id of a draft")]
MOST_CHANGE_BYTES = 256 * 1024
MOST_DRAFT_BYTES = 4 * 1024 * 1024
CHANGE: dict[str, Any] = {
    "guards": [lead, own_page, json_body],
    "status_code": 200,
    "request_max_body_size": MOST_CHANGE_BYTES,
}


def _compiling(request: Call) -> Compiling:
    compiling: Compiling = request.app.state.compiling
    return compiling


def _faults(tables: dict[str, Table]) -> list[PackFault]:
    try:
        load_tables(tables)
    except PackFaults as error:
        return error.faults
    return []


async def _names(request: Call) -> dict[str, str]:
    return {person.id: person.name for person in await store_of(request).staff()}


def _save_row(save: DraftSave, names: dict[str, str]) -> SaveRow:
    by = names.get(save.by, save.by)
    return SaveRow(number=save.number, at=save.at, by=by, what=save.what, pack=save.pack)


async def _last(request: Call, draft: str) -> tuple[list[DraftSave], bytes]:
    """Every save, the newest first, and the newest one's tables. Raises RequestError (404)."""
    store = store_of(request)
    saves = await store.draft_saves(draft)
    raw = await store.draft_tables(draft, saves[0].number) if saves else None
    if raw is None:
        raise RequestError(404, "draft_unknown", "draft", "there is no such draft")
    return saves, raw


async def _draft(request: Call, draft: str) -> Draft:
    saves, raw = await _last(request, draft)
    tables: dict[str, Table] = msgspec.json.decode(raw)
    names = await _names(request)
    return Draft(
        draft=draft,
        base=saves[0].base,
        number=saves[0].number,
        saves=[_save_row(save, names) for save in saves],
        tables=tables,
        faults=await worked_out(lambda: _faults(tables)),
        job=_compiling(request).job(draft),
    )


@get("/api/drafts", guards=[lead])
async def drafts(request: Call) -> list[DraftRow]:
    """Every draft, by its last save, the newest first."""
    names = await _names(request)
    return [
        DraftRow(draft=save.draft, base=save.base, last=_save_row(save, names))
        for save in await store_of(request).drafts()
    ]


@get("/api/draft-forms", guards=[lead])
async def forms(request: Call) -> Forms:
    """What is edited as forms, and the schema of each."""
    return Forms(forms=FORMS)


@post("/api/drafts", **CHANGE)
async def begin(request: Call, data: JSONBody[DraftRequest]) -> Draft:
    """A draft of the next pack, which begins as the one named."""
    raw = await pack_bytes(request, data.base)
    try:
        tables = msgspec.json.encode(tables_of(decode_pack(raw)))
    except PackFaults as error:
        raise unreadable(error) from None
    return await _draft(
        request,
        await store_of(request).begin_draft(data.base, tables, staff_of(request).id, now_ms()),
    )


@get("/api/drafts/{draft:str}", guards=[lead])
async def draft_page(request: Call, draft: DraftId) -> Draft:
    """A draft as it stands, with every fault that `pack check` finds in it."""
    return await _draft(request, draft)


@post("/api/drafts/{draft:str}", **CHANGE)
async def save(request: Call, draft: DraftId, data: JSONBody[DraftChange]) -> Draft:
    """Save one change. It is kept even where it makes a fault; a draft with a fault is not compiled."""
    store = store_of(request)
    raw = await store.draft_tables(draft, data.seen) or (await _last(request, draft))[1]
    try:
        tables, what = changed(msgspec.json.decode(raw), data.file, data.key, data.index, data.value, data.to)
    except InputError as error:
        raise RequestError(400, "invalid", error.field, error.why) from None
    made = msgspec.json.encode(tables)
    if len(made) > MOST_DRAFT_BYTES:
        raise RequestError(413, "too_large", "value", "the draft would be larger than a pack may be")
    await store.save_draft(draft, data.seen, what, made, staff_of(request).id, now_ms())
    return await _draft(request, draft)


@get("/api/drafts/{draft:str}/difference", guards=[lead])
async def draft_difference(request: Call, draft: DraftId) -> PackDifference:
    """In what a draft without a fault differs from the pack that it was made from."""
    saves, raw = await _last(request, draft)
    base = await pack_bytes(request, saves[0].base)
    try:
        return await worked_out(lambda: difference(decode_pack(base), load_tables(msgspec.json.decode(raw))))
    except PackFaults as error:
        raise _has_faults(error.faults) from None


def _has_faults(faults: list[PackFault]) -> RequestError:
    first = faults[0]
    why = f"{first.reason} ({len(faults)} {'fault' if len(faults) == 1 else 'faults'} in all)"
    return RequestError(409, "draft_faults", f"{first.file}: {first.key}", why)


@post("/api/drafts/{draft:str}/compile", **CHANGE)
async def compile_draft(request: Call, draft: DraftId, data: JSONBody[CompileRequest]) -> CompileJob:
    """Begin to compile the draft as it was seen. The pack that comes of it is in force nowhere until it is
    approved."""
    saves, raw = await _last(request, draft)
    if saves[0].number != data.seen:
        why = "somebody else has saved this draft since you opened it; see what they changed first"
        raise RequestError(409, "changed_meanwhile", "seen", why)
    try:
        source: Source = await asyncio.to_thread(lambda: load_tables(msgspec.json.decode(raw)))
    except PackFaults as error:
        raise _has_faults(error.faults) from None
    compiling = _compiling(request)
    if compiling.busy():
        raise RequestError(503, "busy", "compile", "another draft is being compiled; ask again later")
    regions = len(source.planning.regions)
    job = CompileJob(
        draft=draft,
        number=data.seen,
        state="running",
        pieces=0,
        most=len(source.optics) * len(reach_classes()) * (regions + 1) if regions else 0,
        doing="",
        started_at=now_ms(),
        ended_at=None,
        pack=None,
        why="",
    )
    compiling.start(store_of(request), job, raw, now_ms)
    return job


ROUTES = [drafts, forms, begin, draft_page, save, draft_difference, compile_draft]
