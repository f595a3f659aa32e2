"""Worked doses of published labels, and where a rule shows nothing."""

from typing import Any

import pytest
from dye_rules import DOSING, DYE, TODAY, dosing, dye, work
from msgspec import structs

from chinrest.model.errors import InputError

# US label of fluorescein injection: children 7.7 mg per kg of actual weight, at most 500 mg; two strengths.
# The mL are the label's arithmetic to three decimals, worked out apart from this code.
CHILD = [
    ("5", "38.5", "0.385", "0.154"),
    ("10", "77", "0.77", "0.308"),
    ("15", "115.5", "1.155", "0.462"),
    ("20", "154", "1.54", "0.616"),
    ("30", "231", "2.31", "0.924"),
    ("40", "308", "3.08", "1.232"),
    ("50", "385", "3.85", "1.54"),
    ("60", "462", "4.62", "1.848"),
    ("64.9", "499.73", "4.997", "1.999"),
    ("65", "500", "5", "2"),
]


@pytest.mark.parametrize(("kg", "mg", "ml_of_100", "ml_of_250"), CHILD)
def test_the_label_of_fluorescein_by_weight(kg: str, mg: str, ml_of_100: str, ml_of_250: str) -> None:
    fine = dye(rounding_step_ml="0.001")
    for strength, ml in (("100", ml_of_100), ("250", ml_of_250)):
        answer = work(fine, weight_kg=kg, concentration_mg_ml=strength)
        assert (answer.dose_mg, answer.volume_ml) == (mg, ml)
        assert answer.capped == (kg == "65")


def test_the_label_of_fluorescein_for_an_adult() -> None:
    """500 mg = 5 mL of 100 mg/mL = 2 mL of 250 mg/mL."""
    adult = dye(rule="fixed", per_kg_mg="", fixed_mg="500")
    for strength, ml in (("100", "5"), ("250", "2")):
        answer = work(adult, concentration_mg_ml=strength)
        assert (answer.dose_mg, answer.volume_ml, answer.per_kg) == ("500", ml, None)
        assert answer.working == f"500 mg fixed → {ml} mL of {strength} mg/mL"


def test_the_ceiling_is_reached_between_64_93_and_64_94_kg() -> None:
    """500 / 7.7 = 64.935 kg."""
    assert not work(weight_kg="64.93").capped
    assert work(weight_kg="64.94").capped


def test_a_line_that_a_second_person_can_follow() -> None:
    assert work(weight_kg="18").working == "18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL"
    assert work(weight_kg="80").working == "80 kg × 7.7 mg/kg = 616 mg, capped at 500 mg → 5 mL of 100 mg/mL"


@pytest.mark.parametrize(
    ("cap", "step", "ml"),
    [
        ("495", "0.1", "4.9"),  # 4.95 mL would round to 5.0 mL, which holds 500 mg
        ("499.99", "0.01", "4.99"),  # 4.9999 to 5.00
        ("500", "0.1", "5"),
        ("460", "0.5", "4.5"),  # 4.6 rounds down by itself
        ("490", "0.5", "4.5"),  # 4.9 to 5.0
    ],
)
def test_rounding_never_goes_up_past_the_cap(cap: str, step: str, ml: str) -> None:
    answer = work(dye(cap_mg=cap, rounding_step_ml=step), weight_kg="80")
    assert (answer.dose_mg, answer.volume_ml) == (cap, ml)
    held = cap in ("495", "499.99", "490")
    assert ("rounded down so as not to pass a ceiling" in (answer.working or "")) == held


def test_the_green_dye_in_three_strengths() -> None:
    """25 mg in 10 mL is 2.5 mg/mL (US label), in 2.5 mL 10 mg/mL (Chopdar 2007)."""
    for strength, ml in (("2.5", "10"), ("5", "5"), ("10", "2.5")):
        answer = work(DYE["indocyanine_green"], weight_kg="70", concentration_mg_ml=strength)
        assert (answer.dose_mg, answer.volume_ml) == ("25", ml)
        assert (answer.flush_ml, answer.use_by_h) == ("5", "6")


def test_the_green_dye_stays_below_2_mg_per_kg() -> None:
    """US label: below 2 mg/kg in total; 25 mg is 2 mg/kg at 12.5 kg."""
    green = DYE["indocyanine_green"]
    at = work(green, weight_kg="12.5").stop
    assert at is not None
    assert at.code == "not_below_per_kg"
    assert "25 mg is 2 mg/kg for 12.5 kg" in at.reason
    assert work(green, weight_kg="12.6").stop is None


def test_both_dyes_are_added_per_kg() -> None:
    both = [DYE["fluorescein"], DYE["indocyanine_green"]]
    answer = work(*both, weight_kg="18", with_dye="indocyanine_green")
    assert (answer.total_mg, answer.total_per_kg, answer.per_kg) == ("163.6", "9.089", "7.7")
    assert answer.working is not None
    assert answer.working.endswith("; with 25 mg of Indocyanine green: 163.6 mg in all, 9.089 mg/kg")
    stop = work(*both, weight_kg="16", rule=dosing(keep_total_below_mg_per_kg="9"), with_dye=both[1].id).stop
    assert stop is not None
    assert stop.code == "not_below_total"


def test_a_companion_that_breaks_its_own_ceiling_stops_both() -> None:
    stop = work(
        DYE["fluorescein"], DYE["indocyanine_green"], weight_kg="12", with_dye="indocyanine_green"
    ).stop
    assert stop is not None
    assert stop.code == "not_below_per_kg"
    assert stop.reason.startswith("Indocyanine green: ")


@pytest.mark.parametrize(
    ("changed", "on", "code"),
    [
        ({"approved_by": ""}, TODAY, "not_approved"),
        ({"approved_by": "  "}, TODAY, "not_approved"),
        ({"valid_until": ""}, TODAY, "not_approved"),
        ({"approved_on": "2026-11-26"}, TODAY, "not_yet_valid"),
        ({"valid_until": "2026-11-24"}, TODAY, "out_of_date"),
        ({"valid_until": TODAY}, TODAY, None),
        ({"approved_on": TODAY}, TODAY, None),
    ],
)
def test_nothing_is_shown_without_an_approval_in_date(
    changed: dict[str, str], on: str, code: str | None
) -> None:
    answer = work(dye(**changed), weight_kg="18", on=on)
    assert (answer.stop.code if answer.stop else None) == code
    if code:
        shown = structs.asdict(answer)
        for name in ("dose_mg", "volume_ml", "drawn_mg", "per_kg", "working", "flush_ml", "arm_to_eye_s"):
            assert shown[name] is None


def test_the_other_dye_needs_its_approval_too() -> None:
    stop = work(
        DYE["fluorescein"],
        dye("indocyanine_green", approved_by=""),
        weight_kg="40",
        with_dye="indocyanine_green",
    ).stop
    assert stop is not None
    assert stop.reason.startswith("Indocyanine green: ")


def test_pounds_for_kilograms_are_asked_about() -> None:
    """80 kg are 176 lb, by the pound of 0.45359237 kg (agreement of 1959)."""
    stop = work(weight_kg="176").stop
    assert stop is not None
    assert stop.code == "weight_unlikely"
    assert "176 lb would be 79.8 kg" in stop.reason
    assert work(weight_kg="176", weight_confirmed=True).dose_mg == "500"
    # a child of 18 kg is 40 lb: without an age 40 kg is nobody's mistake, with one it asks
    assert work(weight_kg="40").stop is None
    child = work(weight_kg="40", band="1_to_4").stop
    assert child is not None
    assert "40 lb would be 18.1 kg" in child.reason
    assert "(1 to 4 years)" in child.reason


def test_a_dye_is_used_within_its_hours() -> None:
    """US label of indocyanine green: within 6 hours of being made up."""
    green = DYE["indocyanine_green"]
    assert work(green, weight_kg="70", made_up_min=360).stop is None
    stop = work(green, weight_kg="70", made_up_min=361).stop
    assert stop is not None
    assert stop.code == "past_use_by"
    assert work(weight_kg="70", made_up_min=100_000).stop is None  # the other one comes ready


@pytest.mark.parametrize(
    ("asked", "field", "says"),
    [
        ({"weight_kg": "18,5"}, "weight_kg", "write the decimal with a point"),
        ({"weight_kg": "0"}, "weight_kg", "must be more than 0"),
        ({"weight_kg": "0.000"}, "weight_kg", "must be more than 0"),
        ({"weight_kg": "-18"}, "weight_kg", "must be more than 0"),
        ({"weight_kg": "1e9"}, "weight_kg", "must be plain digits"),
        ({"weight_kg": "1000000000"}, "weight_kg", "must be plain digits"),
        ({"weight_kg": "100000"}, "weight_kg", "nobody weighs more than 650 kg"),
        ({"weight_kg": "40 lb"}, "weight_kg", "must be plain digits in the unit asked for"),
        ({"weight_kg": "nan"}, "weight_kg", "must be plain digits"),
        ({"weight_kg": "١٨"}, "weight_kg", "must be plain digits"),
        ({"weight_kg": ""}, "weight_kg", "is missing"),
        (
            {"weight_kg": "18", "dye": "no_such_dye"},
            "dye",
            "this pack has no rule for it; it has fluorescein",
        ),
        (
            {"weight_kg": "18", "concentration_mg_ml": "50"},
            "concentration_mg_ml",
            "this clinic's are 100, 250",
        ),
        ({"weight_kg": "18", "concentration_mg_ml": "100,0"}, "concentration_mg_ml", "with a point"),
        ({"weight_kg": "18", "with_dye": "fluorescein"}, "with_dye", "is the same dye"),
        ({"weight_kg": "18", "band": "teen"}, "band", "this pack has under_1"),
        ({"weight_kg": "18", "on": "25.11.2026"}, "on", "must be a date"),
        ({"weight_kg": "18", "made_up_min": -1}, "made_up_min", "from 0 up"),
    ],
)
def test_what_is_badly_put_is_refused_by_field(asked: dict[str, Any], field: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        work(**asked)
    assert refused.value.field == field
    assert says in refused.value.why


def test_a_strength_is_asked_for_where_the_pack_has_no_default() -> None:
    """5 mL of 250 mg/mL would be two and a half doses: no strength is guessed."""
    with pytest.raises(InputError) as refused:
        work(dye(default_concentration_mg_ml=""), weight_kg="18")
    assert refused.value.field == "concentration_mg_ml"
    assert "read it off the vial; this clinic's are 100, 250" in refused.value.why


def test_every_answer_defers() -> None:
    for answer in (work(weight_kg="18"), work(weight_kg="176")):
        assert answer.caution == DOSING.caution
        assert "not advice" in answer.caution
        assert "local protocol decides" in answer.caution
