"""What a source says of the hour around an injection: dyes, screening, reaction, watch, take-away card.

A clinic that gives no dye leaves these files out; then none of it is in its pack.
"""

from typing import Any

import msgspec

from chinrest.model.dye.aftercare import Takeaway, TakeawayLine, Watch, WatchRule
from chinrest.model.dye.rule import Dosing, Dye
from chinrest.model.dye.screening import ScreeningQuestion
from chinrest.model.reaction.tables import (
    Criterion,
    ObservationField,
    ReactionTables,
    Scale,
    Sign,
    TimedAction,
)

from .reader import Reader

FILES = ("dyes", "screening", "reaction", "watch", "takeaway")
REACTION_LISTS: dict[str, Any] = {
    "signs": Sign,
    "criteria": Criterion,
    "actions": TimedAction,
    "observations": ObservationField,
    "scales": Scale,
}


class DyeParts(msgspec.Struct, kw_only=True):
    """As far as it could be read: sound entries only, None where a whole is missing or faulty.

    `ids`: list, then every (file, id) written down, of faulty entries too.
    """

    dosing: Dosing | None
    dyes: list[Dye]
    screening: list[ScreeningQuestion]
    reaction: ReactionTables | None
    watch: Watch | None
    takeaway: Takeaway | None
    ids: dict[str, list[tuple[str, str]]]
    present: set[str]

    def names(self, kind: str) -> set[str]:
        return {name for _, name in self.ids.get(kind, [])}


class _ReactionTop(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    remind_s: int
    remind_text: str
    caution: str
    escalation: str


class _WatchTop(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    caution: str


class _TakeawayTop(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    title: dict[str, str]
    reach: dict[str, str]
    unreviewed: list[str]


def read_dye_parts(reader: Reader) -> DyeParts:
    """The parts; faults are left with the reader."""
    ids: dict[str, list[tuple[str, str]]] = {}

    def listed(file: str, key: str, kind: Any) -> list[Any]:
        ids.setdefault(key, []).extend(
            (file, entry["id"]) for entry in reader.entries(file, key) if isinstance(entry.get("id"), str)
        )
        return reader.listed(file, key, kind)

    reader.only("dyes.toml", {"dosing", "dyes"}, {"dosing", "dyes"})
    reader.only("screening.toml", {"questions"}, {"questions"})
    dosing = reader.tables.get("dyes.toml", {}).get("dosing")
    top = reader.rest("reaction.toml", set(REACTION_LISTS), _ReactionTop)
    lists = {key: listed("reaction.toml", key, kind) for key, kind in REACTION_LISTS.items()}
    watch = reader.rest("watch.toml", {"rules"}, _WatchTop)
    rules = listed("watch.toml", "rules", WatchRule)
    card = reader.rest("takeaway.toml", {"lines"}, _TakeawayTop)
    lines = listed("takeaway.toml", "lines", TakeawayLine)
    return DyeParts(
        dosing=None if dosing is None else reader.convert(dosing, Dosing, "dyes.toml", "dosing"),
        dyes=listed("dyes.toml", "dyes", Dye),
        screening=listed("screening.toml", "questions", ScreeningQuestion),
        reaction=msgspec.convert({**msgspec.structs.asdict(top), **lists}, ReactionTables) if top else None,
        watch=Watch(caution=watch.caution, rules=rules) if watch else None,
        takeaway=Takeaway(**msgspec.structs.asdict(card), lines=lines) if card else None,
        ids=ids,
        present={file for file in reader.tables if file.removesuffix(".toml") in FILES},
    )
