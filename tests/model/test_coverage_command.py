"""`chinrest coverage` as a person runs it."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from model_demo import SOURCE
from published_values import published

from chinrest.cli import main
from chinrest.model.retina.regions import seven_standard_fields

KEYS = {"area_mm2", "retina_fraction", "region_fraction", "overlap", "error_mm2"}
SEVEN = [
    part
    for field in seven_standard_fields()
    for part in ("--field", f"{field[0]:g}@{field[1]:g},{field[2]:g}")
]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["coverage", "--eye", "right", *arguments])


def asked(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def refused(*arguments: str) -> dict[str, str]:
    result = run(*arguments, "--json")
    assert result.exit_code != 0, result.output
    answer = json.loads(result.stdout)
    assert answer["ok"] is False
    fault: dict[str, str] = answer["fault"]
    return fault


def test_the_answer_has_every_key_and_names_its_denominators() -> None:
    answer = asked("--field", "50@0,0", "--field", "50@20,0", "--region", "posterior_pole")
    assert answer.keys() >= KEYS
    assert answer["retina_fraction"] == pytest.approx(answer["area_mm2"] / answer["retina_mm2"])
    assert answer["region_fraction"] == pytest.approx(answer["region_covered_mm2"] / answer["region_mm2"])
    assert [len(row) for row in answer["overlap"]] == [2, 2]
    assert answer["error_mm2"] <= 0.005 * answer["region_mm2"]
    assert "Escudero-Sanz & Navarro 1999" in answer["model"]


def test_one_wide_field_shows_all_seven_standard_fields_and_they_show_themselves() -> None:
    for fields in (["--field", "130@0,0"], SEVEN):
        assert asked(*fields, "--region", "seven_fields")["region_fraction"] == pytest.approx(1.0, abs=1e-6)
    assert asked("--field", "50@0,0", "--region", "seven_fields")["region_fraction"] < 0.6


def test_a_central_field_is_as_large_as_the_published_eye_says() -> None:
    """About the fovea, five degrees off the axis: within one per cent of the same cone about the axis."""
    table = published("retina")["wide_angle_traced"]
    for half, cap in zip(table["external_deg"], table["cap_mm2"], strict=True):
        if half <= 65.0:
            assert asked("--field", f"{2.0 * half:g}@0,0")["area_mm2"] == pytest.approx(cap, rel=0.01)


def test_left_and_right_share_the_numbers() -> None:
    right = json.loads(run("--field", "50@20,5", "--json").stdout)
    left = json.loads(
        CliRunner().invoke(main, ["coverage", "--eye", "left", "--field", "50@20,5", "--json"]).stdout
    )
    assert (right.pop("eye"), left.pop("eye")) == ("right", "left")
    assert right == left


@pytest.mark.parametrize(
    ("arguments", "where", "why"),
    [
        (("--field", "201@0,0"), "--field", "above 0 to 200 deg"),
        (("--field", "50@75,0"), "--field", "-60 to 60 deg to either side"),
        (("--field", "50@0,75"), "--field", "-60 to 60 deg up or down"),
        (("--field", "nan@0,0"), "--field", "above 0 to 200 deg"),
        (("--field", "50@0,0", "--region", "macula"), "--region", "there are retina, posterior_pole"),
        (("--field", "50"), "--field", "must be DEG@H,V"),
        (("--field", "50@1"), "--field", "must be DEG@H,V"),
        (("--field", "fifty@0,0"), "--field", "must be DEG@H,V"),
        ((), "--field", "Missing option"),
    ],
)
def test_bad_input_is_refused_in_words(arguments: tuple[str, ...], where: str, why: str) -> None:
    fault = refused(*arguments)
    assert fault["where"] == where
    assert why in fault["why"]


def test_a_person_reads_what_is_shown_joined_and_left() -> None:
    result = run("--field", "50@0,0", "--field", "50@30,0", "--region", "far_periphery")
    assert result.exit_code == 0
    text = result.stdout
    for words in (
        "Right eye, 2 fields:",
        "of the whole retina",
        "of far_periphery",
        "30° nasal",
        "Least join:",
    ):
        assert words in text
    assert "beyond any ray through the pupil" in text


OWN = """
[[regions]]
id = "upper-temporal"
name = "Upper temporal quadrant"
source = "invented"
polygon = [[0.0, 0.0], [-40.0, 0.0], [-40.0, 30.0], [0.0, 30.0]]
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """The demo's pack with a region that the clinic drew."""
    for path in SOURCE.rglob("*.toml"):
        to = tmp_path / path.relative_to(SOURCE)
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_bytes(path.read_bytes())
    (tmp_path / "regions.toml").write_text(OWN, "utf-8")
    return tmp_path


def test_a_clinics_own_region_is_covered_by_name(own: Path) -> None:
    pack = ("--pack", str(own))
    whole = asked("--field", "150@-20,15", "--region", "upper-temporal", *pack)
    part = asked("--field", "30@-20,15", "--region", "upper-temporal", *pack)
    assert whole["region_fraction"] == pytest.approx(1.0, abs=1e-6)
    assert 0.4 < part["region_fraction"] < 0.9
    assert "upper-temporal" in refused("--field", "30@0,0", "--region", "x", *pack)["why"]


@pytest.mark.parametrize(
    ("text", "key", "why"),
    [
        (OWN.replace("upper-temporal", "retina"), "regions[retina].id", "model's own"),
        (OWN.replace("[-40.0, 30.0]", "[-70.0, 30.0]"), "regions[upper-temporal]", "-60 to 60 deg"),
        (OWN.split("polygon")[0], "regions[upper-temporal]", "covers nothing"),
        (OWN.split("polygon")[0] + "cones = [[210.0, 0.0, 0.0]]", "regions[upper-temporal]", "200 deg"),
        (OWN.replace("invented", " "), "regions[upper-temporal].source", "must say something"),
        (OWN.replace("[-40.0, 0.0]", "[-40.0]"), "regions[upper-temporal].polygon[#2]", ""),
    ],
)
def test_a_region_that_is_none_is_a_fault_of_the_pack(own: Path, text: str, key: str, why: str) -> None:
    (own / "regions.toml").write_text(text, "utf-8")
    result = run("--field", "30@0,0", "--pack", str(own), "--json")
    assert result.exit_code == 1
    faults = json.loads(result.stdout)["faults"]
    hits = [fault for fault in faults if fault["file"] == "regions.toml" and fault["key"] == key]
    assert hits, faults
    assert any(why in fault["reason"] for fault in hits)
