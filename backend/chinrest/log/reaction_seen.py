"""What of a reaction its class is derived from."""

from msgspec import Struct

from chinrest.model.reaction.tables import Observed


class ReactionSeen(Struct, frozen=True, kw_only=True):
    """What a class of a reaction is derived from, and nothing of the class itself. `ended`: whoever recorded
    it has ended it; before, none is derived. `lowest`: of each reading the lowest that was taken. `dye`: the
    last given before it in the case's order, or else the first that was given at all; empty where none is on
    record. `oral`: it was drunk."""

    signs: list[str]
    lowest: dict[Observed, int] = {}
    ended: bool
    dye: str = ""
    oral: bool = False
