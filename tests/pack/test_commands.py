"""`chinrest pack` and `chinrest fit` as a person runs them."""

import gzip
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from pack_sources import Compiled, Spoil
from scipy.spatial.transform import Rotation

from chinrest.commands.fit import fit
from chinrest.commands.pack import pack

FACE = "--pd 63 --exophthalmometry average --nose medium --brow medium --neck free --age-band 40-59"
KEYS = {
    *("feasible", "reason", "yaw_deg", "pitch_deg", "working_distance_mm", "clearance_mm", "margin_mm"),
    *("nearest", "field_deg", "eye_in_head_deg", "touch_chance", "pupil_ratio", "outside_light_cm"),
    *("capsules", "optic_profile", "head_to_instrument"),
}
POSE_KEYS = {
    *("yaw_deg", "pitch_deg", "working_distance_mm", "clearance_mm", "nearest", "field_deg"),
    *("eye_in_head_deg", "touch_chance", "outside_light_cm", "head_to_instrument"),
}


def run(command: Any, *arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


def fitted(options: str) -> dict[str, Any]:
    result = run(fit, *f"{FACE} {options} --json".split())
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def test_check_says_what_it_found(folder: Path) -> None:
    result = run(pack, "check", folder)
    assert result.exit_code == 0
    assert "No fault" in result.stdout
    assert "3 optics" in result.stdout


def test_check_prints_every_fault_and_fails(folder: Path, spoil: Spoil) -> None:
    spoil("clinic.toml", r"comfort_pause_at = 7", "comfort_pause_at = 11")
    spoil("emergency.toml", r'phone = "555-0112"', 'phone = ""')
    result = run(pack, "check", folder)
    assert result.exit_code == 1
    lines = result.stderr.splitlines()
    assert lines[0] == "clinic.toml: thresholds.comfort_pause_at: is 11; must lie from 1 to 10"
    assert lines[1].startswith("emergency.toml: contacts[#3].phone: is ''")
    assert lines[2].startswith("2 faults.")


def test_check_as_json(folder: Path, spoil: Spoil) -> None:
    spoil("clinic.toml", r"comfort_pause_at = 7", "comfort_pause_at = 11")
    result = run(pack, "check", folder, "--json")
    assert result.exit_code == 1
    said = json.loads(result.stdout)
    assert said["ok"] is False
    assert [fault["key"] for fault in said["faults"]] == ["thresholds.comfort_pause_at"]


def test_compile_names_the_file_by_its_hash(folder: Path, tmp_path: Path, compiled: Compiled) -> None:
    result = run(pack, "compile", folder, "--out", tmp_path / "new", "--json")
    assert result.exit_code == 0, result.output
    said = json.loads(result.stdout)
    written = tmp_path / "new" / f"{said['sha256']}.json"
    assert written.read_bytes() == compiled.data
    assert said["bytes"] == len(compiled.data)
    assert said["gzip_bytes"] == len(gzip.compress(compiled.data, 9, mtime=0))


def test_compile_writes_nothing_when_there_is_a_fault(folder: Path, spoil: Spoil, tmp_path: Path) -> None:
    spoil("clinic.toml", r"comfort_pause_at = 7", "comfort_pause_at = 11")
    result = run(pack, "compile", folder, "--out", tmp_path / "out.json")
    assert result.exit_code == 1
    assert not (tmp_path / "out.json").exists()


def test_show_is_the_demo_by_default() -> None:
    optics = json.loads(run(pack, "show", "--json").stdout)["optics"]
    assert [optic["id"] for optic in optics] == ["narrow", "wide", "ultrawide"]
    assert all(optic["field_deg"] > 0 for optic in optics)
    text = run(pack, "show").stdout
    assert "DEMO" in text
    assert "invented" in text


def test_show_reads_a_compiled_pack(compiled: Compiled, tmp_path: Path) -> None:
    (tmp_path / "pack.json").write_bytes(compiled.data)
    assert json.loads(run(pack, "show", tmp_path / "pack.json", "--json").stdout) == json.loads(compiled.data)


@pytest.mark.parametrize("command", ["check", "compile", "show"])
def test_what_is_not_there(command: str, tmp_path: Path) -> None:
    result = run(pack, command, tmp_path / "nowhere")
    assert result.exit_code == 1
    assert "nowhere" in result.stderr


def test_fit_prints_what_anyone_needs_to_check_it() -> None:
    answer = fitted("--optic ultrawide --eye right")
    assert set(answer) >= KEYS
    assert answer["feasible"]
    matrix = np.array(answer["head_to_instrument"])
    # SciPy as the independent reference: yaw about the vertical, then pitch (chin up +) about the turned axis
    turned = Rotation.from_euler("YX", [answer["yaw_deg"], -answer["pitch_deg"]], degrees=True)
    assert np.allclose(matrix[:3, :3], turned.as_matrix(), atol=1e-12)
    assert len(answer["capsules"][0]) == 8


def test_fit_turns_the_eye_against_the_head() -> None:
    """Worked example of the sign conventions: yaw 14, pitch 0, gaze 0,0 leaves the eye 14 deg temporal."""
    answer = fitted("--optic wide --eye right --at 14,0")
    assert answer["eye_in_head_deg"] == pytest.approx([-14, 0])
    assert (answer["yaw_deg"], answer["pitch_deg"]) == (14, 0)


def test_fit_at_a_distance() -> None:
    assert fitted("--optic wide --eye left --at -5,2,31")["working_distance_mm"] == 31


def test_fit_infeasible_keeps_the_bodies() -> None:
    deep = "--pd 63 --exophthalmometry deep-set --nose high --brow heavy --neck fixed"
    result = run(fit, *f"{deep} --optic ultrawide --eye right --json".split())
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert not answer["feasible"]
    assert answer["reason"]["code"]
    assert answer["reason"]["sentence"].endswith(".")
    assert {key for key in POSE_KEYS if answer[key] is not None} == set()
    assert answer["capsules"]
    assert answer["optic_profile"]


def test_fit_is_the_same_from_source_and_from_the_compiled_pack(
    folder: Path, compiled: Compiled, tmp_path: Path
) -> None:
    (tmp_path / "pack.json").write_bytes(compiled.data)
    question = "--optic ultrawide --eye left --gaze 10,-5"
    from_file = fitted(f"{question} --pack {tmp_path / 'pack.json'}")
    assert fitted(f"{question} --pack {folder}") == from_file == fitted(question)


def test_fit_says_the_side_as_the_patient_has_it() -> None:
    for eye, side in (("right", "left"), ("left", "right")):
        text = run(fit, *f"{FACE} --optic ultrawide --eye {eye}".split()).stdout
        assert f"to the patient's {side}" in text.splitlines()[0]
        assert "Watch the gap from the side" in text


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ("--optic fisheye --eye right", "there is no optic 'fisheye'"),
        ("--optic wide --eye right --pd 12", "12 mm is outside"),
        ("--optic wide --eye right --exophthalmometry 40", "outside"),
        ("--optic wide --eye right --exophthalmometry sunken", "must be mm|deep-set|average|prominent"),
        ("--optic wide --eye right --gaze 1", "must be H,V"),
        ("--optic wide --eye right --at 1,2,3,4", "must be YAW,PITCH[,DISTANCE]"),
        ("--optic wide --eye right --at east,2", "must be numbers"),
        ("--optic wide --eye right --pupil -1", "pupil"),
        ("--optic wide --eye third", "'third' is not one of"),
        ("--optic wide --eye right --gaze nan,0", "gaze"),
    ],
)
def test_fit_refuses_in_words(options: str, why: str) -> None:
    result = run(fit, *f"{FACE} {options}".split())
    assert result.exit_code != 0
    assert why in result.stderr
