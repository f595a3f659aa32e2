"""A compiled pack: bytes named by their own SHA-256, and read back with every fault named."""

import hashlib
import json
from pathlib import Path
from typing import Any

import msgspec

from .faults import PackFault, PackFaults
from .kinds import faults_of_kind
from .schema import Pack

FORMAT = 1
"""Number of this layout. A phone that does not know a number keeps the pack that it has."""


def pack_name(data: bytes) -> str:
    """The name of a pack: SHA-256 of its bytes, in hex."""
    return hashlib.sha256(data).hexdigest()


def canonical(value: Any) -> bytes:
    """JSON in UTF-8 with sorted keys and no spaces: the same value always makes the same bytes."""
    plain = msgspec.to_builtins(value)
    return json.dumps(
        plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    ).encode()


def decode_pack(data: bytes, file: str = "pack") -> Pack:
    """A compiled pack out of its bytes. Raises PackFaults with every fault; `file` names it in them."""

    def refuse(*faults: tuple[str, str]) -> PackFaults:
        return PackFaults([PackFault(file=file, key=key, reason=reason) for key, reason in faults])

    try:
        value = json.loads(data)
    except UnicodeDecodeError as error:
        raise refuse(("", f"is not UTF-8 at byte {error.start}")) from None
    except json.JSONDecodeError as error:
        raise refuse(("", f"is not JSON: {error}")) from None
    except (RecursionError, ValueError) as error:  # nested too deeply, or a number of too many digits
        raise refuse(("", f"is no pack: {error}")) from None
    number = value.get("format") if isinstance(value, dict) else None
    if number != FORMAT:
        raise refuse(("format", f"is {number!r}; this version reads format {FORMAT}"))
    # a later writer may add fields to the top, as it may add them to a line: those are left alone
    known = {name: value[name] for name in Pack.__struct_fields__ if name in value}
    found = list(faults_of_kind(known, Pack, ""))
    if found:
        raise refuse(*found)
    return msgspec.convert(known, Pack)


def read_pack(path: Path) -> tuple[Pack, bytes]:
    """A compiled pack from a file, and its bytes. Raises PackFaults."""
    if path.exists() and not path.is_file():  # reading a pipe or a device would wait, or go on, for ever
        raise PackFaults([PackFault(file=str(path), key="", reason="is no plain file")])
    try:
        data = path.read_bytes()
    except OSError as error:
        reason = f"cannot be read: {error.strerror}"
        raise PackFaults([PackFault(file=str(path), key="", reason=reason)]) from None
    name = path.stem
    if len(name) == 64 and set(name) <= set("0123456789abcdef") and name != pack_name(data):
        reason = f"its name is not the SHA-256 of its bytes, {pack_name(data)}: it was changed"
        raise PackFaults([PackFault(file=str(path), key="", reason=reason)])
    return decode_pack(data, path.name), data
