"""What must hold for any rule and any weight: by Hypothesis, and against exact fractions."""

from decimal import ROUND_UP, Decimal
from fractions import Fraction

from dye_rules import dosing, dye
from dye_rules import work as worked
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from chinrest.model.dye.dose import Dose
from chinrest.model.dye.rule import Dye

CALM = settings(deadline=None)
"""On a busy machine one slow example is no fault."""
ANY = dosing(ask_below_kg="0.000001", ask_above_kg="650", keep_total_below_mg_per_kg="")


def texts(low: int, high: int, places: int = 3) -> st.SearchStrategy[str]:
    """Decimals in plain digits."""
    return (
        st.decimals(low, high, places=places).filter(lambda value: value > 0).map(lambda value: f"{value:f}")
    )


STRENGTHS = texts(1, 300, 2)
STEPS = st.sampled_from(["0.01", "0.025", "0.05", "0.1", "0.2"])


@st.composite
def rules(draw: st.DrawFn) -> Dye:
    per_kg, over = draw(texts(0, 20)), draw(st.one_of(st.just(""), texts(0, 2)))
    return dye(
        per_kg_mg=per_kg,
        cap_mg=draw(texts(1, 700)),
        keep_below_mg_per_kg=f"{Decimal(per_kg) + Decimal(over):f}" if over else "",
        concentrations_mg_ml=[draw(STRENGTHS)],
        default_concentration_mg_ml="",
        rounding_step_ml=draw(STEPS),
        rounding=draw(st.sampled_from(["nearest", "down"])),
    )


def work(rule: Dye, weight: str) -> Dose:
    return worked(rule, rule=ANY, weight_kg=weight, concentration_mg_ml=rule.concentrations_mg_ml[0])


def exact(rule: Dye, weight: str) -> Fraction:
    return min(Fraction(weight) * Fraction(rule.per_kg_mg), Fraction(rule.cap_mg))


@CALM
@given(rule=rules(), weight=texts(1, 300))
def test_the_dose_is_the_exact_fraction(rule: Dye, weight: str) -> None:
    answer = work(rule, weight)
    assume(answer.dose_mg is not None)
    assert answer.dose_mg is not None
    assert answer.volume_ml is not None
    assert answer.drawn_mg is not None
    dose, strength = exact(rule, weight), Fraction(rule.concentrations_mg_ml[0])
    assert Fraction(answer.dose_mg) == dose
    assert Fraction(answer.drawn_mg) == Fraction(answer.volume_ml) * strength
    steps = Fraction(answer.volume_ml) / Fraction(rule.rounding_step_ml)
    assert steps.denominator == 1  # a volume that the syringe can show
    off = Fraction(answer.volume_ml) - dose / strength
    step = Fraction(rule.rounding_step_ml)
    assert -step < off <= step / 2
    if rule.rounding == "nearest" and "rounded down" not in (answer.working or ""):
        assert -step / 2 < off <= step / 2
    if rule.rounding == "down":
        assert off <= 0


@CALM
@given(rule=rules(), weight=texts(1, 300))
def test_never_above_the_cap_nor_at_the_ceiling(rule: Dye, weight: str) -> None:
    answer = work(rule, weight)
    assume(answer.drawn_mg is not None)
    assert answer.drawn_mg is not None
    assert answer.dose_mg is not None
    for amount in (answer.dose_mg, answer.drawn_mg):  # what is written, and what the syringe then holds
        assert Fraction(amount) <= Fraction(rule.cap_mg)
        if rule.keep_below_mg_per_kg:
            assert Fraction(amount) < Fraction(rule.keep_below_mg_per_kg) * Fraction(weight)


@CALM
@given(rule=rules(), one=texts(1, 300), other=texts(1, 300))
def test_a_heavier_patient_never_gets_less(rule: Dye, one: str, other: str) -> None:
    light, heavy = sorted([one, other], key=Decimal)
    less, more = work(rule, light), work(rule, heavy)
    assume(less.dose_mg and more.dose_mg and less.volume_ml and more.volume_ml)
    assert Fraction(less.dose_mg or "") <= Fraction(more.dose_mg or "")
    if not rule.keep_below_mg_per_kg:  # a ceiling by weight may hold the lighter one's rounding down only
        assert Fraction(less.volume_ml or "") <= Fraction(more.volume_ml or "")


@CALM
@given(weight=texts(1, 300), rule=rules())
def test_units_are_never_mixed(weight: str, rule: Dye) -> None:
    """Twice the strength, half the volume, the same mg: mL belong to the strength beside them."""
    weak = rule.concentrations_mg_ml[0]
    strong = f"{Decimal(weak) * 2:f}"
    fine = dye(
        per_kg_mg=rule.per_kg_mg,
        cap_mg=rule.cap_mg,
        concentrations_mg_ml=[weak, strong],
        rounding_step_ml="0.000001",
    )
    one = worked(fine, rule=ANY, weight_kg=weight, concentration_mg_ml=weak)
    two = worked(fine, rule=ANY, weight_kg=weight, concentration_mg_ml=strong)
    assume(one.volume_ml and two.volume_ml)
    assert one.dose_mg == two.dose_mg
    assert abs(Fraction(one.volume_ml or "") - 2 * Fraction(two.volume_ml or "")) <= Fraction(2, 1_000_000)
    assert (one.working or "").endswith(f"{one.volume_ml} mL of {one.concentration_mg_ml} mg/mL") or (
        "rounded down" in (one.working or "")
    )


@CALM
@given(weight=texts(2, 60), over=texts(0, 1, 2), step=STEPS)
def test_two_dyes_together_stay_below_their_ceiling(weight: str, over: str, step: str) -> None:
    """Each worked out with the other, under a ceiling that they all but reach: both syringes are below it."""
    per_kg = Decimal("7.7") + Decimal(25) / Decimal(weight) + Decimal(over)
    ceiling = f"{per_kg.quantize(Decimal('0.01'), ROUND_UP):f}"
    rule = dosing(ask_below_kg="1", ask_above_kg="650", keep_total_below_mg_per_kg=ceiling)
    one, two = dye(rounding_step_ml=step), dye("indocyanine_green", keep_below_mg_per_kg="")
    first = worked(one, two, rule=rule, weight_kg=weight, with_dye=two.id)
    second = worked(two, one, rule=rule, weight_kg=weight, with_dye=one.id)
    assert second.drawn_mg is not None
    assume(first.drawn_mg)  # a child's dose may be less than one coarse step
    together = Fraction(first.drawn_mg or "") + Fraction(second.drawn_mg)
    assert together < Fraction(ceiling) * Fraction(weight)


@CALM
@given(rule=rules(), weight=texts(1, 300))
def test_a_second_person_can_follow_the_line(rule: Dye, weight: str) -> None:
    """Each number of the line, read back from it, follows from the ones before it."""
    answer = work(rule, weight)
    assume(answer.working is not None)
    words = (answer.working or "").replace(",", "").split()
    kg, per_kg, raw = Fraction(words[0]), Fraction(words[3]), Fraction(words[6])
    assert words[1:3] == ["kg", "×"]
    assert kg * per_kg == raw
    assert ("capped" in words) == (raw > Fraction(rule.cap_mg)) == answer.capped
    arrow = words.index("→")
    assert Fraction(words[arrow - 2]) == Fraction(answer.dose_mg or "")
    assert words[arrow + 1 : arrow + 4] == [answer.volume_ml, "mL", "of"]
