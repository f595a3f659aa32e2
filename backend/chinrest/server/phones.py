"""What a phone asks: is the server there, enrol me, take my lines, give me the pack."""

import uuid
from hashlib import sha256
from typing import Annotated, Any

import msgspec
from litestar import Response, get, post
from litestar.openapi import ResponseSpec
from litestar.params import JSONBody, PathParameter

import chinrest
from chinrest.log.carried import CarryingKey, FinalReceipt
from chinrest.log.house_events import DataKeyGivenBack
from chinrest.log.short import Hashes, ShortError, TooLongError, restored
from chinrest.log.signing import is_public_key, is_signed
from chinrest.log.write import new_salt
from chinrest.server.backed_up import word_for
from chinrest.server.context import Call, address_of, device_of, now_ms, settings_of, store_of, tries_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, sender, sender_or_signed_in, takes
from chinrest.server.inflate import SYNC_LIMIT_BYTES, inflate
from chinrest.server.locked import held_in_escrow, unsealed
from chinrest.server.scope import WITHIN
from chinrest.server.wire import (
    EnrolAnswer,
    EnrolRequest,
    Health,
    Recall,
    Receipt,
    SyncAnswer,
    SyncHeader,
)
from chinrest.store import Store
from chinrest.store.rows import BatchHead, Identity, Pulled

PULL_LIMIT_BYTES = 512 * 1024
SMALL_BYTES = 64 * 1024
LABEL_LIMIT = 80
BATCH_LIMIT_LINES = (
    4096  # more sound lines than fit into a body; a million empty ones would hold up everybody
)
Sha256 = Annotated[
    str, PathParameter(pattern="^[0-9a-f]{64}$", description="SHA-256, 64 lower-case hex digits")
]


@get("/api/health", summary="Is the server there, and which one is it")
async def health(request: Call) -> Health:
    """To anybody: nothing of what is written here, nor how much."""
    who = await store_of(request).identity()
    return Health(ok=True, server=who.server, epoch=who.epoch, app=chinrest.__version__)


def _check_enrolment(data: EnrolRequest) -> None:
    try:
        uuid.UUID(data.device)
    except ValueError as error:
        raise RequestError(400, "invalid", "device", "not a UUID") from error
    if not 0 < len(data.label.strip()) <= LABEL_LIMIT:
        raise RequestError(400, "invalid", "label", f"give the phone a name of 1 to {LABEL_LIMIT} characters")
    if not is_public_key(data.public_key):
        raise RequestError(400, "invalid", "public_key", "not a P-256 public key, SPKI in base64")


@post("/api/enrol", guards=[json_body], status_code=200, request_max_body_size=SMALL_BYTES)
async def enrol(request: Call, data: JSONBody[EnrolRequest]) -> EnrolAnswer:
    """Spend a one-time code: the phone gets its token and learns its site."""
    _check_enrolment(data)
    tries, address = tries_of(request, "enrol"), address_of(request)
    tries.begin(address, "code")
    store = store_of(request)
    data_key = await held_in_escrow(store, data.escrow, data.device)
    proved = is_signed(data.public_key, f"chinrest enrol {data.code} {data.device}", data.proof)
    token, site = await store.enrol(
        data.code,
        data.device,
        data.public_key,
        data.label.strip(),
        now_ms(),
        data.send_token_sha256,
        proved=proved,
    )
    tries.uncount(address)
    if data_key:
        # said before the key leaves: nobody gets one unseen
        body = DataKeyGivenBack(salt=new_salt(), device=data.device)
        await store.append_own(body, None, now_ms())
    who = await store.identity()
    sites = await store.sites()
    beyond = await store.beyond()
    return EnrolAnswer(
        token=token,
        site=site,
        site_name=sites.get(site, site),
        server=who.server,
        epoch=who.epoch,
        demo=settings_of(request).demo,
        server_key=who.public_key,
        final_key=beyond.public_key if beyond is not None else "",
        carrying_key=await final_carrying_key(store, settings_of(request).kind),
        data_key=data_key,
        send_token=data.send_token_sha256 != "",
    )


def split_batch(body: bytes) -> tuple[SyncHeader, list[bytes]]:
    """Header and raw lines, without their line feeds. Raises RequestError for what is not so laid out."""
    first, feed, rest = body.partition(b"\n")
    if not feed:
        raise RequestError(400, "malformed", "header", "the first line must end with a line feed")
    try:
        header = msgspec.json.decode(first, type=SyncHeader)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise RequestError(
            400, "malformed", "header", f"the first line is not a sync header: {error}"
        ) from error
    if rest and not rest.endswith(b"\n"):
        raise RequestError(400, "cut_short", "body", "the last line has no line feed: the body was cut short")
    if rest.count(b"\n") > BATCH_LIMIT_LINES:
        why = f"more than {BATCH_LIMIT_LINES} lines; send fewer at once"
        raise RequestError(413, "too_large", "body", why)
    return header, rest.split(b"\n")[:-1]


def put_back(header: SyncHeader, lines: list[bytes]) -> tuple[list[bytes], list[Hashes]]:
    """The whole lines of a batch in short form, proved by its head, and their hashes.

    Raises RequestError (400 `not_short`, 413); then the phone sends the lines whole, and what is wrong with
    one of them is said of that one.
    """
    if header.sealed:
        raise RequestError(400, "not_short", "header.short", "sealed lines have no short form")
    try:
        whole, hashes = restored(lines, SYNC_LIMIT_BYTES)
    except ShortError as error:
        raise RequestError(400, "not_short", error.where, error.why) from error
    except TooLongError as error:
        why = f"more than {SYNC_LIMIT_BYTES} bytes of whole lines; send fewer lines"
        raise RequestError(413, "too_large", "body", why) from error
    if hashes and hashes[-1].envelope != header.head_sha256:
        why = "the lines, put back, do not end in this head; send them whole"
        raise RequestError(400, "not_short", "header.head_sha256", why)
    return whole, hashes


def check_signature(header: SyncHeader, lines: list[bytes], public_key: str) -> None:
    """The device's signature over the batch's head: without its key, a stolen token writes nothing.

    Raises RequestError; the lines stay on the phone.
    """
    if not lines:
        return
    head = sha256(lines[-1].partition(b"\t")[0]).hexdigest()
    if header.head_sha256 != head:
        why = "not the hash of the envelope of the last line of this batch"
        raise RequestError(400, "bad_signature", "header.head_sha256", why)
    if header.signature is None or not is_signed(public_key, head, header.signature):
        why = "the batch is not signed by the key with which this device was enrolled"
        raise RequestError(403, "bad_signature", "header.signature", why)


def batch_head(header: SyncHeader) -> BatchHead:
    """What a batch says of its device's chain and of the phone."""
    return BatchHead(
        head_seq=header.head_seq,
        head_sha256=header.head_sha256,
        signature=header.signature,
        waiting=header.waiting,
        now=header.now,
        app=header.app,
    )


async def receipt_for(store: Store, who: Identity, device: str, kind: str, now: int) -> Receipt | None:
    """The signed word of this server (`who`) of what it holds of a device; null where that is nothing."""
    seq, held = await store.head(device)
    if seq == 0:
        return None
    text = f"chinrest receipt {who.server} {who.epoch} {kind} {device} {seq} {held} {now}"
    return Receipt(device=device, seq=seq, head_sha256=held, at=now, signature=await store.sign(text))


async def final_receipt_for(store: Store, device: str) -> FinalReceipt | None:
    """At a hub, the final server's own word, which the phone checks by that server's key."""
    passed = await store.passed_of(device)
    if passed is None or passed.kind != "final" or passed.seq == 0:
        return None
    return FinalReceipt(
        server=passed.server,
        epoch=passed.epoch,
        device=device,
        seq=passed.seq,
        head_sha256=passed.head_sha256,
        at=passed.at,
        signature=passed.signature,
    )


async def final_carrying_key(store: Store, kind: str) -> CarryingKey | None:
    """The final server's: this one's own, or at a hub, that of the server beyond as far as it is known."""
    if kind == "final":
        return await store.carrying_key()
    beyond = await store.beyond()
    return beyond.carrying_key if beyond is not None else None


@post("/api/sync", guards=[sender], status_code=200, request_max_body_size=SYNC_LIMIT_BYTES + SMALL_BYTES)
async def sync(request: Call) -> SyncAnswer:
    """Take a phone's lines and answer each; give what others of its site wrote, the pack in force, recalls.
    By a token that may only send, nothing of what others wrote, and the cursor stays.

    The body is `application/x-ndjson`, by preference gzip (one member, or one for the header and one for
    the lines): a SyncHeader, then the raw lines, or where it says so, lines in short form.
    """
    takes(request, "application/x-ndjson")
    body = inflate(await request.body(), request.headers.get("content-encoding", ""))
    header, lines = split_batch(body)
    device = device_of(request)
    if header.device != device.id:
        raise RequestError(403, "wrong_device", "header.device", "the token belongs to another device")
    store, settings = store_of(request), settings_of(request)
    hashes: list[Hashes] = []
    if header.short:
        lines, hashes = put_back(header, lines)
    elif header.sealed:
        lines = await unsealed(store, lines)
    check_signature(header, lines, device.public_key)
    received = now_ms()
    answers = await store.take_batch(device.id, lines, received, batch_head(header), hashes=hashes)
    all_taken = header.short and answers != [] and all(line.status != "refused" for line in answers)
    async with store.one_state(own=device.id):
        who = await store.identity()
        cursor = header.cursor if header.epoch == who.epoch else None
        pulled = (
            Pulled(lines=[], cursor=cursor or 0, more=False)
            if header.sealed or device.by == "send"
            else await store.pull(device.site, device.id, cursor, PULL_LIMIT_BYTES)
        )
        in_force, recalls = await store.pack_orders(device.site)
        return SyncAnswer(
            server=who.server,
            epoch=who.epoch,
            kind=settings.kind,
            now=received,
            app=chinrest.__version__,
            lines=[] if all_taken else answers,
            holds=await store.holds(device.id),
            cursor=pulled.cursor,
            pulled=[line.decode() for line in pulled.lines],
            more=pulled.more,
            pack=in_force,
            recalls=[Recall(sha256=row.sha256, why=row.why, at=row.at) for row in recalls],
            receipt=await receipt_for(store, who, device.id, settings.kind, received),
            final=await final_receipt_for(store, device.id),
            withdrawn_people=await store.withdrawn_people(device.site),
            backup=await word_for(store, device.id, settings.kind, received),
            takes_short=True,
            taken=header.head_sha256 if all_taken else None,
        )


@get(
    "/api/packs/{sha256:str}",
    guards=[sender_or_signed_in],  # a locked phone too: guidance is about no patient
    opt=WITHIN,
    responses={200: ResponseSpec(dict[str, Any], description="the guidance pack's own bytes (Pack)")},
)
async def pack(request: Call, sha256: Sha256) -> Response[bytes]:
    """A guidance pack by its hash: the bytes are what is hashed, so they are given as they were taken."""
    raw = await store_of(request).pack_bytes(sha256)
    if raw is None:
        raise RequestError(404, "pack_unknown", "sha256", "this server holds no such pack")
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(raw, media_type="application/json", headers=headers)


ROUTES = [health, enrol, sync, pack]
