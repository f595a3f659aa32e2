"""What the server says of each line that it was sent."""

from typing import Literal

from msgspec import Struct

RefusalCode = Literal[
    "malformed",  # not two JSON texts with a tab between, or an envelope field missing or of the wrong kind
    "too_large",  # over 16 KiB
    "wrong_device",  # the envelope names a device other than the one that sends
    "body_hash",  # body_sha256 does not match the body's bytes
    "fork",  # another line of this device already stands at this sequence: quarantined, shown to the officer
    "broken_chain",  # prev does not match the envelope that stands before: quarantined
    "bad_body",  # a known type whose body lacks what it must have: quarantined
    "id_taken",  # another line already has this id
    "erased",  # a hub has only its envelope left, and the tombstone that says why: kept as a stub
]


class LineAnswer(Struct, frozen=True, kw_only=True):
    """`id` is null only where the line was too broken to name one; `index` is its place in the batch, from 0.

    waiting: kept, but its predecessor has not come yet. Stored and waiting both mean committed.
    """

    index: int
    id: str | None
    seq: int | None
    status: Literal["stored", "repeat", "waiting", "refused"]
    code: RefusalCode | None = None
    reason: str | None = None
