"""What a server writes into its own chain when it erases bodies by rule: tombstones, and the rule.

A tombstone names the hashes of the bodies that it erases; their envelopes stay, and the chain with them. It
keeps what rates are counted from, as it was counted then, and what the desk decided, and nothing that
somebody wrote in words.
"""

from typing import Literal

from msgspec import Struct, field

from chinrest.log.case_events import Body, Harm
from chinrest.log.reaction_seen import ReactionSeen


class RetentionSet(Body, frozen=True, tag="retention.set"):
    """From now on cases are kept so many years after their last line came; null: for good. `by`: a staff
    id."""

    by: str
    years: int | None
    why: str


class ErasedCase(Struct, frozen=True, kw_only=True):
    """The case as it stood, without its code."""

    site: str
    opened: bool
    outcome: str | None
    practice: bool


class ErasedIncident(Struct, frozen=True, kw_only=True):
    """An incident as it stood, without its note; see `chinrest.log.incidents.IncidentFact`."""

    line: str
    site: str
    device: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Harm | None
    near_miss: bool
    practice: bool
    optic: str | None
    amended: bool
    withdrawn: bool
    after_closing: bool
    pack: str | None
    seen: ReactionSeen | None
    again: bool


class ErasedTally(Struct, frozen=True, array_like=True):
    kind: str
    key: str
    sub: str
    n: int


class ErasedDecision(Struct, frozen=True, kw_only=True):
    """What a line of an incident's review decided: its own id, its type, and its body with the words taken
    out."""

    line: str
    type: str
    body: dict[str, object]


class BodiesErased(Body, frozen=True, tag="bodies.erased"):
    """A tombstone, of the case that its envelope names, or of lines that belong to none. `by`: a staff id, or
    `command`. `rule`: `age` with the `years` in force, or `request`. `bodies`: SHA-256 of each body. An
    erasure that does not fit one line has several tombstones, known by `erasure`; the first says what the
    `case` was. `at` and `month`: those of its counts (`tallies`), null where it counted for nothing.
    `refused`: bodies that were kept aside as refused and went too. `decisions`: of the server's own review
    lines whose bodies went. `signature`: by the server's key over `tombstone_text`."""

    by: str
    rule: Literal["age", "request"]
    years: int | None
    why: str
    erasure: str
    bodies: list[str]
    case: ErasedCase | None
    at: int | None
    month: str | None
    tallies: list[ErasedTally]
    incidents: list[ErasedIncident]
    refused: int
    signature: str
    decisions: list[ErasedDecision] = field(default_factory=list)


ErasureBody = RetentionSet | BodiesErased
