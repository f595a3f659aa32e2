"""A hub without a machine: signs parcels of a phone's lines, honest or not."""

import asyncio
import gzip
import uuid
from hashlib import sha256
from typing import Any

import msgspec
from carrying import Phone

from chinrest.log.envelope import FIRST_PREV
from chinrest.log.signing import new_key, public_of, sign
from chinrest.server.context import now_ms
from chinrest.server.relay_wire import HubWord, PackAsked, RelayHeader, pack_text, relay_text, word_text
from chinrest.server.settings import Settings
from chinrest.store import Store


class Hub:
    def __init__(self) -> None:
        self.id = str(uuid.uuid4())
        self.key = new_key()

    def approve(self, settings: Settings) -> None:
        async def add() -> None:
            store = await Store.open(settings.database)
            await store.add_hub(self.id, "Laptop", public_of(self.key), now_ms())
            await store.close()

        asyncio.run(add())

    def parcel(self, phone: Phone, at: str, *raws: bytes, signer: Any = None, **changes: Any) -> bytes:
        """A relay's body, not packed. `at`: the site it is said to be at. `signer` signs for the
        device; `changes` are of the header."""
        rows = b"".join(raw + b"\n" for raw in raws)
        head = sha256(raws[-1].partition(b"\t")[0]).hexdigest() if raws else FIRST_PREV
        header = RelayHeader(
            hub=self.id,
            now=now_ms(),
            device=phone.device,
            label="Room 1",
            site=at,
            public_key=phone.key,
            enrolled_at=now_ms(),
            head_seq=phone.chain.seq,
            head_sha256=head,
            signature=sign(signer or phone.signing_key, head),
            hub_signature="",
        )
        header = msgspec.structs.replace(header, **changes)
        text = relay_text(header, sha256(rows).hexdigest())
        # only ASCII can be signed at all: for anything else no signature can be right
        signature = sign(self.key, text) if text.isascii() else sign(self.key, "")
        return msgspec.json.encode(msgspec.structs.replace(header, hub_signature=signature)) + b"\n" + rows

    def carry(self, client: Any, body: bytes) -> Any:
        headers = {"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"}
        return client.post("/api/relay", content=gzip.compress(body), headers=headers)

    def pack(self, digest: str) -> bytes:
        asked = PackAsked(hub=self.id, now=now_ms(), sha256=digest, hub_signature="")
        signature = sign(self.key, pack_text(asked))
        return msgspec.json.encode(msgspec.structs.replace(asked, hub_signature=signature))

    def word(self, **changes: Any) -> bytes:
        """What it says of itself. `changes` come after the signature where they are the signature's own."""
        word = HubWord(hub=self.id, now=now_ms(), waiting=3, app="0.1.0", packs=[], hub_signature="")
        word = msgspec.structs.replace(word, **changes)
        signed = changes.get("hub_signature") or sign(self.key, word_text(word))
        return msgspec.json.encode(msgspec.structs.replace(word, hub_signature=signed))
