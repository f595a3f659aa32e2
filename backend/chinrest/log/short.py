"""Lines in short form, as a phone sends them: without what follows from the bytes that come anyway.

A coding of the transport, like gzip: what is stored, exported, hashed and signed are the whole lines. The
first line of a batch comes whole. Each further one follows on the line before it and comes without

    {"id":"ID","device":"DEVICE","seq":SEQ,"prev":"PREV","body_sha256":"BODY_SHA256",

but for ID, which stands first: ID, then the rest of the line as it is. DEVICE is that of the line before, SEQ
the next after its own, PREV the hash of its envelope, and BODY_SHA256 that of the line's own body. So a batch
is one run without gaps, and the hash of its last envelope, which the phone has signed, proves every byte that
is put back here: whoever uses `restored` compares it.
"""

import re
from collections.abc import Sequence
from hashlib import sha256

from msgspec import Struct

ID_CHARS = 36
_ID = re.compile(rb"[0-9a-f-]{36}")
_FIRST = re.compile(
    rb'\{"id":"[0-9a-f-]{36}","device":"([0-9a-f-]{36})","seq":([1-9][0-9]{0,14}),'
    rb'"prev":"[0-9a-f]{64}","body_sha256":"[0-9a-f]{64}",'
)


class Hashes(Struct, frozen=True):
    """SHA-256 (hex) of a line's envelope and of its body."""

    envelope: str
    body: str


class ShortError(Exception):
    """Where (`lines[n]`, from 0) and why lines in short form can't be put back."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"{where}: {why}")
        self.where = where
        self.why = why


class TooLongError(Exception):
    """Put back, the lines are more bytes than are taken at once."""


def restored(lines: Sequence[bytes], limit_bytes: int) -> tuple[list[bytes], list[Hashes]]:
    """The whole lines, and the hashes that were made on the way, so that nobody makes them again.

    `limit_bytes`: of all lines with a line feed each. Says nothing of whether they are sound. Raises
    ShortError, TooLongError.
    """
    whole: list[bytes] = []
    hashes: list[Hashes] = []
    if not lines:
        return whole, hashes
    first = _FIRST.match(lines[0])
    envelope, tab, body = lines[0].partition(b"\t")
    if first is None or not tab:
        raise ShortError("lines[0]", "the first line comes whole, its fields in the order of the format")
    device, seq = first[1], int(first[2])
    whole.append(lines[0])
    hashes.append(Hashes(sha256(envelope).hexdigest(), sha256(body).hexdigest()))
    size = len(lines[0]) + 1
    for n, line in enumerate(lines[1:], start=1):
        tail, tab, body = line.partition(b"\t")
        if not tab:
            raise ShortError(f"lines[{n}]", "no tab between envelope and body")
        if not _ID.match(tail):
            raise ShortError(f"lines[{n}]", f"does not begin with an id of {ID_CHARS} characters")
        body_sha256 = sha256(body).hexdigest()
        envelope = b'{"id":"%b","device":"%b","seq":%d,"prev":"%b","body_sha256":"%b",%b' % (
            tail[:ID_CHARS],
            device,
            seq + n,
            hashes[-1].envelope.encode(),
            body_sha256.encode(),
            tail[ID_CHARS:],
        )
        size += len(envelope) + 1 + len(body) + 1
        if size > limit_bytes:
            raise TooLongError
        whole.append(envelope + b"\t" + body)
        hashes.append(Hashes(sha256(envelope).hexdigest(), body_sha256))
    return whole, hashes
