"""A case's reactions as an officer reads them, with room for their classes: no class stands in any line."""

from collections.abc import Sequence

from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.reactions import Reaction, fold_reactions
from chinrest.model.reaction.classes import Classed
from chinrest.model.reaction.tables import Observed


class ReactionRow(Struct, frozen=True, kw_only=True):
    """One reaction. `line` opened it; `ended_at` null: it runs, and nothing is derived from it.

    `signs`: every sign seen at any time; one tapped by mistake and withdrawn is not among them. `lowest`:
    of each reading the lowest that was taken. `pack`: in use when it was opened, so that its tables hold.
    `classes`: one for each scale of that pack, derived each time it is read and never stored; empty with
    `why`.
    """

    line: str
    at: int
    ended_at: int | None
    outcome: str | None
    pack: str | None
    signs: list[str]
    lowest: dict[Observed, int]
    classes: list[Classed] = []
    why: str = ""


READINGS: tuple[Observed, ...] = ("pulse", "systolic", "diastolic", "saturation", "breathing")


def reaction_rows(standing: Sequence[Standing]) -> list[ReactionRow]:
    """The reactions of one case, without classes yet. `standing` in order."""
    packs = {line.kept.envelope.id: line.kept.envelope.pack for line in standing}
    rows: list[ReactionRow] = []
    for reaction in fold_reactions(standing):
        rows.append(
            ReactionRow(
                line=reaction.line,
                at=reaction.at,
                ended_at=reaction.ended_at,
                outcome=reaction.outcome,
                pack=packs.get(reaction.line),
                signs=reaction.signs,
                lowest=lowest_of(reaction),
            )
        )
    return rows


def lowest_of(reaction: Reaction) -> dict[Observed, int]:
    """Of each reading the lowest that was taken, where any was."""
    taken = {
        name: [value for read in reaction.readings if (value := getattr(read, name)) is not None]
        for name in READINGS
    }
    return {name: min(values) for name, values in taken.items() if values}
