"""The short form as its description says it, coded by the standard library alone: none of our code."""

import json
from collections.abc import Sequence
from typing import Any

NAMES = ["id", "device", "seq", "prev", "body_sha256"]


def _head(raw: bytes) -> tuple[bytes, dict[str, Any]] | None:
    """What a line in the format's order begins with, and its first fields; null for another."""
    envelope, tab, _ = raw.partition(b"\t")
    if not tab or b"\n" in raw:
        return None
    try:
        read = json.loads(envelope)
    except ValueError:
        return None
    fields = {name: read[name] for name in NAMES} if isinstance(read, dict) and {*NAMES} <= {*read} else {}
    head = json.dumps(fields, separators=(",", ":")).encode()[:-1] + b","
    return (head, fields) if fields and raw.startswith(head) else None


def shorten(lines: Sequence[bytes]) -> list[bytes] | None:
    """The lines in short form; null where they are not one run of lines in the format's order."""
    short: list[bytes] = []
    before: dict[str, Any] = {}
    for raw in lines:
        found = _head(raw)
        if found is None:
            return None
        head, fields = found
        if not before:
            short.append(raw)
        elif (fields["device"], fields["seq"]) != (before["device"], before["seq"] + 1):
            return None
        else:
            short.append(fields["id"].encode() + raw[len(head) :])
        before = fields
    return short
