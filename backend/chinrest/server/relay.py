"""What a hub asks: take these lines of one of my phones, give me the pack. A hub is known by its key
alone."""

from hashlib import sha256
from typing import Any

import msgspec
from litestar import Response, post
from litestar.openapi import ResponseSpec
from litestar.params import JSONBody

from chinrest.log.erasures import is_tombstone
from chinrest.log.signing import is_public_key, is_signed
from chinrest.log.stub_word import is_stub_word
from chinrest.server.backed_up import word_for
from chinrest.server.context import Call, now_ms, settings_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, takes
from chinrest.server.inflate import inflate
from chinrest.server.phones import BATCH_LIMIT_LINES, SMALL_BYTES, receipt_for
from chinrest.server.relay_wire import (
    HubWord,
    PackAsked,
    RelayAnswer,
    RelayHeader,
    answer_text,
    pack_text,
    relay_text,
    word_text,
)
from chinrest.server.wire import Recall
from chinrest.store import Store, StoreError
from chinrest.store.relaying import Hub, HubSaid, Parcel, Sender

RELAY_LIMIT_BYTES = 4 * 1024 * 1024


async def _hub(store: Store, hub: str) -> Hub:
    found = next((each for each in await store.hubs() if each.id == hub), None)
    if found is None:
        why = "this hub is not approved here: chinrest hubs add"
        raise RequestError(403, "hub_unknown", "hub", why)
    if found.withdrawn:
        raise RequestError(403, "hub_withdrawn", "hub", "this hub was withdrawn")
    return found


def _split(body: bytes) -> tuple[RelayHeader, list[bytes], str]:
    """The header, the raw lines, and the hash over the lines' bytes."""
    first, _, rest = body.partition(b"\n")
    try:
        header = msgspec.json.decode(first, type=RelayHeader)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise RequestError(
            400, "malformed", "header", f"the first row is no relay header: {error}"
        ) from error
    if rest and not rest.endswith(b"\n"):
        raise RequestError(400, "cut_short", "body", "the last line has no line feed: the body was cut short")
    if rest.count(b"\n") > BATCH_LIMIT_LINES:
        raise RequestError(
            413, "too_large", "body", f"more than {BATCH_LIMIT_LINES} lines; send fewer at once"
        )
    return header, rest.split(b"\n")[:-1], sha256(rest).hexdigest()


def _check(header: RelayHeader, raws: list[bytes], lines_sha256: str, hub: Hub) -> None:
    """The hub vouches for the parcel, the device for its lines."""
    if not is_signed(hub.public_key, relay_text(header, lines_sha256), header.hub_signature):
        raise RequestError(403, "bad_signature", "hub_signature", "not signed by the hub's key")
    if not all(is_tombstone(stone.case, stone.body, hub.public_key) for stone in header.tombstones):
        raise RequestError(403, "bad_signature", "tombstones", "not signed by the hub's key")
    if not all(is_stub_word(header.device, word, hub.public_key) for word in header.stubs):
        raise RequestError(403, "bad_signature", "stubs", "not signed by the hub's key")
    if not raws:
        return
    if not is_public_key(header.public_key):
        raise RequestError(400, "invalid", "public_key", "not a P-256 public key, SPKI in base64")
    if sha256(raws[-1].partition(b"\t")[0]).hexdigest() != header.head_sha256:
        raise RequestError(400, "bad_signature", "head_sha256", "not the hash of the last line's envelope")
    if not is_signed(header.public_key, header.head_sha256, header.signature):
        raise RequestError(403, "bad_signature", "signature", "the lines are not signed by the device's key")


@post("/api/relay", status_code=200, request_max_body_size=RELAY_LIMIT_BYTES + SMALL_BYTES)
async def relay(request: Call) -> RelayAnswer:
    """Take one device's lines from a hub. The body is `application/x-ndjson`, by preference gzip: a
    RelayHeader, then the raw lines."""
    takes(request, "application/x-ndjson")
    packed = await request.body()
    body = inflate(packed, request.headers.get("content-encoding", ""), RELAY_LIMIT_BYTES)
    header, raws, lines_sha256 = _split(body)
    store, now = store_of(request), now_ms()
    hub = await _hub(store, header.hub)
    _check(header, raws, lines_sha256, hub)
    sender = Sender(
        device=header.device,
        label=header.label,
        site=header.site,
        public_key=header.public_key,
        enrolled_at=header.enrolled_at,
    )
    parcel = Parcel(
        sender=sender,
        raws=raws,
        head_seq=header.head_seq,
        head_sha256=header.head_sha256,
        signature=header.signature,
        tombstones=header.tombstones,
        stubs=header.stubs,
    )
    try:
        answers = await store.take_parcel(hub.id, parcel, now)
    except StoreError as fault:
        if fault.code == "site_unknown":
            raise RequestError(409, fault.code, fault.where, fault.why) from fault
        raise
    who = await store.identity()
    known = next((device for device in await store.devices() if device.id == header.device), None)
    answer = RelayAnswer(
        server=who.server,
        server_key=who.public_key,
        epoch=who.epoch,
        kind=settings_of(request).kind,
        lines=answers,
        receipt=await receipt_for(store, who, header.device, settings_of(request).kind, now),
        pack=await store.pack_in_force(header.site),
        recalls=[Recall(sha256=row.sha256, why=row.why, at=row.at) for row in await store.recalls()],
        withdrawn=known is not None and known.withdrawn,
        signature="",
        carrying_key=await store.carrying_key() if settings_of(request).kind == "final" else None,
        backup=await word_for(store, header.device, settings_of(request).kind, now),
        people=await store.people_word(header.site),
    )
    return msgspec.structs.replace(answer, signature=await store.sign(answer_text(answer, header)))


@post(
    "/api/relay/pack",
    guards=[json_body],
    status_code=200,
    request_max_body_size=SMALL_BYTES,
    responses={200: ResponseSpec(dict[str, Any], description="the guidance pack's own bytes (Pack)")},
)
async def relayed_pack(request: Call, data: JSONBody[PackAsked]) -> Response[bytes]:
    """A guidance pack for a hub."""
    store = store_of(request)
    hub = await _hub(store, data.hub)
    if not is_signed(hub.public_key, pack_text(data), data.hub_signature):
        raise RequestError(403, "bad_signature", "hub_signature", "not signed by the hub's key")
    raw = await store.pack_bytes(data.sha256)
    if raw is None:
        raise RequestError(404, "pack_unknown", "sha256", "this server holds no such pack")
    return Response(raw, media_type="application/json")


@post(
    "/api/relay/hub",
    guards=[json_body],
    status_code=204,
    request_max_body_size=SMALL_BYTES,
)
async def hub_word(request: Call, data: JSONBody[HubWord]) -> None:
    """What a hub says of itself."""
    store, now = store_of(request), now_ms()
    hub = await _hub(store, data.hub)
    if not is_signed(hub.public_key, word_text(data), data.hub_signature):
        raise RequestError(403, "bad_signature", "hub_signature", "not signed by the hub's key")
    said = HubSaid(
        at=now, waiting=data.waiting, clock_offset_ms=data.now - now, app=data.app, packs=data.packs
    )
    await store.hear_hub(hub.id, said)


ROUTES = [relay, relayed_pack, hub_word]
