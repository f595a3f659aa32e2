"""One line: an envelope and a body, two JSON texts with a tab between. The bytes are kept and never
rewritten."""

import re
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.case_events import Body
from chinrest.log.envelope import LINE_LIMIT_BYTES, Envelope
from chinrest.log.registry import body_fields, decode_body, known
from chinrest.log.short import Hashes

BIGGEST = 2**53 - 1
"""The largest whole number that both JSON in a browser and a database column carry exactly."""

TIME_LIMIT_MS = 8_640_000_000_000_000
"""As far from 1970 as a browser's clock can say, and as a browser can show (ECMA-262, time values)."""

NESTING_LIMIT = 64
"""Levels of lists and objects in a text. Readers give up at depths of their own, which hang on the machine;
what is taken here, every one of them can read."""

_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_UUID7 = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_HEX64 = re.compile(r"[0-9a-f]{64}")
_TYPE = re.compile(r"[a-z][a-z0-9_.]{0,63}")
_WORD = re.compile(r"[\x21-\x7e]{1,64}")
_CASE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")  # also a part of an address, so no slash and no dots
_ACTOR = re.compile(r"[^\x00-\x1f\x7f\ud800-\udfff]{1,200}")
_TEXTS = re.compile("\n".join(form.pattern for form in (_UUID7, _UUID, _HEX64, _HEX64, _WORD, _TYPE)))
"""Those that every line has, at once: a match each takes three times as long. None of them can hold a line
feed."""
_TOKEN = re.compile(rb'\\.|["\[\]{}]')
_ENVELOPE = msgspec.json.Decoder(Envelope)


class Claim(Struct, frozen=True, kw_only=True):
    """What could be read of a line that is not sound. Each part is null unless well-formed by itself."""

    id: str | None = None
    device: str | None = None
    seq: int | None = None
    prev: str | None = None
    type: str | None = None
    case: str | None = None
    at: int | None = None


class LineError(Exception):
    """Why a line is refused: code, where (the field), why (in words), and what it claims to be.

    `envelope_sha256` is over the bytes before the first tab, so that a line that follows can still be
    matched.
    """

    def __init__(self, code: RefusalCode, where: str, why: str, claim: Claim, envelope_sha256: str) -> None:
        super().__init__(f"{code}: {where}: {why}")
        self.code: RefusalCode = code
        self.where = where
        self.why = why
        self.claim = claim
        self.envelope_sha256 = envelope_sha256


class Line(Struct, frozen=True, kw_only=True):
    """A sound line. `body` is null where this version doesn't know the type; `body_bytes` always stand."""

    envelope: Envelope
    envelope_bytes: bytes
    envelope_sha256: str
    body_bytes: bytes
    body: Body | None

    @property
    def raw(self) -> bytes:
        return self.envelope_bytes + b"\t" + self.body_bytes


def is_device_id(text: str) -> bool:
    """A device's id is a UUID in lower case."""
    return _UUID.fullmatch(text) is not None


def is_sha256(text: str) -> bool:
    """A SHA-256 is written in 64 lower-case hex digits."""
    return _HEX64.fullmatch(text) is not None


def decode_line(raw: bytes, hashes: Hashes | None = None) -> Line:
    """Decode and check one line, without its line feed. Raises `LineError`; says nothing of its place in a
    chain. `hashes`: where they were made of these very bytes before."""
    envelope_bytes, tab, body_bytes = raw.partition(b"\t")
    digest = hashes.envelope if hashes else sha256(envelope_bytes).hexdigest()

    def refuse(code: RefusalCode, where: str, why: str) -> LineError:
        return LineError(code, where, why, claim_of(envelope_bytes), digest)

    if len(raw) > LINE_LIMIT_BYTES:
        raise refuse("too_large", "line", f"longer than {LINE_LIMIT_BYTES} bytes, the most that a line holds")
    if not tab:
        raise refuse("malformed", "line", "no tab between envelope and body")
    if b"\t" in body_bytes or b"\n" in raw or b"\r" in raw:
        raise refuse("malformed", "line", "a raw tab or line break inside a text")
    if _may_be_too_deep(raw):
        for where, text in (("envelope", envelope_bytes), ("body", body_bytes)):
            if _too_deep(text):
                raise refuse("malformed", where, f"nested deeper than {NESTING_LIMIT} levels")
    try:
        raw.decode()
        envelope = _ENVELOPE.decode(envelope_bytes)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as fault:
        raise refuse("malformed", "envelope", str(fault)) from fault
    wrong = _wrong_field(envelope)
    if wrong is not None:
        raise refuse("malformed", f"envelope.{wrong[0]}", wrong[1])
    if (hashes.body if hashes else sha256(body_bytes).hexdigest()) != envelope.body_sha256:
        raise refuse("body_hash", "body", "the body's bytes do not match body_sha256")
    body: Body | None = None
    if known(envelope):
        try:
            body = decode_body(envelope, body_bytes)
        except ValueError as fault:
            code: RefusalCode = "malformed" if body_fields(body_bytes) is None else "bad_body"
            raise refuse(code, "body", str(fault)) from fault
    elif body_fields(body_bytes) is None:
        raise refuse("malformed", "body", "not a JSON object")
    return Line(
        envelope=envelope,
        envelope_bytes=envelope_bytes,
        envelope_sha256=digest,
        body_bytes=body_bytes,
        body=body,
    )


def read_envelope(envelope_bytes: bytes) -> Line | str:
    """A line whose body is gone, or why it is none; as strict as `decode_line` of what is there."""
    if len(envelope_bytes) > LINE_LIMIT_BYTES or _too_deep(envelope_bytes) or b"\n" in envelope_bytes:
        return "no envelope"
    try:
        envelope = _ENVELOPE.decode(envelope_bytes)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as fault:
        return f"envelope: {fault}"
    wrong = _wrong_field(envelope)
    if wrong is not None:
        return f"envelope.{wrong[0]}: {wrong[1]}"
    digest = sha256(envelope_bytes).hexdigest()
    return Line(
        envelope=envelope, envelope_bytes=envelope_bytes, envelope_sha256=digest, body_bytes=b"", body=None
    )


def decode_envelope(envelope_bytes: bytes) -> Envelope:
    """An envelope that was checked before, such as one from the store."""
    return _ENVELOPE.decode(envelope_bytes)


def _wrong_field(e: Envelope) -> tuple[str, str] | None:
    """A field that is out of form, and why; null when all are well."""
    if not _TEXTS.fullmatch(f"{e.id}\n{e.device}\n{e.prev}\n{e.body_sha256}\n{e.boot}\n{e.type}"):
        return _wrong_text(e)
    if not 1 <= e.seq <= BIGGEST:
        return "seq", f"{e.seq} is not from 1 to 2^53-1"
    # any device time is taken, however wrong; only what no clock could say, and no page could show, is not
    if not -TIME_LIMIT_MS <= e.at <= TIME_LIMIT_MS:
        return "at", "not within 8.64e15 ms of 1970"
    if e.after is not None and not -TIME_LIMIT_MS <= e.after < TIME_LIMIT_MS:
        return "after", "not within 8.64e15 ms of 1970"
    if not -BIGGEST <= e.mono <= BIGGEST:
        return "mono", "not within 2^53 ms"
    if e.actor is not None and not _ACTOR.fullmatch(e.actor):
        return "actor", "not 1 to 200 characters without control characters"
    if e.case is not None and not _CASE.fullmatch(e.case):
        return "case", "not 1 to 64 of ASCII letters, digits, dash and underscore"
    if e.pack is not None and not _HEX64.fullmatch(e.pack):
        return "pack", "not a SHA-256 in lower-case hex"
    if not 1 <= e.v <= BIGGEST:
        return "v", f"{e.v} is no format version"
    return None


def _wrong_text(e: Envelope) -> tuple[str, str]:
    """Which of _TEXTS doesn't match."""
    if not _UUID7.fullmatch(e.id):
        return "id", "not a UUIDv7 in lower case"
    if not _UUID.fullmatch(e.device):
        return "device", "not a UUID in lower case"
    if not _HEX64.fullmatch(e.prev):
        return "prev", "not a SHA-256 in lower-case hex"
    if not _HEX64.fullmatch(e.body_sha256):
        return "body_sha256", "not a SHA-256 in lower-case hex"
    if not _WORD.fullmatch(e.boot):
        return "boot", "not 1 to 64 visible ASCII characters"
    return "type", "not 1 to 64 of a-z, 0-9, full stop and underscore"


def _may_be_too_deep(text: bytes) -> bool:
    return text.count(b"[") + text.count(b"{") > NESTING_LIMIT


def _too_deep(text: bytes) -> bool:
    """Whether lists and objects are nested beyond the limit, whatever else the text is."""
    if not _may_be_too_deep(text):
        return False
    depth, quoted = 0, False
    for token in _TOKEN.findall(text):
        if token == b'"':
            quoted = not quoted
        elif quoted or len(token) > 1:
            continue
        else:
            depth += 1 if token in b"[{" else -1
            if depth > NESTING_LIMIT:
                return True
    return False


def claim_of(envelope_bytes: bytes) -> Claim:
    """Whatever of an unsound envelope is well-formed by itself."""
    if len(envelope_bytes) > LINE_LIMIT_BYTES:
        return Claim()
    fields = body_fields(envelope_bytes)
    if fields is None:
        return Claim()

    def text(name: str, form: re.Pattern[str]) -> str | None:
        value: Any = fields.get(name)
        return value if isinstance(value, str) and form.fullmatch(value) else None

    def whole(name: str, least: int) -> int | None:
        value: Any = fields.get(name)
        return value if type(value) is int and least <= value <= BIGGEST else None

    return Claim(
        id=text("id", _UUID7),
        device=text("device", _UUID),
        seq=whole("seq", 1),
        prev=text("prev", _HEX64),
        type=text("type", _TYPE),
        case=text("case", _CASE),
        at=whole("at", -BIGGEST),
    )
