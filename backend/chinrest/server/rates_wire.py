"""What travels when rates are asked for. Every figure says what it was counted from, and where in the log."""

from typing import Literal

from msgspec import Struct

from chinrest.model.rates.compare import Comparison
from chinrest.model.rates.published import PublishedRate
from chinrest.model.rates.summary import Rate
from chinrest.store.counting import HarmPair

RateOf = Literal["reaction", "reaction_oral", "touch", "event", "near_miss"]
RateBy = Literal["none", "dye", "class", "optic", "what", "site", "month", "harm", "desk_harm"]


class RateRow(Struct, frozen=True, kw_only=True):
    """`key` is the id that the rate is split by ("" where it is of all). `rate` is null where nothing was
    done, or where there were more events than procedures, which no proportion holds: `none` then says
    so."""

    key: str
    events: int
    procedures: int
    rate: Rate | None
    none: str | None


class BesidePublished(Struct, frozen=True, kw_only=True):
    """Other people's rate, and how ours differs from it (ours less theirs, an exact test)."""

    published: PublishedRate
    rate: Rate
    ours: str
    comparison: Comparison | None


class DeviceAwaited(Struct, frozen=True, kw_only=True):
    label: str
    site: str
    last_heard_at: int | None
    waiting: int | None


class ScaleUsed(Struct, frozen=True, kw_only=True):
    """A scale of the packs that were in use. `versions` of its table; `classes`: id to name, the lightest
    first."""

    id: str
    name: str
    versions: list[str]
    classes: dict[str, str]


class RateReport(Struct, frozen=True, kw_only=True):
    """`definition`: what is counted among what. `rules`: what is counted and left out. `provisional`:
    devices that may still hold lines of the period. `position`: where in the log it was counted. `scale`: by
    which the rows are classes of reactions, and `scales` that could be asked for; only where split by class.
    `harm_pairs`: harm as reported beside harm as judged at the desk; only where split by either.
    """

    of: RateOf
    by: RateBy
    definition: str
    rules: list[str]
    rows: list[RateRow]
    total: RateRow
    published: list[BesidePublished]
    provisional: list[DeviceAwaited]
    scale: str | None = None
    scales: list[ScaleUsed] = []
    harm_pairs: list[HarmPair] = []
    position: int
    first: str | None
    last: str | None
    site: str | None
