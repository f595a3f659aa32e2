"""What a phone that nobody has unlocked sends: lines that it cannot read itself just now, and the key to its
own store, both sealed for this server's carrying key."""

import asyncio
import base64
import binascii

from litestar import get, post
from litestar.params import JSONBody

from chinrest.log.carried import CarryingKey
from chinrest.log.sealing import unseal
from chinrest.log.signing import is_signed
from chinrest.server.context import Call, device_of, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import enrolled, json_body
from chinrest.server.wire import TokensRequest
from chinrest.store import Store

LINE_INFO = b"chinrest sealed line 1"
ESCROW_INFO = b"chinrest data key 1"
TOKENS_BYTES = 4096


def _opened(key: str, info: bytes, sealed: bytes, where: str) -> bytes:
    try:
        plain = unseal(key, info, base64.b64decode(sealed, validate=True))
    except binascii.Error:
        plain = None
    if plain is None:
        why = "not sealed for this server's key, or changed on the way"
        raise RequestError(400, "cannot_open", where, why)
    return plain


async def unsealed(store: Store, lines: list[bytes]) -> list[bytes]:
    """The lines of a locked phone. Raises RequestError for the first that cannot be opened: then all of them
    stay on the phone, which sends them as they are once it is unlocked."""
    key = await store.carrying_private_key()

    def work() -> list[bytes]:
        return [_opened(key, LINE_INFO, line, f"lines[{n}]") for n, line in enumerate(lines)]

    return await asyncio.to_thread(work)  # thousands of them would hold up everybody


async def held_in_escrow(store: Store, escrow: str, device: str) -> str:
    """A phone's own data key (base64), for that phone alone: its id stands before the key, and a tab between.
    Empty where no escrow was sent. Raises RequestError."""
    if not escrow:
        return ""
    key = await store.carrying_private_key()
    held = _opened(key, ESCROW_INFO, escrow.encode("ascii", "replace"), "escrow")
    owner, _, data_key = held.decode("ascii", "replace").partition("\t")
    if owner != device:
        raise RequestError(403, "wrong_device", "escrow", "it is another phone's")
    return data_key


@get("/api/seal-key", guards=[enrolled])
async def seal_key(request: Call) -> CarryingKey:
    """For which key a phone seals what this server itself has to open, a hub as well. It is signed by the key
    that signs this server's receipts."""
    return await store_of(request).carrying_key()


@post("/api/tokens", guards=[enrolled, json_body], status_code=204, request_max_body_size=TOKENS_BYTES)
async def tokens(request: Call, data: JSONBody[TokensRequest]) -> None:
    """Take the token that a locked phone sends by, and a new full one in place of that which stood in the
    clear: the one before ends with the new one's first use."""
    device, store = device_of(request), store_of(request)
    text = f"chinrest tokens {(await store.identity()).server} {device.id} {data.send} {data.full}"
    if not is_signed(device.public_key, text, data.signature):
        why = "not signed by the key with which this device was enrolled"
        raise RequestError(403, "bad_signature", "signature", why)
    await store.change_tokens(device.id, data.send, data.full)


ROUTES = [seal_key, tokens]
