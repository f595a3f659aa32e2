"""Recognition criteria as a truth table, and that they only ever escalate."""

from itertools import product
from random import Random
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs
from phone_code import ask_phone_code
from phone_reactions import ask_criteria
from reaction_lists import SIGNS, TABLES

from chinrest.model.reaction.criteria import ever_seen, met, signs_of
from chinrest.model.reaction.tables import Observed

# One sign for each part of the criteria's words.
SKIN, BREATHING, PRESSURE, GUT = "hives_or_rash", "wheeze", "low_pressure", "vomiting_again"


def ids(*signs: str) -> set[str]:
    return {criterion.id for criterion in met(TABLES, set(signs))}


def wao_first(skin: bool, breathing: bool, pressure: bool, gut: bool) -> bool:
    """WAO 2020, criterion 1: skin, and at least one of breathing, low pressure, severe gut symptoms."""
    return skin and (breathing or pressure or gut)


def wao_second(skin: bool, breathing: bool, pressure: bool, gut: bool) -> bool:
    """WAO 2020, criterion 2: low pressure, bronchospasm or laryngeal signs after a likely trigger."""
    return pressure or breathing


def niaid_second(skin: bool, breathing: bool, pressure: bool, gut: bool) -> bool:
    """NIAID/FAAN 2006, criterion 2: two or more of skin, respiratory, pressure, gut."""
    return skin + breathing + pressure + gut >= 2


@pytest.mark.parametrize("row", list(product([False, True], repeat=4)))
def test_the_truth_table_of_the_published_criteria(row: tuple[bool, bool, bool, bool]) -> None:
    seen = ids(*(sign for sign, on in zip((SKIN, BREATHING, PRESSURE, GUT), row, strict=True) if on))
    assert ("skin_and_another" in seen) == wao_first(*row)
    assert ("after_the_dye" in seen) == wao_second(*row)
    assert ("two_of_four" in seen) == niaid_second(*row)


@pytest.mark.parametrize("sign", ["stridor", "hoarse", "throat_tight"])
def test_throat_signs_alone_are_enough(sign: str) -> None:
    assert "after_the_dye" in ids(sign)  # WAO 2020, criterion 2: laryngeal signs


@pytest.mark.parametrize("sign", ["unconscious", "seizure", "no_pulse", "not_breathing", "shock", "blue"])
def test_what_any_list_calls_severe_is_enough_alone(sign: str) -> None:
    assert ids(sign)


@pytest.mark.parametrize(
    "signs",
    [(), ("nausea",), ("vomiting",), ("sneezing",), ("itching",), ("pain_at_needle", "swelling_at_needle")],
)
def test_none_met_is_no_word_at_all(signs: tuple[str, ...]) -> None:
    """The answer to these is empty: nothing in it could be read as 'all is well'."""
    assert met(TABLES, set(signs)) == []


@settings(deadline=None)
@given(seen=st.sets(st.sampled_from(SIGNS)), more=st.sets(st.sampled_from(SIGNS)))
def test_further_signs_only_escalate(seen: set[str], more: set[str]) -> None:
    assert ids(*seen) <= ids(*seen, *more)


TOGGLES = st.lists(st.tuples(st.sampled_from(SIGNS), st.booleans()), max_size=12)
READINGS = st.lists(
    st.dictionaries(
        st.sampled_from(["pulse", "systolic", "diastolic", "saturation", "breathing"]), st.integers(0, 100)
    ),
    max_size=5,
)


@settings(deadline=None)
@given(toggles=TOGGLES, later=TOGGLES, readings=READINGS, more=READINGS)
def test_nothing_later_takes_an_escalation_back(
    toggles: list[tuple[str, bool]],
    later: list[tuple[str, bool]],
    readings: list[dict[str, int]],
    more: list[dict[str, int]],
) -> None:
    before = ever_seen(TABLES, toggles, readings)  # type: ignore[arg-type]  # Hypothesis keeps no literal
    after = ever_seen(TABLES, toggles + later, readings + more)  # type: ignore[arg-type]  # as above
    assert before <= after
    assert ids(*before) <= ids(*after)


def test_low_readings_count_as_their_signs() -> None:
    # Sampson 2006: systolic under 90 mmHg is low; Brown 2004: saturation of 92 % or less
    assert signs_of(TABLES, {"systolic": 89}) == {"low_pressure"}
    assert signs_of(TABLES, {"systolic": 90}) == set()
    assert signs_of(TABLES, {"saturation": 92}) == {"low_saturation"}
    assert signs_of(TABLES, {"saturation": 93, "pulse": 20, "diastolic": 10, "breathing": 4}) == set()
    assert signs_of(TABLES, {}) == set()


def test_a_low_saturation_after_the_green_dye_still_escalates() -> None:
    """The dye lowers the reading (Baek and Yoo 2015), and the page says so; no reading is explained away."""
    saturation = next(field for field in TABLES.observations if field.id == "saturation")
    note = saturation.dye_notes["indocyanine_green"]
    assert "Baek and Yoo 2015" in note
    assert "still leads to the emergency page" in note
    assert ids(*signs_of(TABLES, {"saturation": 90}))


def test_the_phone_meets_the_same_criteria() -> None:
    pairs = [sorted({one, other}) for one, other in product(SIGNS, SIGNS)]
    triples = [sorted({one, two, SKIN}) for one, two in product(SIGNS, SIGNS)]
    asked = [[], *pairs, *triples, SIGNS]
    answers = ask_criteria(TABLES, asked)
    for signs, answer in zip(asked, answers, strict=True):
        assert answer == [criterion.id for criterion in met(TABLES, set(signs))], signs


PHONE_READINGS = """
import { signsOf } from "@src/chairside/reaction/tables";
const answer = (all) => all.map(({ tables, readings }) => signsOf(tables, readings));
"""


def test_the_phone_counts_the_same_low_readings_as_signs() -> None:
    """Random readings, some not taken, under the demo's limits and under others that a clinic could set."""
    draw = Random(90)
    names: tuple[Observed, ...] = get_args(Observed)
    asked, wanted = [], []
    for _ in range(10_000):
        observations = [
            structs.replace(field, sign_below=limit, sign="" if limit is None else draw.choice(SIGNS))
            if draw.random() < 0.5
            else field
            for field in TABLES.observations
            for limit in [draw.choice([None, draw.randint(field.least + 1, field.most)])]
        ]
        tables = structs.replace(TABLES, observations=observations, scales=[], criteria=[])
        readings = {
            field.id: draw.choice([draw.randint(field.least, field.most), (field.sign_below or 60) - 1])
            for field in observations
            if draw.random() < 0.7
        }
        noted = {name: readings.get(name) for name in names}
        asked.append({"tables": {"observations": observations}, "readings": noted})
        wanted.append(signs_of(tables, readings))
    for question, got, want in zip(asked, ask_phone_code(PHONE_READINGS, asked), wanted, strict=True):
        assert set(got) == want, question["readings"]
    assert {len(want) for want in wanted} >= {0, 1, 2, 3}
