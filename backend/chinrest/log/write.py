"""Making a line: its id, its bytes, its place in a chain."""

import base64
import secrets
from hashlib import sha256

import msgspec

from chinrest.log.case_events import Body
from chinrest.log.envelope import FIRST_PREV, LINE_LIMIT_BYTES, Envelope
from chinrest.log.line import Line
from chinrest.log.registry import encode_body, type_of


def uuid7(at_ms: int, random_bytes: bytes | None = None) -> str:
    """A UUIDv7 (RFC 9562, section 5.7): 48 bits of Unix ms, then 74 random bits from `random_bytes` (10
    bytes)."""
    noise = int.from_bytes(secrets.token_bytes(10) if random_bytes is None else random_bytes, "big")
    rand_a, rand_b = (noise >> 62) & 0xFFF, noise & (2**62 - 1)
    value = (at_ms & (2**48 - 1)) << 80 | 0x7 << 76 | rand_a << 64 | 0b10 << 62 | rand_b
    digits = f"{value:032x}"
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"


def new_salt() -> str:
    """16 random bytes in base64, so that a short body can't be guessed from its hash."""
    return base64.b64encode(secrets.token_bytes(16)).decode()


class ChainWriter:
    """Writes one device's chain from a given head on. Not for use by two writers at once."""

    def __init__(self, device: str, boot: str, *, seq: int = 0, head: str = FIRST_PREV) -> None:
        self.device = device
        self.boot = boot
        self.seq = seq
        self.head = head

    def write(
        self,
        body: Body,
        *,
        at: int,
        mono: int,
        actor: str | None = None,
        case: str | None = None,
        practice: bool = False,
        pack: str | None = None,
        line_id: str | None = None,
    ) -> Line:
        """The next line of the chain. Raises ValueError where it would be larger than a line may be."""
        body_bytes = encode_body(body)
        envelope = Envelope(
            id=line_id or uuid7(at),
            device=self.device,
            seq=self.seq + 1,
            prev=self.head,
            body_sha256=sha256(body_bytes).hexdigest(),
            at=at,
            mono=mono,
            boot=self.boot,
            actor=actor,
            case=case,
            practice=practice,
            pack=pack,
            type=type_of(body),
        )
        envelope_bytes = msgspec.json.encode(envelope)
        size = len(envelope_bytes) + 1 + len(body_bytes)
        if size > LINE_LIMIT_BYTES:
            raise ValueError(f"the line would be {size} bytes; a line holds at most {LINE_LIMIT_BYTES}")
        digest = sha256(envelope_bytes).hexdigest()
        self.seq, self.head = envelope.seq, digest
        return Line(
            envelope=envelope,
            envelope_bytes=envelope_bytes,
            envelope_sha256=digest,
            body_bytes=body_bytes,
            body=body,
        )
