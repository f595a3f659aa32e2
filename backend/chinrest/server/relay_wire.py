"""What travels from a hub to the server beyond, and back."""

from hashlib import sha256

import msgspec
from msgspec import Struct

from chinrest.log.answers import LineAnswer
from chinrest.log.backed_up import BackupWord
from chinrest.log.carried import CarryingKey
from chinrest.log.erasures import Tombstone
from chinrest.log.people_word import PeopleWord
from chinrest.log.stub_word import StubWord
from chinrest.server.wire import Recall, Receipt


class RelayHeader(Struct, frozen=True, kw_only=True):
    """First row of a relay's body; the raw lines of one device follow, each ended by a line feed.

    `signature`: the device's own, over the ASCII of `head_sha256`. `hub_signature`: the hub's, over
    `chinrest relay HUB DEVICE HEAD_SHA256 LINES_SHA256 NOW`, where LINES_SHA256 is over the bytes after
    this row. With no lines it asks what the server holds of the device. `tombstones`: of lines that come as
    envelopes alone, since their bodies were erased at the hub; `stubs`: of lines that the hub refused and has
    no bytes of. Each of both is signed by the hub by itself.
    """

    hub: str
    now: int
    device: str
    label: str
    site: str
    public_key: str
    enrolled_at: int
    head_seq: int
    head_sha256: str
    signature: str
    hub_signature: str
    tombstones: list[Tombstone] = []
    stubs: list[StubWord] = []


class RelayAnswer(Struct, frozen=True, kw_only=True):
    """`receipt`: null where nothing of the device stands. `pack`: in force at the device's site.
    `withdrawn`: the device may no longer write; the hub passes that on. `signature`: the server's, over
    `chinrest answer SERVER EPOCH KIND HUB_SIGNATURE TOLD_SHA256`: HUB_SIGNATURE is that of the header it
    answers, so that no earlier answer can stand in for it, and TOLD_SHA256 is over all else that it says but
    `carrying_key`, `backup` and `people`, which have signatures of their own; the key is null where this is
    no final server, `backup` where no backup has a line of the device, `people` where the server is older
    than that word."""

    server: str
    server_key: str
    epoch: str
    kind: str
    lines: list[LineAnswer]
    receipt: Receipt | None
    pack: str | None
    recalls: list[Recall]
    withdrawn: bool
    signature: str
    carrying_key: CarryingKey | None = None
    backup: BackupWord | None = None
    people: PeopleWord | None = None


class HubWord(Struct, frozen=True, kw_only=True):
    """What a hub says of itself after a round: phones' lines that the server has not said to hold, its
    version, the packs in force there. `hub_signature` over `chinrest hub HUB NOW SAID_SHA256`, where
    SAID_SHA256 is over all else."""

    hub: str
    now: int
    waiting: int
    app: str
    packs: list[str]
    hub_signature: str


class PackAsked(Struct, frozen=True, kw_only=True):
    """`hub_signature` over `chinrest pack HUB SHA256 NOW`."""

    hub: str
    now: int
    sha256: str
    hub_signature: str


def relay_text(header: RelayHeader, lines_sha256: str) -> str:
    return f"chinrest relay {header.hub} {header.device} {header.head_sha256} {lines_sha256} {header.now}"


def answer_text(answer: RelayAnswer, header: RelayHeader) -> str:
    """Values by their place and not whole structures: a field that is added later must not spoil it."""
    told = [
        [[line.index, line.id, line.seq, line.status, line.code, line.reason] for line in answer.lines],
        answer.receipt and [answer.receipt.seq, answer.receipt.head_sha256, answer.receipt.signature],
        answer.pack,
        [[recall.sha256, recall.why, recall.at] for recall in answer.recalls],
        answer.withdrawn,
    ]
    digest = sha256(msgspec.json.encode(told)).hexdigest()
    return f"chinrest answer {answer.server} {answer.epoch} {answer.kind} {header.hub_signature} {digest}"


def word_text(word: HubWord) -> str:
    digest = sha256(msgspec.json.encode([word.waiting, word.app, word.packs])).hexdigest()
    return f"chinrest hub {word.hub} {word.now} {digest}"


def pack_text(asked: PackAsked) -> str:
    return f"chinrest pack {asked.hub} {asked.sha256} {asked.now}"
