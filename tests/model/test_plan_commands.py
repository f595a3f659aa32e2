"""`chinrest plan` and `chinrest choose`: the keys that a machine reads, the words that a person reads,
refusals."""

import json
from typing import Any

import pytest
from click.testing import CliRunner

from chinrest.cli import main
from chinrest.model.fields.coverage import coverage
from chinrest.model.retina.regions import region_of

PLAN = ["plan", "--optic", "narrow", "--eye", "right", "--region", "posterior_pole"]
CHOOSE = ["choose", "--eye", "left", "--region", "posterior_pole"]


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(arguments))
    return result.exit_code, result.output


def answer(*arguments: str) -> dict[str, Any]:
    status, output = run(*arguments, "--json")
    assert status == 0, output
    found: dict[str, Any] = json.loads(output)
    return found


def test_plan_prints_the_keys_that_are_promised() -> None:
    found = answer(*PLAN)
    promised = {
        "fields",
        "count",
        "lower_bound",
        "proved",
        "region_fraction",
        "least_join_overlap",
        "seconds",
    }
    assert promised <= set(found)
    assert found["count"] == len(found["fields"]) == 4
    assert found["proved"] is True
    measured = coverage([(field, h, v) for h, v, field in found["fields"]], region_of("posterior_pole"))
    assert found["region_fraction"] == pytest.approx(measured.region_fraction, abs=1e-4)
    assert found["least_join_overlap"] == pytest.approx(measured.least_join_overlap, abs=1e-3)
    assert {pattern["id"] for pattern in found["patterns"]} >= {"single", "seven_standard_fields"}
    assert found["face"].startswith("the tables' reference adult")


def test_the_face_may_be_given_in_part() -> None:
    found = answer(*PLAN[:-1], "midperiphery", "--neck", "fixed", "--overlap", "0.1")
    assert found["face"] == "this patient's"
    assert found["feasible"] is False
    assert found["reachable_fraction"] < 0.95
    assert found["other_optics"] == answer(*PLAN[:-1], "midperiphery", "--neck", "fixed")["other_optics"]
    assert found["gaps"]


def test_a_person_reads_sentences() -> None:
    status, output = run(*PLAN)
    assert status == 0
    assert "4 fields (proved the fewest) show 96.2% of posterior_pole" in output
    assert "Watch the gap from the side" in output
    status, output = run(*CHOOSE)
    assert status == 0
    assert "Wide [suggested]: 1 field in about 4 s, from 30 mm" in output


def test_choose_prints_the_table() -> None:
    found = answer(*CHOOSE, "--modality", "colour", "--minutes", "3")
    assert [row["optic"] for row in found["rows"]] == ["narrow", "wide", "ultrawide"]
    assert found["suggested"] == "narrow"
    assert found["rows"][2]["why_not"] == ["It does not take colour."]
    assert found["eye"] == "left"


@pytest.mark.parametrize(
    ("arguments", "where", "why"),
    [
        ([*PLAN, "--coverage", "1.2"], "--coverage", "above 0 to 1"),
        ([*PLAN, "--overlap", "0.95"], "--overlap", "0 to 0.9"),
        ([*PLAN, "--pupil", "20"], "--pupil", "0.5 to 10 mm"),
        ([*PLAN, "--pd", "20"], "--pd", "20"),
        ([*PLAN[:-1], "nowhere"], "--region", "there are retina, posterior_pole"),
        (["plan", "--optic", "none", *PLAN[3:]], "--optic", "there are narrow, wide, ultrawide"),
        ([*CHOOSE, "--minutes", "0"], "--minutes", "0.1 to 600 minutes"),
        ([*CHOOSE, "--detail", "0"], "--detail", "0.1 to 10000 pixels per degree"),
    ],
)
def test_what_cannot_be_asked_is_refused_where_it_stands(arguments: list[str], where: str, why: str) -> None:
    status, output = run(*arguments, "--json")
    assert status != 0
    fault = json.loads(output)["fault"]
    assert fault["where"] == where
    assert why in fault["why"]
