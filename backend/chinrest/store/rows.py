"""What the store takes and gives besides lines, answers and folds. Times are ms since 1970, by the
server's clock unless a name says otherwise."""

from typing import Literal

from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.incidents import IncidentRow


class IncidentCounts(Struct, frozen=True, kw_only=True):
    """How many incidents are in each state of review. `overdue`: with an open action past its day.
    `unread_cases`: whose lines stand here but could not be made into a case, whatever the filter says;
    `unread_devices`: of which that holds for what they noted outside any case."""

    new: int
    in_review: int
    actions_open: int
    closed: int
    overdue: int
    unread_cases: int
    unread_devices: int


class ExportedIncident(Struct, frozen=True, kw_only=True):
    """An incident as it is taken out: with the device that wrote it, and the hash of its line's envelope."""

    row: IncidentRow
    device: str
    envelope_sha256: str


Role = Literal["photographer", "officer", "lead", "admin"]


class Identity(Struct, frozen=True, kw_only=True):
    """`server` stays for good; `epoch` is new after a restore from a backup. `public_key`: SPKI in base64 of
    the key that signs receipts and exports."""

    server: str
    epoch: str
    public_key: str


class BatchHead(Struct, frozen=True, kw_only=True):
    """What a device says of its batch (the store's share of the sync header). `now` is its wall clock."""

    head_seq: int
    head_sha256: str
    signature: str | None
    waiting: int
    now: int
    app: str


TokenKind = Literal["full", "send", "next"]
"""What a phone may do by it: all that a phone may, or only send. `next` is a full one, not used yet."""


class DeviceRecord(Struct, frozen=True, kw_only=True):
    """A device as its token finds it. A withdrawn one is found too, so that it can be told so. `by`: which
    token found it; null where it was found by its id."""

    id: str
    label: str
    site: str
    public_key: str
    withdrawn: bool
    by: TokenKind | None = None


class Branch(Struct, frozen=True, kw_only=True):
    """A second branch of a device's chain, kept aside: how many lines, from which sequence to which, and when
    the last of them came."""

    first_seq: int
    last_seq: int
    lines: int
    last_received_at: int


class DeviceSummary(Struct, frozen=True, kw_only=True):
    """One row of the lead's list. `gaps`: inclusive ranges of sequences missing below the highest held.
    `branch`: where its chain forked."""

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


class InForce(Struct, frozen=True, kw_only=True):
    """A pack that was in force at a site from one moment to another, by the server's clock (ms); `until` is
    null where it still is. `by`: who approved it."""

    sha256: str
    by: str
    since: int
    until: int | None


class EnrolmentCode(Struct, frozen=True, kw_only=True):
    """`code` as XXXX-XXXX (Crockford base32), shown once; only its hash is kept."""

    code: str
    site: str
    label: str
    expires_at: int


class Staff(Struct, frozen=True, kw_only=True):
    """Somebody who may sign in. A withdrawn one is found too, so that they can be told so. `site`: whose
    things they see and change, null for all."""

    id: str
    name: str
    role: Role
    site: str | None = None
    withdrawn: bool = False


class Account(Struct, frozen=True, kw_only=True):
    """One row of the admin's list. `site`: whose things they see, null for all. `joined`: a password was set.
    `invited_until`: of an invitation that waits; it may have run out."""

    id: str
    name: str
    role: Role
    site: str | None
    made_at: int
    joined: bool
    last_sign_in_at: int | None
    withdrawn_at: int | None
    invited_until: int | None
    second_factor: bool


class Invitation(Struct, frozen=True, kw_only=True):
    """`token` is shown once; only its hash is kept."""

    staff: str
    token: str
    expires_at: int


class Invited(Struct, frozen=True, kw_only=True):
    """Whose an open invitation is."""

    staff: str
    name: str
    role: Role
    expires_at: int


class SecondFactor(Struct, frozen=True, kw_only=True):
    """`on`: asked for at each sign-in. `recovery_left`: how many recovery codes were not used yet."""

    on: bool
    recovery_left: int


class Pulled(Struct, frozen=True, kw_only=True):
    """`lines` are raw (envelope, tab, body). `cursor` is for next time; `more` when cut short by size."""

    lines: list[bytes]
    cursor: int
    more: bool


class PackApproval(Struct, frozen=True, kw_only=True):
    by: str
    sites: list[str]
    note: str
    at: int


class PackRecall(Struct, frozen=True, kw_only=True):
    sha256: str
    by: str
    why: str
    at: int


class PackRow(Struct, frozen=True, kw_only=True):
    """`version` and `clinic` as the pack's own JSON says."""

    sha256: str
    version: str
    clinic: str
    size_bytes: int
    received_at: int
    approvals: list[PackApproval]
    recalls: list[PackRecall]


class InPlace(Struct, frozen=True, kw_only=True):
    """The line that stands in the log at a sequence where another one was kept aside."""

    type: str
    case: str | None
    at: int


class RefusedLine(Struct, frozen=True, kw_only=True):
    """A line that was refused or set aside, as far as it could be read. `raw` is null where not kept.
    `stands`: of a fork, what stands in its place in the other branch, if that goes so far."""

    device: str
    device_label: str
    seq: int | None
    id: str | None
    envelope_sha256: str | None
    type: str | None
    case: str | None
    at: int | None
    received_at: int
    code: RefusalCode
    reason: str
    stands: InPlace | None
    raw: bytes | None
