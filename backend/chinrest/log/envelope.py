"""The envelope: the part of a line that is chained, and that stays when a body is erased."""

from msgspec import Struct

LINE_LIMIT_BYTES = 16 * 1024
FIRST_PREV = "0" * 64


class Envelope(Struct, frozen=True, forbid_unknown_fields=False):
    """What every line says of itself. Unknown fields of later versions are kept, since the bytes are.

    id           UUIDv7 made on the device; the server's primary key
    device       the device's id (a UUID); the server itself writes as a device too
    seq          from 1, no gaps
    prev         SHA-256 (hex) of the device's previous envelope bytes; 64 zeros before the first
    body_sha256  SHA-256 (hex) of the body's bytes
    at           the device's wall clock, ms since 1970
    mono         ms since the app's start, which no clock change moves
    boot         random id of that start, so that `mono` values are only compared within one
    actor        who says that they did it (a staff id, or initials), as claimed
    case         random id of the case, or null for what belongs to none; never a person
    practice     true for a practice case: never counted
    pack         SHA-256 (hex) of the guidance pack in use, or null
    type         the event type
    v            the line format's version
    after        where the device's clock is behind what it had read of the case: the time (ms) of the
                 latest line of the case that it held. Whatever `at` says, this line comes after that
    """

    id: str
    device: str
    seq: int
    prev: str
    body_sha256: str
    at: int
    mono: int
    boot: str
    actor: str | None
    case: str | None
    practice: bool
    pack: str | None
    type: str
    v: int = 1
    after: int | None = None
