"""Screening, watch and card of the demo: what is asked for which dye, and how long a patient is watched."""

import tomllib
from itertools import combinations
from typing import Any, get_args

import msgspec
import pytest
from dye_rules import SOURCE

from chinrest.log import dye_events
from chinrest.model.dye import screening
from chinrest.model.dye.aftercare import Happened, Takeaway, Watch, watch_minutes
from chinrest.model.dye.screening import Consequence, ScreeningQuestion, asked, heaviest


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((SOURCE / f"{name}.toml").read_text("utf-8"))


QUESTIONS = msgspec.convert(_read("screening")["questions"], list[ScreeningQuestion])
QUESTION = {question.id: question for question in QUESTIONS}
WATCH = msgspec.convert(_read("watch"), Watch)
CARD = msgspec.convert(_read("takeaway"), Takeaway)
GREEN, YELLOW = "indocyanine_green", "fluorescein"


def consequence(question: str, answer: str) -> Consequence:
    return next(one.consequence for one in QUESTION[question].answers if one.id == answer)


def test_the_log_and_the_pack_know_the_same_consequences() -> None:
    """Neither imports the other: the names are held together here."""
    assert get_args(dye_events.Consequence) == get_args(Consequence) == screening.ORDER


def test_everything_that_has_to_be_asked_is_there() -> None:
    wanted = [
        "earlier_reaction",
        "allergies",
        "asthma",
        "heart",
        "kidney",
        "liver",
        "recent_event",
        "pregnancy",
        "breast_feeding",
        "beta_blocker",
        "dialysis",
        "iodide",
        "shellfish",
        "arm_to_spare",
        "devices",
        "neck_back",
        "epilepsy",
        "anxiety",
        "language",
        "hearing",
        "escort",
        "consent_seen",
        "equipment_today",
        "needle",
        "arm",
    ]
    assert set(wanted) <= set(QUESTION)


@pytest.mark.parametrize(
    ("question", "answer", "wanted"),
    [
        # US label: known hypersensitivity is a contraindication; nausea is excepted from the raised risk
        ("earlier_reaction", "severe", "stop"),
        ("earlier_reaction", "nausea_only", "note"),
        # labels: weigh benefit and risk under a beta-blocker, eye drops too
        ("beta_blocker", "yes", "ask"),
        # UK product summary: another dose in dialysis, so that the approved rule does not hold
        ("dialysis", "yes", "stop"),
        # label texts on iodide differ (caution, contraindicated): the stricter one
        ("iodide", "yes", "stop"),
        # EU-type text: contraindicated in hyperthyroidism
        ("thyroid", "overactive", "stop"),
        # US label: only if clearly needed; EU-type text: avoid
        ("pregnancy", "yes", "stop"),
        ("breast_feeding", "yes", "ask"),
        ("consent_seen", "no", "stop"),
        ("equipment_today", "no", "stop"),
        ("needle", "doubt", "stop"),
    ],
)
def test_consequences_follow_the_sources(question: str, answer: str, wanted: Consequence) -> None:
    assert consequence(question, answer) == wanted


def test_iodine_is_asked_for_the_green_dye_only() -> None:
    """The green dye holds up to 5 % sodium iodide (US description); the other one holds none."""
    only_green = {question.id for question in asked(QUESTIONS, [GREEN])} - {
        question.id for question in asked(QUESTIONS, [YELLOW])
    }
    assert only_green == {"iodide", "shellfish", "thyroid"}
    both = asked(QUESTIONS, [YELLOW, GREEN])
    assert [question.id for question in both] == [question.id for question in QUESTIONS]


def test_an_arm_that_may_not_be_used_is_said_as_data() -> None:
    spared = {answer.id: answer.spare_arm for answer in QUESTION["arm_to_spare"].answers}
    assert spared == {"neither": "", "right": "right", "left": "left", "both": "both"}
    assert consequence("arm_to_spare", "both") == "stop"


def test_the_heaviest_consequence_counts() -> None:
    assert heaviest([]) == "go"
    for one, other in combinations(screening.ORDER, 2):
        assert heaviest([one, other]) == heaviest([other, one]) == other


def test_watching_is_never_shortened_by_what_happened() -> None:
    """Labels: at least 30 minutes; a children's series of 2022 watched for 60."""
    assert watch_minutes(WATCH, ["injected"]) == 30
    assert watch_minutes(WATCH, ["injected", "child"]) == 60
    assert watch_minutes(WATCH, []) is None
    names: tuple[Happened, ...] = get_args(Happened)
    assert {rule.happened for rule in WATCH.rules} == set(names)
    for one in names:
        for other in names:
            alone, both = (
                watch_minutes(WATCH, ["injected", one]),
                watch_minutes(WATCH, ["injected", one, other]),
            )
            assert alone is not None
            assert both is not None
            assert both >= alone >= 30


def test_the_card_says_nothing_of_glucose_meters_but_whom_to_ask() -> None:
    """No published value was found, either way: no number, no promise."""
    line = next(line for line in CARD.lines if line.id == "glucose_meter")
    assert "ask your diabetes team" in line.text["en"]
    assert not any(letter.isdigit() for text in line.text.values() for letter in text)


def test_the_card_covers_what_the_labels_warn_of() -> None:
    wanted = {"skin_colour", "urine_colour", "light", "driving", "sun", "lactation", "glucose_meter"}
    assert wanted <= {line.id for line in CARD.lines}
    # labels differ on milk (4 days, 7 days): the card defers instead of choosing
    milk = next(line for line in CARD.lines if line.id == "lactation")
    assert "physician" in milk.text["en"]
    assert not any(letter.isdigit() for letter in milk.text["en"])
