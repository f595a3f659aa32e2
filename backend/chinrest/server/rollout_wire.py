"""What travels when the lead asks what packs compute to, and who has which."""

from typing import Literal

from msgspec import Struct

from chinrest.pack.class_fits import ClassFit
from chinrest.pack.difference.difference import PackDifference

PhoneStands = Literal["current", "behind", "never_here", "no_pack", "recalled", "none_in_force"]
"""It has the pack in force; one that was in force here before; one that never was; none yet; one
that was recalled; nothing is in force at its site."""


class PackFits(Struct, frozen=True, kw_only=True):
    """What each optic of a pack computes to. `how`: for whom, and what is not counted."""

    sha256: str
    version: str
    clinic: str
    margin_mm: float
    optics: list[tuple[str, str]]
    """(id, name), in the pack's order."""
    rows: list[ClassFit]
    how: str


class PhoneWithPack(Struct, frozen=True, kw_only=True):
    """`behind_since`: when its pack ceased to be the one in force at its site; for one that never was, or
    none, when the one in force was approved. Null where it is not behind. `why`: of a recall."""

    device: str
    label: str
    last_heard_at: int | None
    pack: str | None
    version: str | None
    stands: PhoneStands
    behind_since: int | None
    why: str


class SiteRollout(Struct, frozen=True, kw_only=True):
    """`pack` null: nothing is in force, and `recalled` says whether that is because of a recall."""

    site: str
    name: str
    pack: str | None
    version: str | None
    since: int | None
    approved_by: str
    recalled: bool
    phones: list[PhoneWithPack]
    withdrawn: int


class Rollout(Struct, frozen=True, kw_only=True):
    """Who has which pack, by site, as told by the phones up to `at`."""

    at: int
    sites: list[SiteRollout]


__all__ = ["ClassFit", "PackDifference", "PackFits", "PhoneWithPack", "Rollout", "SiteRollout"]
