"""A carried file as a phone makes it, honest or not."""

import gzip
import json
import uuid
from typing import Any

from carrying import Phone

from chinrest.log.carried import CarriedHeader, key_name, part_info, write_carried
from chinrest.log.sealing import seal
from chinrest.server.context import now_ms


def carried_file(phone: Phone, *batches: bytes, **changes: Any) -> bytes:
    """`batches`: each what a sync would send, not packed. `changes` are of the header; `key` and `server` are
    of the phone's enrolment."""
    known = phone.enrolment["carrying_key"]
    key = changes.pop("public_key", known["key"])
    header = CarriedHeader(
        **{
            "v": 1,
            "server": known["server"],
            "key": key_name(key),
            "file": str(uuid.uuid4()),
            "made_at": now_ms(),
            "parts": len(batches),
            "packing": "gzip",
            **changes,
        }
    )
    row = write_carried(header, []).removesuffix(b"\n")
    sealed = [
        seal(key, part_info(row, n), gzip.compress(batch) if header.packing else batch)
        for n, batch in enumerate(batches, start=1)
    ]
    return write_carried(header, sealed)


def rows_of(receipts: str) -> tuple[dict[str, Any], dict[str, Any], bytes]:
    """The receipts' two rows, and the first one's bytes."""
    first, second = receipts.encode().splitlines()
    return json.loads(first), json.loads(second), first
