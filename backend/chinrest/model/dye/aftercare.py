"""How long a patient is watched after an injection, by what happened, and what they take home."""

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

Happened = Literal["injected", "child", "nausea", "leak", "faint", "reaction", "stopped"]
"""A dye went in; the patient is a child; nausea or vomiting only; a leak at the needle; a faint; any other
sign of a reaction; the series was stopped once dye was in."""


class WatchRule(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """At least so many minutes after the last injection where `happened` holds. The longest one counts."""

    happened: Happened
    minutes: int
    text: str
    source: str


class Watch(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    rules: list[WatchRule]
    caution: str


class TakeawayLine(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One line of the card. `dyes`: for which dyes, empty for any. `text`: language, then the line."""

    id: str
    dyes: list[str] = []
    text: dict[str, str]
    source: str


class Takeaway(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The card. `title`, `reach` (how to reach the clinic if something comes late) and lines, by language.

    `unreviewed`: languages whose wording nobody who speaks them has signed yet; the card says so.
    """

    title: dict[str, str]
    reach: dict[str, str]
    unreviewed: list[str]
    lines: list[TakeawayLine]


def watch_minutes(watch: Watch, happened: Iterable[Happened]) -> int | None:
    """The longest of the minutes that apply; None where no rule does."""
    given = set(happened)
    return max((rule.minutes for rule in watch.rules if rule.happened in given), default=None)
