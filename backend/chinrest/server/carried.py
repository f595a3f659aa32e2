"""Carrying by file: what a phone sealed for this server is taken in, whoever brings it, by the same checks
as a sync, and receipts go back the same way."""

from collections.abc import Iterator
from contextlib import contextmanager

from litestar import get, post
from litestar.openapi import ResponseSpec

from chinrest.log.answers import LineAnswer
from chinrest.log.carried import (
    FILE_LIMIT_BYTES,
    FORMAT,
    CarriedError,
    CarriedFile,
    CarriedRefusal,
    CarryingKey,
    FinalReceipt,
    Receipts,
    key_name,
    part_info,
    read_carried,
)
from chinrest.log.house_events import LinesCarried
from chinrest.log.sealing import unseal
from chinrest.log.signing import public_of
from chinrest.log.write import new_salt
from chinrest.server.backed_up import own_word
from chinrest.server.context import Call, now_ms, settings_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import carrier, enrolled, takes
from chinrest.server.inflate import inflate
from chinrest.server.phones import batch_head, check_signature, final_carrying_key, receipt_for, split_batch
from chinrest.server.scope import WITHIN
from chinrest.server.wire import Carried, SyncHeader
from chinrest.store import Store
from chinrest.store.lines import as_ranges
from chinrest.store.rows import DeviceRecord

Batch = tuple[SyncHeader, list[bytes]]


@contextmanager
def _in_part(n: int) -> Iterator[None]:
    """A fault of one part, told as of the file."""
    try:
        yield
    except RequestError as error:
        fault = error.fault
        raise RequestError(400, fault.code, f"file.parts[{n}].{fault.where}", fault.why) from error


def _batch(file: CarriedFile, n: int, key: str) -> Batch:
    """One part, opened. Raises RequestError."""
    plain = unseal(key, part_info(file.info, n), file.sealed[n - 1])
    if plain is None:
        why = f"part {n} can't be opened: the file was changed on the way. Ask for it again"
        raise RequestError(400, "damaged", "file", why)
    with _in_part(n):
        header, lines = split_batch(inflate(plain, file.header.packing))
        if header.sealed:
            why = "the lines of a file are sealed by its parts alone"
            raise RequestError(400, "damaged", "header.sealed", why)
        if header.short:
            why = "the lines of a file are whole"
            raise RequestError(400, "damaged", "header.short", why)
        return header, lines


async def _sender(store: Store, header: SyncHeader) -> DeviceRecord:
    device = await store.device(header.device)
    if device is None:
        why = "the phone that made this file is not known here; if a hub enrolled it, let the hub relay once"
        raise RequestError(409, "sender_unknown", "file", why)
    if device.withdrawn:
        why = f"{device.label} was withdrawn; enrol it again with a new code, then its file is taken"
        raise RequestError(409, "sender_withdrawn", "file", why)
    return device


async def take_carried(store: Store, raw: bytes, by: str, now: int) -> Carried:
    """Take a carried file in: nothing of it before all of it was opened and proved. Twice is once.

    `by`: who brought it. Raises RequestError.
    """
    try:
        file = read_carried(raw)
    except CarriedError as error:
        raise RequestError(400, error.code, "file", error.why) from error
    who, key = await store.identity(), await store.carrying_private_key()
    if file.header.server != who.server or file.header.key != key_name(public_of(key)):
        why = f"the file is sealed for another server ({file.header.server}), and only that one can open it"
        raise RequestError(409, "wrong_server", "file", why)
    device = await _sender(store, _batch(file, 1, key)[0])
    parts = range(1, len(file.sealed) + 1)
    for n in parts:  # opened once to be proved and once to be stored, so that one part at a time is in memory
        header, lines = _batch(file, n, key)
        with _in_part(n):
            if header.device != device.id:
                raise RequestError(400, "damaged", "device", "not the device of the file's first part")
            check_signature(header, lines, device.public_key)
    answers: list[LineAnswer] = []
    for n in parts:
        header, lines = _batch(file, n, key)
        answers += await store.take_batch(device.id, lines, now, batch_head(header), carried=True)
    refused = [
        CarriedRefusal(id=line.id, seq=line.seq, code=line.code or "refused", reason=line.reason or "")
        for line in answers
        if line.status == "refused"
    ]
    stored = sum(line.status in ("stored", "waiting") for line in answers)
    if stored:
        told = LinesCarried(
            salt=new_salt(),
            device=device.id,
            by=by,
            file=file.header.file,
            lines=stored,
            refused=len(refused),
        )
        await store.append_own(told, by, now)
    return Carried(
        device=device.id,
        label=device.label,
        stored=stored,
        repeats=sum(line.status == "repeat" for line in answers),
        refused=len(refused),
        receipts=await _receipts(store, file, device.id, answers, refused, now),
    )


async def _receipts(
    store: Store,
    file: CarriedFile,
    device: str,
    answers: list[LineAnswer],
    refused: list[CarriedRefusal],
    now: int,
) -> str:
    who = await store.identity()
    said = await receipt_for(store, who, device, "final", now)
    receipt = None
    if said is not None:
        receipt = FinalReceipt(
            server=who.server,
            epoch=who.epoch,
            device=device,
            seq=said.seq,
            head_sha256=said.head_sha256,
            at=said.at,
            signature=said.signature,
        )
    taken = {line.seq for line in answers if line.status != "refused" and line.seq is not None}
    written = await store.seal_receipts(
        Receipts(
            v=FORMAT,
            server=who.server,
            epoch=who.epoch,
            device=device,
            file=file.header.file,
            at=now,
            taken=as_ranges(taken),
            refused=refused,
            receipt=receipt,
            backup=await own_word(store, device, now),
        )
    )
    return written.decode()


@get(
    "/api/carrying-key",
    guards=[enrolled],
    responses={200: ResponseSpec(CarryingKey, description="the final server's key, signed by it")},
)
async def carrying_key(request: Call) -> CarryingKey:
    """For which key a phone seals lines that go to the final server by file."""
    found = await final_carrying_key(store_of(request), settings_of(request).kind)
    if found is None:
        why = "this hub does not know the final server's key yet: it learns it when it relays"
        raise RequestError(404, "key_unknown", "server", why)
    return found


@post("/api/carried", guards=[carrier], opt=WITHIN, status_code=200, request_max_body_size=FILE_LIMIT_BYTES)
async def carried(request: Call) -> Carried:
    """Take in a file that a phone sealed for this server, brought by another phone or at the desk. The body
    is the file as it is, as `application/x-ndjson`. Whoever brings it only delivers it: what is in it was
    signed by its phone and can be opened here alone, so that it is taken from anybody who may come in, from
    another site too, and no line waits for the right messenger."""
    takes(request, "application/x-ndjson")
    if settings_of(request).kind != "final":
        why = "this is a hub, which can't open it: the file is for the final server. Keep it and carry it on"
        raise RequestError(409, "wrong_server", "file", why)
    state = request.scope["state"]
    by = state["device"] or state["staff"]
    return await take_carried(store_of(request), await request.body(), by.id, now_ms())


ROUTES = [carrying_key, carried]
