"""A clinic's rule for one dye, as its lead approved it. Amounts are decimals as text: exact everywhere."""

from typing import Literal

from msgspec import Struct, field

from chinrest.model.optic import Modality

RELEASERS = ("Doctor", "Other licensed person")
"""Who may release a stop where the clinic does not say; its own law and rules come first."""


class Dye(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One dye as this clinic gives it: a generic name, and one rule.

    `rule`: `per_kg` multiplies `per_kg_mg` by the weight and stops rising at `cap_mg`; `fixed` gives
    `fixed_mg`.
    `keep_below_mg_per_kg`: a dose that is not below this much per kg of this patient is not shown at all.
    `concentrations_mg_ml`: what the clinic stocks or makes up; `default_concentration_mg_ml` empty means that
    it must be said each time. The volume is rounded once, at the end, to `rounding_step_ml`: `nearest`
    (halves up, but never past a ceiling) or `down`. `flush_ml` of saline follows. `use_by_h`: hours after
    it was made up, empty where it comes ready. `arm_to_eye_s`: when the dye is first expected in the eye,
    seconds after injection, (from, to). Not approved, or out of its dates (`approved_on` to `valid_until`,
    both inclusive, YYYY-MM-DD): nothing is shown. `source` names what each figure is taken from.
    """

    id: str
    name: str
    modality: Modality
    routes: list[str]
    rule: Literal["per_kg", "fixed"]
    per_kg_mg: str = ""
    fixed_mg: str = ""
    cap_mg: str
    keep_below_mg_per_kg: str = ""
    concentrations_mg_ml: list[str]
    default_concentration_mg_ml: str = ""
    rounding_step_ml: str
    rounding: Literal["nearest", "down"]
    flush_ml: str
    use_by_h: str = ""
    arm_to_eye_s: tuple[float, float]
    approved_by: str
    approved_on: str
    valid_until: str
    cautions: list[str]
    source: list[str]


class WeightBand(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Weights that are usual at one age, kg. Outside of them the phone asks; it never corrects."""

    id: str
    name: str
    ask_below_kg: str
    ask_above_kg: str


class Dosing(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds for all dyes. `ask_below_kg`, `ask_above_kg`: usual weights where no age band is given.

    `keep_total_below_mg_per_kg`: all dyes of one visit together, empty where the clinic has no such rule.
    `caution` is shown with every dose. `checker_roles`: who may be the second person.
    `releaser_roles`: licensed persons who may release a stop, or decide what an answer leaves to the
    physician. The two differ: whoever can check arithmetic may not be allowed to pass a contraindication.
    """

    caution: str
    ask_below_kg: str
    ask_above_kg: str
    keep_total_below_mg_per_kg: str = ""
    weights: list[WeightBand]
    checker_roles: list[str]
    releaser_roles: list[str] = field(default_factory=lambda: list(RELEASERS))
    source: list[str]
