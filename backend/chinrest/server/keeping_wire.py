"""What travels about backups, and about what is kept and erased. Times are ms since 1970, by the server's
clock."""

from typing import Literal

from msgspec import Struct

BackupState = Literal["fine", "old", "never", "elsewhere"]


class BackupStanding(Struct, frozen=True, kw_only=True):
    """`last_at`: when the last backup that was read back was made; null where none holds what phones sent.
    `state`: `old` after `limit_days`; `elsewhere` at a hub, whose phones wait for the hospital's backup."""

    state: BackupState
    last_at: int | None
    limit_days: int


class RuleInForce(Struct, frozen=True, kw_only=True):
    """`years` after the last line came; null: for good. `by`: a name."""

    years: int | None
    why: str
    by: str
    since: int


class ErasureRow(Struct, frozen=True, kw_only=True):
    """One erasure. `tombstones`: their ids in the server's chain. `case`: null where what went belongs to
    none (`loose`), or who asks reads no case. `bodies` that went, but for `words`, of the desk's own review
    lines; `refused`: kept aside."""

    at: int
    by: str
    rule: Literal["age", "request"]
    years: int | None
    why: str
    case: str | None
    loose: bool
    bodies: int
    words: int
    refused: int
    tombstones: list[str]


class Retention(Struct, frozen=True, kw_only=True):
    """`erasures`: the latest, newest first. `tombstones`: how many there are in all."""

    rule: RuleInForce | None
    erasures: list[ErasureRow]
    tombstones: int


class DueAtSite(Struct, frozen=True, kw_only=True):
    """What the rule would erase now: `bodies` of so many `cases`, `loose` lines of none, `words` of the
    desk's own, `refused` that were kept aside. `open_review`, `not_passed_on`, `not_folded`: how many cases,
    and devices' lines of none, stay for that reason. `oldest_at`: when the first of all these came."""

    site: str
    site_name: str
    cases: int
    bodies: int
    loose: int
    words: int
    refused: int
    oldest_at: int
    open_review: int
    not_passed_on: int
    not_folded: int


class DueNow(Struct, frozen=True, kw_only=True):
    """`before`: what came last before this moment is due; null where no rule says so."""

    before: int | None
    sites: list[DueAtSite]
