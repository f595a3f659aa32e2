"""Reactions to the dye in published series: other people's rates, for a service's own to stand beside.

They differ by what was counted as a reaction, by who was asked, by dose and by choice of patients, by a
factor of twenty. A rate is only fit to stand beside one that counted the same thing in the same way.
"""

from typing import Literal

from msgspec import Struct

Which = Literal["any", "severe"]


class PublishedRate(Struct, frozen=True, kw_only=True):
    """`events` among `tests` as printed. `counted`: what the authors called an event."""

    id: str
    dye: str
    route: Literal["intravenous", "oral"]
    which: Which
    counted: str
    events: int
    tests: int
    source: str


PUBLISHED = (
    PublishedRate(
        id="kwan-2006",
        dye="fluorescein",
        route="intravenous",
        which="any",
        counted="any adverse reaction, nausea included",
        events=132,
        tests=11898,
        source="Kwan et al. 2006, PMID 16451256",
    ),
    PublishedRate(
        id="kwan-2006-severe",
        dye="fluorescein",
        route="intravenous",
        which="severe",
        counted="serious reactions and deaths",
        events=0,
        tests=11898,
        source="Kwan et al. 2006, PMID 16451256",
    ),
    PublishedRate(
        id="belena-2013",
        dye="fluorescein",
        route="intravenous",
        which="any",
        counted="any adverse reaction, on 11,260 patients",
        events=186,
        tests=14455,
        source="Belena et al. 2013",
    ),
    PublishedRate(
        id="ha-2014",
        dye="fluorescein",
        route="intravenous",
        which="severe",
        counted="anaphylaxis",
        events=10,
        tests=12005,
        source="Ha et al. 2014, PMID 24293212",
    ),
    PublishedRate(
        id="hara-1998",
        dye="fluorescein",
        route="oral",
        which="any",
        counted="mild reactions; none was severe",
        events=31,
        tests=1787,
        source="Hara et al. 1998, PMID 9780101",
    ),
    PublishedRate(
        id="hope-ross-1994",
        dye="indocyanine_green",
        route="intravenous",
        which="any",
        counted="mild, moderate and severe, added up",
        events=8,
        tests=1923,
        source="Hope-Ross et al. 1994, PMID 8127574",
    ),
    PublishedRate(
        id="hope-ross-1994-severe",
        dye="indocyanine_green",
        route="intravenous",
        which="severe",
        counted="severe",
        events=1,
        tests=1923,
        source="Hope-Ross et al. 1994, PMID 8127574",
    ),
    PublishedRate(
        id="obana-1994",
        dye="indocyanine_green",
        route="intravenous",
        which="any",
        counted="any adverse reaction, on 2,820 patients",
        events=13,
        tests=3774,
        source="Obana et al. 1994",
    ),
)
