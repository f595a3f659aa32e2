"""What officers and leads decide about an incident. Each decision names what its writer had seen, so that
two people never overwrite each other."""

from datetime import date
from typing import Annotated, Any

from litestar import get, post
from litestar.params import JSONBody, PathParameter

from chinrest.log.house_events import CaseRead
from chinrest.log.review_events import (
    ActionAdded,
    ActionChanged,
    ActionFinished,
    ClosingAsked,
    IncidentClassified,
    IncidentClosed,
    IncidentCommented,
    IncidentLinked,
    IncidentReopened,
    ReactionParted,
    ReviewBody,
)
from chinrest.log.reviews import Review
from chinrest.log.write import new_salt, uuid7
from chinrest.server.context import Call, now_ms, staff_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, own_page, reviewer
from chinrest.server.phones import SMALL_BYTES
from chinrest.server.queue import named_in
from chinrest.server.review import Seen
from chinrest.server.review_wire import (
    AddAction,
    AskClosing,
    ChangeAction,
    Classify,
    CloseIncident,
    CommentOn,
    FinishAction,
    IncidentPage,
    LinkIncident,
    PartReaction,
    ReopenIncident,
)
from chinrest.server.scope import WITHIN
from chinrest.store import StoreError

TEXT_LIMIT = 4000
FACTORS_LIMIT = 30
Line = Annotated[str, PathParameter(max_length=100, description="id of the line that made the incident")]
DECIDE: dict[str, Any] = {
    "guards": [reviewer, own_page, json_body],
    "opt": WITHIN,
    "status_code": 200,
    "request_max_body_size": SMALL_BYTES,
}
STATUS = {"incident_unknown": 404, "action_unknown": 404, "changed_meanwhile": 409, "not_allowed": 409}


def _text(text: str, where: str, *, empty: bool = False) -> str:
    """Words that somebody can read later."""
    tidy = text.strip()
    if len(tidy) > TEXT_LIMIT or (not tidy and not empty) or "\x00" in tidy:
        least = 0 if empty else 1
        raise RequestError(400, "invalid", where, f"write {least} to {TEXT_LIMIT} characters")
    return tidy


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise RequestError(400, "invalid", "due", "give a day as YYYY-MM-DD") from error


async def _decide(request: Call, body: ReviewBody, seen: int | None) -> Review:
    store = store_of(request)
    try:
        review = await store.decide(body, seen, now_ms())
    except StoreError as fault:
        if fault.code in STATUS:
            raise RequestError(STATUS[fault.code], fault.code, fault.where, fault.why) from fault
        raise
    return review


@get("/api/incidents/{line:str}", guards=[reviewer], opt=WITHIN)
async def incident_page(request: Call, line: Line, seen: Seen = None) -> IncidentPage | None:
    """One incident with its review and others like it. The reading is itself logged, before it is shown."""
    store, staff = store_of(request), staff_of(request)
    if seen is not None and not await store.incident_changed_after(line, seen):
        return None
    position = await store.position()
    row = await store.incident(line)
    if row is None:
        raise RequestError(404, "incident_unknown", "line", "no such incident is kept here")
    read = CaseRead(salt=new_salt(), by=staff.id)
    await store.append_own(read, staff.id, now_ms(), case=row.case, practice=row.practice)
    review = await store.review_of(line)
    linked = [await store.incident(link.other) for link in review.links]
    return IncidentPage(
        position=position,
        row=row,
        review=review,
        linked=[other for other in linked if other is not None],
        like=await store.like_incidents(line),
        people=await named_in([review], store, staff),
    )


@post("/api/incidents/{line:str}/classification", **DECIDE)
async def classify(request: Call, line: Line, data: JSONBody[Classify]) -> Review:
    """The officer's own judgement, beside the reporter's words. Earlier ones stay in the log."""
    if len(data.factors) > FACTORS_LIMIT:
        raise RequestError(400, "invalid", "factors", f"at most {FACTORS_LIMIT}")
    body = IncidentClassified(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        harm=data.harm,
        preventable=data.preventable,
        factors=[_text(factor, "factors") for factor in data.factors],
        reaction=data.reaction,
        note=_text(data.note, "note", empty=True),
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/comments", **DECIDE)
async def comment(request: Call, line: Line, data: JSONBody[CommentOn]) -> Review:
    body = IncidentCommented(
        salt=new_salt(), incident=line, by=staff_of(request).id, text=_text(data.text, "text")
    )
    return await _decide(request, body, None)


@post("/api/incidents/{line:str}/links", **DECIDE)
async def link(request: Call, line: Line, data: JSONBody[LinkIncident]) -> Review:
    """Says that another incident is like this one, or takes that back."""
    if data.other == line or await store_of(request).incident(data.other) is None:
        raise RequestError(404, "incident_unknown", "other", "there is no such other incident")
    body = IncidentLinked(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        other=data.other,
        why=_text(data.why, "why", empty=not data.linked),
        linked=data.linked,
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/parting", **DECIDE)
async def part(request: Call, line: Line, data: JSONBody[PartReaction]) -> Review:
    """Says that an emergency which is counted as part of this incident is another one, or takes that back."""
    body = ReactionParted(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        reaction=_text(data.reaction, "reaction"),
        why=_text(data.why, "why", empty=not data.parted),
        parted=data.parted,
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/actions", **DECIDE)
async def add_action(request: Call, line: Line, data: JSONBody[AddAction]) -> Review:
    body = ActionAdded(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        action=uuid7(now_ms()),
        text=_text(data.text, "text"),
        owner=_text(data.owner, "owner"),
        due=_day(data.due),
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/actions/{action:str}", **DECIDE)
async def change_action(request: Call, line: Line, action: Line, data: JSONBody[ChangeAction]) -> Review:
    """Another owner or another day, with the reason."""
    body = ActionChanged(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        action=action,
        owner=_text(data.owner, "owner"),
        due=_day(data.due),
        why=_text(data.why, "why"),
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/actions/{action:str}/end", **DECIDE)
async def finish_action(request: Call, line: Line, action: Line, data: JSONBody[FinishAction]) -> Review:
    """Done, or dropped for a reason."""
    body = ActionFinished(
        salt=new_salt(),
        incident=line,
        by=staff_of(request).id,
        action=action,
        done=data.done,
        note=_text(data.note, "note", empty=data.done),
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/closing", **DECIDE)
async def ask_closing(request: Call, line: Line, data: JSONBody[AskClosing]) -> Review:
    """One person thinks that it can be closed; another must look too."""
    body = ClosingAsked(
        salt=new_salt(), incident=line, by=staff_of(request).id, note=_text(data.note, "note")
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/close", **DECIDE)
async def close_incident(request: Call, line: Line, data: JSONBody[CloseIncident]) -> Review:
    """The second look, by another person than asked for it."""
    body = IncidentClosed(
        salt=new_salt(), incident=line, by=staff_of(request).id, note=_text(data.note, "note", empty=True)
    )
    return await _decide(request, body, data.seen)


@post("/api/incidents/{line:str}/reopen", **DECIDE)
async def reopen(request: Call, line: Line, data: JSONBody[ReopenIncident]) -> Review:
    body = IncidentReopened(
        salt=new_salt(), incident=line, by=staff_of(request).id, why=_text(data.why, "why")
    )
    return await _decide(request, body, data.seen)


ROUTES = [
    incident_page,
    classify,
    comment,
    link,
    part,
    add_action,
    change_action,
    finish_action,
    ask_closing,
    close_incident,
    reopen,
]
