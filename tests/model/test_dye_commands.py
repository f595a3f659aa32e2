"""`chinrest dose` as a person or a script runs it."""

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from dye_rules import SOURCE

from chinrest.cli import main
from chinrest.commands.dose import STOPPED


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["dose", *arguments])


def asked(*arguments: str) -> dict[str, Any]:
    result = run("--dye", "fluorescein", *arguments, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    """The demo's source, to be changed."""
    return Path(shutil.copytree(SOURCE, tmp_path / "pack"))


def spoil(pack: Path, pattern: str, put: str) -> None:
    file = pack / "dyes.toml"
    text, changed = re.subn(pattern, put, file.read_text("utf-8"))
    assert changed
    file.write_text(text, "utf-8")


def test_a_child_by_weight() -> None:
    answer = asked("--weight-kg", "18")
    assert answer["dose_mg"] == 138.6
    assert answer["volume_ml"] == 1.39
    assert answer["per_kg"] == 7.7
    assert answer["capped"] is False
    assert answer["stop"] is None
    assert answer["working"] == "18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL"
    assert "not advice" in answer["caution"]


def test_the_other_strength_and_the_other_dye() -> None:
    answer = asked("--weight-kg", "65", "--concentration-mg-ml", "250", "--with", "indocyanine_green")
    assert (answer["dose_mg"], answer["volume_ml"], answer["capped"]) == (500, 2, True)
    assert (answer["total_mg"], answer["total_per_kg"]) == (525, 8.077)


def test_a_person_reads_the_working_the_approval_and_the_cautions() -> None:
    result = run("--dye", "fluorescein", "--weight-kg", "18")
    assert result.exit_code == 0
    first, *_, last = result.stdout.strip().splitlines()
    assert first == "Fluorescein sodium: 18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL"
    assert "Rule approved by Dr Invented Lead" in result.stdout
    assert "not advice on a dose" in last


@pytest.mark.parametrize(
    ("arguments", "where", "says"),
    [
        (("--weight-kg", "18,5"), "--weight-kg", "with a point"),
        (("--weight-kg", "0"), "--weight-kg", "more than 0"),
        (("--weight-kg", "-18"), "--weight-kg", "more than 0"),
        (("--weight-kg", "1e9"), "--weight-kg", "plain digits"),
        (("--weight-kg", "1000000000"), "--weight-kg", "plain digits"),
        ((), "--weight-kg", "is missing"),
        (("--weight-kg", "18", "--concentration-mg-ml", "99"), "--concentration-mg-ml", "100, 250"),
        (("--weight-kg", "18", "--with", "no_such_dye"), "--with", "no rule for it"),
        (("--weight-kg", "18", "--age", "teen"), "--age", "under_1"),
        (("--weight-kg", "18", "--on", "tomorrow"), "--on", "YYYY-MM-DD"),
    ],
)
def test_bad_input_ends_with_1_and_names_its_option(
    arguments: tuple[str, ...], where: str, says: str
) -> None:
    result = run("--dye", "fluorescein", *arguments, "--json")
    assert result.exit_code == 1
    answer = json.loads(result.stdout)
    assert answer["ok"] is False
    assert answer["fault"]["where"] == where
    assert says in answer["fault"]["why"]
    plain = run("--dye", "fluorescein", *arguments)
    assert plain.exit_code == 1
    assert plain.stdout == ""  # nothing that a script could take for a dose
    assert where in plain.stderr


def test_a_dye_that_is_not_in_the_pack() -> None:
    result = run("--dye", "methylene", "--weight-kg", "18", "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["fault"]["where"] == "--dye"


def test_pounds_stop_with_a_question_and_a_status_of_their_own() -> None:
    result = run("--dye", "fluorescein", "--weight-kg", "176", "--json")
    assert result.exit_code == STOPPED == 3
    answer = json.loads(result.stdout)
    assert answer["stop"]["code"] == "weight_unlikely"
    assert answer["dose_mg"] is answer["volume_ml"] is answer["working"] is None
    plain = run("--dye", "fluorescein", "--weight-kg", "176")
    assert plain.exit_code == STOPPED
    assert plain.stdout.startswith("Stop: Is 176 kg right, and in kilograms?")
    assert asked("--weight-kg", "176", "--weight-confirmed")["dose_mg"] == 500


@pytest.mark.parametrize(
    ("pattern", "put", "code"),
    [
        ('approved_by = "[^"]*"', 'approved_by = ""', "not_approved"),
        ('valid_until = "[^"]*"', 'valid_until = "2025-01-01"', "out_of_date"),
    ],
)
def test_a_rule_unapproved_or_out_of_date_shows_nothing(
    pattern: str, put: str, code: str, pack: Path
) -> None:
    spoil(pack, pattern, put)
    result = run("--dye", "fluorescein", "--weight-kg", "18", "--pack", str(pack), "--json")
    assert result.exit_code == STOPPED
    answer = json.loads(result.stdout)
    assert answer["stop"]["code"] == code
    assert answer["dose_mg"] is answer["volume_ml"] is answer["working"] is None


def test_a_strength_is_missing_where_the_pack_has_no_default(pack: Path) -> None:
    spoil(pack, 'default_concentration_mg_ml = "[^"]*"', 'default_concentration_mg_ml = ""')
    result = run("--dye", "fluorescein", "--weight-kg", "18", "--pack", str(pack), "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["fault"]["where"] == "--concentration-mg-ml"


def test_a_pack_without_dose_rules_says_so(pack: Path) -> None:
    for name in ("dyes", "screening", "reaction", "watch", "takeaway"):
        (pack / f"{name}.toml").unlink()
    result = run("--dye", "fluorescein", "--weight-kg", "18", "--pack", str(pack), "--json")
    assert result.exit_code == 1
    assert "this pack has no dose rules" in json.loads(result.stdout)["fault"]["why"]
