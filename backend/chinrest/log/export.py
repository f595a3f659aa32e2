"""An export: lines with their chains, in a file that vouches for itself.

Rows, each ended by a line feed: a header, then device by device its lines in sequence, then a seal. Beside
the lines stand *stubs* (a line that was refused left its hash, so that the chain goes on) and *vouchers*
(the device's signature over the head that it had reached). Of a line whose body was erased the envelope
stands (*erased*), and a tombstone in the server's own chain names the body's hash. Lines are known by their
tab; the other rows are JSON without one. The seal holds the SHA-256 of all bytes before it, signed by the
server: a row that is missing at the end is missed.
"""

from hashlib import sha256
from typing import Literal

import msgspec
from msgspec import Struct

from chinrest.log.signing import is_signed, sign


class Record(Struct, frozen=True, kw_only=True, tag_field="record", forbid_unknown_fields=True):
    """A row that is no line."""


class ExportedDevice(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`public_key` is SPKI in base64. `last_seq` is the head of its unbroken chain when the export was made;
    what waited above it for a predecessor (`waiting`) is not in the file."""

    device: str
    kind: Literal["phone", "server"]
    label: str
    site: str | None
    public_key: str
    last_seq: int
    head_sha256: str
    waiting: int = 0


class ExportHeader(Record, frozen=True, kw_only=True, tag="export"):
    """`server_key`: SPKI in base64. `position`: the log position up to which lines were counted."""

    v: int
    server: str
    epoch: str
    server_key: str
    made_at: int
    position: int
    devices: list[ExportedDevice]


class Stub(Record, frozen=True, kw_only=True, tag="stub"):
    device: str
    seq: int
    envelope_sha256: str
    code: str
    reason: str


class ErasedLine(Record, frozen=True, kw_only=True, tag="erased"):
    """The envelope's own bytes, as text."""

    envelope: str


class Voucher(Record, frozen=True, kw_only=True, tag="voucher"):
    device: str
    head_seq: int
    head_sha256: str
    signature: str


class Seal(Record, frozen=True, kw_only=True, tag="seal"):
    lines: int
    sha256: str
    signature: str


ExportRow = ExportHeader | Stub | ErasedLine | Voucher | Seal
_ROW: msgspec.json.Decoder[ExportRow] = msgspec.json.Decoder(ExportRow)
FORMAT = 1


def encode_row(row: ExportRow) -> bytes:
    return msgspec.json.encode(row)


def decode_row(raw: bytes) -> ExportRow | str:
    """A row that is no line, or why it is none. Only the one way of writing it down is taken, so that no
    byte can be changed unseen."""
    try:
        row = _ROW.decode(raw)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as fault:
        return f"neither a line nor a row of an export: {fault}"
    return row if encode_row(row) == raw else "not written as an export writes it"


def sealed_text(digest: str) -> str:
    """What the server signs: a seal is never mistaken for a receipt."""
    return f"chinrest export {digest}"


class Sealing:
    """Adds up an export's rows as they are written, and seals it."""

    def __init__(self, key: str) -> None:
        self._key = key
        self._hash = sha256()
        self._lines = 0

    def row(self, raw: bytes, *, line: bool) -> bytes:
        """The row with its line feed."""
        self._lines += line
        self._hash.update(raw + b"\n")
        return raw + b"\n"

    def seal(self) -> bytes:
        digest = self._hash.hexdigest()
        made = Seal(lines=self._lines, sha256=digest, signature=sign(self._key, sealed_text(digest)))
        return encode_row(made) + b"\n"


def seal_fault(seal: Seal, *, lines: int, digest: str, server_key: str) -> str | None:
    """What is wrong with a seal over `lines` lines and bytes of this hash; null when it holds."""
    if seal.lines != lines:
        return f"sealed over {seal.lines} lines, and {lines} stand here"
    if seal.sha256 != digest:
        return "the bytes before the seal are not those that were sealed"
    if not is_signed(server_key, sealed_text(digest), seal.signature):
        return "the seal is not signed by the server's key"
    return None
