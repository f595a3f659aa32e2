"""Unpacks what a phone sends, never past a limit: a small gzip can hold gigabytes."""

import zlib

from chinrest.server.faults import RequestError

SYNC_LIMIT_BYTES = 1024 * 1024
MEMBERS = 2
"""Of one gzip stream (RFC 1952, section 2.2): a phone packs its lines before it knows the header."""


def inflate(packed: bytes, encoding: str, limit_bytes: int = SYNC_LIMIT_BYTES) -> bytes:
    """The body's bytes, at most `limit_bytes`. `encoding` is the Content-Encoding header, empty for none.

    Raises RequestError: 415 for an unknown encoding, 413 past the limit, 400 for a damaged stream.
    """
    kind = encoding.strip().lower()
    if kind in ("", "identity"):
        return _within(packed, limit_bytes)
    if kind != "gzip":
        raise RequestError(
            415, "wrong_encoding", "Content-Encoding", f"send gzip or nothing, not {kind[:40]!r}"
        )
    unpacked = b""
    for _ in range(MEMBERS):
        stream = zlib.decompressobj(wbits=16 + zlib.MAX_WBITS)
        try:
            # one byte more than there is room for, and never 0, which would mean without limit
            unpacked += stream.decompress(packed, limit_bytes - len(unpacked) + 1)
        except zlib.error as error:
            raise RequestError(400, "bad_gzip", "body", f"the gzip stream is damaged ({error})") from error
        _within(unpacked, limit_bytes)
        if not stream.eof:
            raise RequestError(400, "bad_gzip", "body", "the gzip stream ends early")
        packed = stream.unused_data
        if not packed:
            return unpacked
    raise RequestError(400, "bad_gzip", "body", "bytes follow the end of the gzip stream")


def _within(body: bytes, limit_bytes: int) -> bytes:
    if len(body) > limit_bytes:
        raise RequestError(
            413, "too_large", "body", f"more than {limit_bytes} bytes unpacked; send fewer lines"
        )
    return body
