"""What devices and the server write about themselves: enrolment, packs, reads, approvals."""

from typing import Literal

from msgspec import Struct

from chinrest.log.case_events import Body


class DeviceEnrolled(Body, frozen=True, tag="device.enrolled"):
    """First line of each device: its public signing key (SPKI, base64) and label."""

    public_key: str
    label: str
    site: str


class StorageAsked(Body, frozen=True, tag="storage.asked"):
    """The browser's answer when asked to keep the store: granted, refused, or it has no such thing."""

    answer: Literal["granted", "refused", "absent", "no_answer"]
    quota_bytes: int | None = None


class PackTaken(Body, frozen=True, tag="pack.taken"):
    """The phone proved the pack by its check vectors and uses it from the next case on."""

    sha256: str
    vectors: int


class PackRefused(Body, frozen=True, tag="pack.refused"):
    sha256: str
    faults: list[str]


class PackApproved(Body, frozen=True, tag="pack.approved"):
    """Server's chain. A pack is in force at a site from its latest approval on."""

    sha256: str
    by: str
    sites: list[str]
    note: str = ""


class PackRecalled(Body, frozen=True, tag="pack.recalled"):
    """Server's chain. Shown on phones at once, even in mid-case."""

    sha256: str
    by: str
    why: str


class CaseRead(Body, frozen=True, tag="case.read"):
    """Server's chain: an officer opened this case's timeline."""

    by: str


class DeviceWithdrawn(Body, frozen=True, tag="device.withdrawn"):
    """Server's chain."""

    withdrawn: str
    by: str
    why: str


class DecidedBeyond(Struct, frozen=True, kw_only=True):
    """A decision of the server beyond, by its word: its `number` within an `epoch`, and its time (ms)."""

    epoch: str
    number: int
    at: int


class PersonWithdrawn(Body, frozen=True, tag="person.withdrawn"):
    """Server's chain: who no longer works on the site's phones, as named in what they logged. At a hub,
    `beyond` is which decision of the server beyond it was; null where it was decided here."""

    site: str
    person: str
    by: str
    why: str
    beyond: DecidedBeyond | None = None


class PersonReadmitted(Body, frozen=True, tag="person.readmitted"):
    """Server's chain: who was withdrawn works on the site's phones again. `beyond`: as in a withdrawal."""

    site: str
    person: str
    by: str
    why: str
    beyond: DecidedBeyond | None = None


class DataKeyGivenBack(Body, frozen=True, tag="data_key.given_back"):
    """Server's chain: a phone that nobody could unlock was enrolled anew and got the key to its own lines."""

    device: str


class LogExported(Body, frozen=True, tag="log.exported"):
    """Server's chain: somebody took out what `what` says, by the address's own `query`."""

    by: str
    what: Literal["incidents_csv", "incidents_fhir", "lines"]
    query: str
    rows: int


class LinesCarried(Body, frozen=True, tag="lines.carried"):
    """Server's chain: lines of `device` came by file. `by`: a staff id, the id of the phone that carried it,
    or `command`. `file`: the file's own id."""

    device: str
    by: str
    file: str
    lines: int
    refused: int


StaffChange = Literal[
    "added",
    "invited",
    "joined",
    "changed",
    "password_changed",
    "second_factor_on",
    "second_factor_off",
    "recovery_code_used",
    "withdrawn",
    "readmitted",
]


class StaffChanged(Body, frozen=True, tag="staff.changed"):
    """Server's chain: what became of somebody who may sign in at the desk. `staff`: who, by id. `by`: a
    staff id, or `command`. `role` and `site` (null for all) as they are from then on."""

    staff: str
    by: str
    what: StaffChange
    role: str
    site: str | None = None
    why: str = ""


ServerBody = (
    PackApproved
    | PackRecalled
    | CaseRead
    | DeviceWithdrawn
    | PersonWithdrawn
    | PersonReadmitted
    | LogExported
    | LinesCarried
    | StaffChanged
    | DataKeyGivenBack
)
"""What only a server's own chain may say: from a phone, it says nothing."""

HouseBody = DeviceEnrolled | StorageAsked | PackTaken | PackRefused | ServerBody
