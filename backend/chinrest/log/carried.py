"""A phone's lines as a file that anybody may carry and only the final server can read, and the receipts that
come back the same way.

Both are rows of JSON, each ended by a line feed (or a carriage return and one: mail does that). A carried
file is a header and its parts. A part holds what a sync would send, sealed for the server's carrying key with
the header's own bytes and the part's number as `info`. Receipts are a row that says what was taken, and a
seal over it by the key that signs all of the server's receipts.
"""

import base64
import binascii
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

import msgspec
from msgspec import Struct

from chinrest.log.backed_up import BackupWord
from chinrest.log.signing import is_signed, sign

FORMAT = 1
FILE_LIMIT_BYTES = 16 * 1024 * 1024
PARTS_LIMIT = 256


class CarriedHeader(Struct, frozen=True, kw_only=True, tag_field="record", tag="carried"):
    """`server`: the final server's id. `key`: SHA-256 of its carrying key (SPKI in base64). `file`: a random
    id. `packing`: how each part was packed before it was sealed."""

    v: int
    server: str
    key: str
    file: str
    made_at: int
    parts: int
    packing: Literal["gzip", ""]


class CarriedPart(Struct, frozen=True, kw_only=True, tag_field="record", tag="part"):
    n: int
    sealed: str


class FinalReceipt(Struct, frozen=True, kw_only=True):
    """A final server's receipt as others pass it on: what was signed, whole, with KIND `final`."""

    server: str
    epoch: str
    device: str
    seq: int
    head_sha256: str
    at: int
    signature: str


class CarriedRefusal(Struct, frozen=True, kw_only=True):
    """A line of a carried file that the server would not store, and why. It is kept aside there."""

    id: str | None
    seq: int | None
    code: str
    reason: str


class Receipts(Struct, frozen=True, kw_only=True, tag_field="record", tag="receipts"):
    """What became of one carried file. `taken`: inclusive ranges of the device's sequences that the file held
    and the server holds. `receipt`: null where nothing of the device's chain joins its beginning yet.
    `backup`: the server's word of its last backup."""

    v: int
    server: str
    epoch: str
    device: str
    file: str
    at: int
    taken: list[tuple[int, int]]
    refused: list[CarriedRefusal]
    receipt: FinalReceipt | None
    backup: BackupWord | None = None


class ReceiptsSeal(Struct, frozen=True, kw_only=True, tag_field="record", tag="receipts_seal"):
    """`sha256` of the row before it, without its line end. `signature` over `chinrest receipts SHA256`."""

    sha256: str
    signature: str


class CarryingKey(Struct, frozen=True, kw_only=True):
    """The key (SPKI in base64) for which lines are sealed that go to `server` by file. `signature`: by the
    key that signs that server's receipts, over `chinrest carrying-key SERVER KEY`."""

    server: str
    key: str
    signature: str


class CarriedError(Exception):
    """Why a file can't be taken. Nothing was taken of it."""

    def __init__(self, code: str, why: str) -> None:
        super().__init__(f"{code}: {why}")
        self.code, self.why = code, why


@dataclass(frozen=True)
class CarriedFile:
    """A whole file, its parts still sealed. `info` is what their seals are bound to."""

    header: CarriedHeader
    info: bytes
    sealed: list[bytes]


def carrying_key_text(server: str, key: str) -> str:
    return f"chinrest carrying-key {server} {key}"


def is_carrying_key(said: CarryingKey, server_key: str) -> bool:
    return is_signed(server_key, carrying_key_text(said.server, said.key), said.signature)


def key_name(public_key: str) -> str:
    return sha256(public_key.encode()).hexdigest()


def part_info(header_row: bytes, n: int) -> bytes:
    """`header_row` without its line end; parts are counted from 1."""
    return b"chinrest carried\n" + header_row + b"\n" + str(n).encode()


def read_carried(raw: bytes) -> CarriedFile:
    """Raises CarriedError for what is no carried file, or no whole one."""
    rows = raw.replace(b"\r\n", b"\n").split(b"\n")
    try:
        header = msgspec.json.decode(rows[0], type=CarriedHeader)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        why = "this is no file of carried lines, or its beginning was changed"
        raise CarriedError("not_carried", why) from error
    if header.v != FORMAT:
        why = f"the file is of format {header.v}; this version reads {FORMAT}. Update the server"
        raise CarriedError("unknown_format", why)
    if not 1 <= header.parts <= PARTS_LIMIT:
        raise CarriedError("damaged", f"a file has from 1 to {PARTS_LIMIT} parts, and not {header.parts}")
    whole = rows[1 : header.parts + 1]
    # the last row counts only with its line end
    if len(rows) < header.parts + 2:
        why = f"the file was cut short: {max(0, len(rows) - 2)} of its {header.parts} parts are whole"
        raise CarriedError("cut_short", why)
    if any(row.strip() for row in rows[header.parts + 1 :]):
        raise CarriedError("damaged", f"more stands in the file than its {header.parts} parts")
    return CarriedFile(
        header=header, info=rows[0], sealed=[_part(row, n) for n, row in enumerate(whole, start=1)]
    )


def _part(row: bytes, n: int) -> bytes:
    try:
        part = msgspec.json.decode(row, type=CarriedPart)
        sealed = base64.b64decode(part.sealed, validate=True)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, binascii.Error, ValueError) as error:
        raise CarriedError("damaged", f"part {n} was changed on the way: it is not readable") from error
    # the last letter of base64 has bits that mean nothing: even they may not be changed unseen
    if base64.b64encode(sealed).decode() != part.sealed:
        raise CarriedError("damaged", f"part {n} was changed on the way: its last letter is another")
    if part.n != n:
        raise CarriedError("damaged", f"part {part.n} stands where part {n} should")
    return sealed


def write_carried(header: CarriedHeader, sealed: list[bytes]) -> bytes:
    parts = [
        CarriedPart(n=n, sealed=base64.b64encode(part).decode()) for n, part in enumerate(sealed, start=1)
    ]
    return b"".join(msgspec.json.encode(row) + b"\n" for row in (header, *parts))


def receipts_text(digest: str) -> str:
    return f"chinrest receipts {digest}"


def write_receipts(said: Receipts, key: str) -> bytes:
    """Sealed by the server's private signing key."""
    row = msgspec.json.encode(said)
    digest = sha256(row).hexdigest()
    seal = ReceiptsSeal(sha256=digest, signature=sign(key, receipts_text(digest)))
    return row + b"\n" + msgspec.json.encode(seal) + b"\n"
