"""What travels between phone and server besides the lines themselves, which travel as their own bytes."""

from typing import Literal

from msgspec import Struct

from chinrest.log.answers import LineAnswer, RefusalCode
from chinrest.log.backed_up import BackupWord
from chinrest.log.carried import CarryingKey, FinalReceipt
from chinrest.store.relaying import HubSaid
from chinrest.store.rows import Branch, InPlace


class SyncHeader(Struct, frozen=True, kw_only=True):
    """First line of a sync request's body (UTF-8, gzip); the raw lines follow, each ended by a line feed.

    `head_seq`/`head_sha256`: the last envelope in this batch (0 and 64 zeros when it holds none).
    `signature`: base64 of ECDSA P-256/SHA-256 (raw r||s) by the device's key over the ASCII of head_sha256.
    `waiting`: lines on the phone that the server has not acknowledged, this batch included.
    `cursor`: the last log position pulled in `epoch`; null at first.
    `sealed`: the phone is locked; each line is sealed for the server (RFC 9180, in base64), and nothing is
    pulled. `short`: the lines are in short form (`chinrest.log.short`), and the answer may be too.
    """

    device: str
    head_seq: int
    head_sha256: str
    signature: str | None
    waiting: int
    now: int
    app: str
    epoch: str | None
    cursor: int | None
    sealed: bool = False
    short: bool = False


class Receipt(Struct, frozen=True, kw_only=True):
    """The server's word that it holds the device's unbroken chain up to `seq`.

    `signature`: ECDSA P-256/SHA-256 (raw r||s, base64) by the server's key over the ASCII text
    `chinrest receipt SERVER EPOCH KIND DEVICE SEQ HEAD_SHA256 AT`.
    """

    device: str
    seq: int
    head_sha256: str
    at: int
    signature: str


class Recall(Struct, frozen=True, kw_only=True):
    sha256: str
    why: str
    at: int


class SyncAnswer(Struct, frozen=True, kw_only=True):
    """`holds`: inclusive ranges of this device's sequences that the server has (stubs of refused lines
    too). `pulled`: raw lines of the site's open cases that other devices wrote, in log order; `more` when
    cut. `pack`: hash of the pack approved for the site, null where none is. `receipt`: null where nothing
    stands yet. `final`: at a hub, the final server's own receipt for this device; the phone believes it and
    not the hub. `backup`: the final server's word of its last backup, null where it has none of this device.
    `takes_short`: this server takes lines in short form. `taken`: of such a batch, in place of `lines`, where
    none was refused: its `head_sha256`, which names each of them.
    """

    server: str
    epoch: str
    kind: Literal["final", "hub"]
    now: int
    app: str
    lines: list[LineAnswer]
    holds: list[tuple[int, int]]
    cursor: int
    pulled: list[str]
    more: bool
    pack: str | None
    recalls: list[Recall]
    receipt: Receipt | None = None
    final: FinalReceipt | None = None
    withdrawn_people: list[str] = []
    backup: BackupWord | None = None
    takes_short: bool = False
    taken: str | None = None


class EnrolRequest(Struct, frozen=True, kw_only=True):
    """`public_key` is SPKI in base64; `device` a UUID that the phone made. `escrow`: the phone's own data
    key, sealed for the server, where nobody can unlock the phone any more. `send_token_sha256`: of the token
    that may only send, which a phone with PINs made. `proof`: the device's signature over `chinrest enrol
    CODE DEVICE`; a device that is known here is enrolled anew by it alone, since its id and its public key
    are no secret."""

    code: str
    device: str
    public_key: str
    label: str
    escrow: str = ""
    send_token_sha256: str = ""
    proof: str = ""


class EnrolAnswer(Struct, frozen=True, kw_only=True):
    """`token` is shown once and stored only as a hash. Sent later as `Authorization: Bearer TOKEN`.
    `server_key` (SPKI in base64) is the one that signs receipts. `final_key`: at a hub, that of the server it
    relays to, empty before their first contact. `carrying_key`: for which lines are sealed that go to the
    final server by file; null at a hub that does not know it. `data_key`: what `escrow` held (base64); empty
    where none was sent. `send_token`: whether a token that may only send was taken."""

    token: str
    site: str
    site_name: str
    server: str
    epoch: str
    demo: bool
    server_key: str
    final_key: str = ""
    carrying_key: CarryingKey | None = None
    data_key: str = ""
    send_token: bool = False


class TokensRequest(Struct, frozen=True, kw_only=True):
    """Tokens that a phone with PINs made, by their SHA-256 (lower-case hex): `send` may only send; `full`
    (empty where it stays) is a new one in place of that which stood in the clear.

    `signature`: ECDSA P-256/SHA-256 (raw r||s, base64) by the device's key over the ASCII text
    `chinrest tokens SERVER DEVICE SEND FULL`.
    """

    send: str
    full: str
    signature: str


class Carried(Struct, frozen=True, kw_only=True):
    """What became of a carried file. `stored`, `repeats`, `refused`: numbers of lines. `receipts`: a file for
    the phone that wrote them, by whatever way it comes back."""

    device: str
    label: str
    stored: int
    repeats: int
    refused: int
    receipts: str


class Fault(Struct, frozen=True, kw_only=True):
    """The one error shape: what went wrong (code), where (a field, header or path) and why, in words."""

    code: str
    where: str
    why: str


DeskKind = Literal["lines", "reviews", "devices", "packs"]
"""What phones wrote; what the desk decided; phones and hubs; guidance packs and what was decided of them."""


class Changed(Struct, frozen=True, kw_only=True):
    """Something of these kinds changed. Which, is asked for."""

    kinds: list[DeskKind]


class Health(Struct, frozen=True, kw_only=True):
    ok: bool
    server: str
    epoch: str
    app: str


class DeviceRow(Struct, frozen=True, kw_only=True):
    id: str
    label: str
    site: str
    enrolled_at: int
    last_heard_at: int | None
    waiting: int | None
    clock_offset_ms: int | None
    pack: str | None
    app: str | None
    withdrawn: bool
    refused: int
    gaps: list[tuple[int, int]]
    branch: Branch | None


class HubRow(Struct, frozen=True, kw_only=True):
    """`fingerprint`: of its public key, as people compare it by voice. `said`: what it last said of
    itself."""

    id: str
    name: str
    fingerprint: str
    approved_at: int
    last_heard_at: int | None
    withdrawn: bool
    said: HubSaid | None


class SiteRow(Struct, frozen=True, kw_only=True):
    id: str
    name: str


class WithdrawRequest(Struct, frozen=True, kw_only=True):
    why: str


class EnrolmentCodeRequest(Struct, frozen=True, kw_only=True):
    site: str
    label: str


class EnrolmentCode(Struct, frozen=True, kw_only=True):
    """`code` is shown once; `url` carries it in its fragment, which no server log sees."""

    code: str
    expires_at: int
    url: str


class ApproveRequest(Struct, frozen=True, kw_only=True):
    sites: list[str]
    note: str


class RecallRequest(Struct, frozen=True, kw_only=True):
    why: str


class Approval(Struct, frozen=True, kw_only=True):
    by: str
    at: int
    sites: list[str]
    note: str


class PackRow(Struct, frozen=True, kw_only=True):
    """A guidance pack that the server holds. `in_force`: the sites whose latest approval names it."""

    sha256: str
    version: str
    received_at: int
    approvals: list[Approval]
    recalls: list[Recall]
    in_force: list[str]


class RefusedRow(Struct, frozen=True, kw_only=True):
    """A line that was refused or set aside, as far as it could be read. `stands`: of a fork, the line in its
    place in the branch that counts, if that goes so far."""

    device: str
    device_label: str
    seq: int | None
    id: str | None
    type: str | None
    case: str | None
    at: int | None
    received_at: int
    code: RefusalCode
    reason: str
    stands: InPlace | None
