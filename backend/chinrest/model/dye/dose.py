"""What is asked of the dose arithmetic, and what it answers. All amounts are decimals as text."""

from typing import Literal

from msgspec import Struct

StopCode = Literal[
    "not_approved",
    "not_yet_valid",
    "out_of_date",
    "weight_unlikely",
    "past_use_by",
    "not_below_per_kg",
    "not_below_total",
    "too_small",
]


class DoseRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`weight_kg` as it was typed; empty where none is known (enough for a fixed dose without a ceiling per
    kg).

    `band`: id of an age band of the pack's weights, or empty. `weight_confirmed`: somebody has answered that
    an unusual weight is right and in kilograms. `concentration_mg_ml`: empty takes the pack's default,
    where it has one.
    `with_dye`: the other dye of this visit, or empty. `made_up_min`: minutes since the dye was made up,
    None where it comes ready or nobody knows. `on`: today's date, YYYY-MM-DD.
    """

    dye: str
    on: str
    weight_kg: str = ""
    band: str = ""
    weight_confirmed: bool = False
    concentration_mg_ml: str = ""
    with_dye: str = ""
    made_up_min: int | None = None


class DoseStop(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Why no dose is shown. `weight_unlikely` asks: the same request with `weight_confirmed` goes on."""

    code: StopCode
    reason: str


class Dose(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Under a `stop` every amount is None.

    `dose_mg` follows from the rule, after its cap; `volume_ml` is that in the concentration, rounded once;
    `drawn_mg` is what the rounded volume holds. `capped`: the rule's own cap took hold. `per_kg`: `dose_mg`
    per kg of this patient, to three decimals; `total_mg` and `total_per_kg` the same with the other dye's
    dose added.
    `working`: one line for a second person to follow.
    """

    dye: str
    name: str
    dose_mg: str | None
    volume_ml: str | None
    drawn_mg: str | None
    concentration_mg_ml: str | None
    capped: bool
    per_kg: str | None
    with_dye: str | None
    total_mg: str | None
    total_per_kg: str | None
    working: str | None
    flush_ml: str | None
    use_by_h: str | None
    arm_to_eye_s: tuple[float, float] | None
    stop: DoseStop | None
    approved_by: str
    approved_on: str
    valid_until: str
    cautions: list[str]
    caution: str
