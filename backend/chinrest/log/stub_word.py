"""A hub's signed word of a refused line of which it has no bytes: the server beyond leaves a stub, too."""

from msgspec import Struct

from chinrest.log.signing import is_signed


class StubWord(Struct, frozen=True, kw_only=True):
    """At `seq` of the device's chain stands a stub for the envelope of that hash. `prev`: what it follows,
    null where it could not say. `code`: why the hub refused it. `signature`: by the hub's key over
    `stub_text`."""

    seq: int
    envelope_sha256: str
    prev: str | None
    code: str
    signature: str


def stub_text(device: str, word: StubWord) -> str:
    return f"chinrest stub {device} {word.seq} {word.envelope_sha256} {word.prev or '-'} {word.code}"


def is_stub_word(device: str, word: StubWord, hub_key: str) -> bool:
    text = stub_text(device, word)
    return text.isascii() and is_signed(hub_key, text, word.signature)
