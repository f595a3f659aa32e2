"""What the commands say to bad input: what, where and why, in words or in JSON, and never a traceback."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from chinrest.cli import main

MEASURES = {"pd": "62", "exophthalmometry": "average", "nose": "medium", "brow": "medium", "neck": "free"}
FACE = ["--eye", "right", *(part for name, value in MEASURES.items() for part in (f"--{name}", value))]
DEMO = str(Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pack")
NOT_UTF8 = "\udcff"  # how Python gives an argument's byte 0xFF (PEP 383)
HOUSE = "HOUSE"  # stands for a folder with a site in it


def run(*arguments: str, stdin: str | bytes | None = None) -> Result:
    result = CliRunner().invoke(main, arguments, input=stdin, prog_name="chinrest")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def house(tmp_path: Path) -> str:
    folder = str(tmp_path / "house")
    assert run("sites", "add", "harbour", "Harbour", "--data", folder).exit_code == 0
    return folder


REFUSED: list[tuple[list[str], str]] = [
    (["sing"], "chinrest"),
    (["pack", "sing"], "chinrest pack"),
    (["sites", "add"], "SITE"),
    (["sites", "add", "Harbour", "x", "--data", HOUSE], "SITE"),
    (["sites", "add", "harbour", "two\nlines", "--data", HOUSE], "NAME"),
    (["sites", "add", "harbour", NOT_UTF8, "--data", HOUSE], "chinrest"),
    (["sites", "list", "--data", "/dev/null"], "--data"),
    (["sites", "add", "harbour", "x", "--data", "/dev/null/x"], "/dev/null/x"),
    (["people", "add", "--name", "x", "--role", "king"], "--role"),
    (["people", "add", "--name", "x", "--role", "lead", "--data", HOUSE], "standard input"),
    (["people", "password", "--name", "x", "--data", "/dev/null/x"], "--data"),
    (["enrol", "--site", "moon", "--label", "x", "--data", HOUSE], "site"),
    (["enrol", "--site", "harbour", "--label", "x" * 101, "--data", HOUSE], "label"),
    (["enrol", "--site", "harbour", "--label", "x", "--origin", "javascript:x", "--data", HOUSE], "--origin"),
    (
        ["enrol", "--site", "harbour", "--label", "x", "--origin", "https://h:port", "--data", HOUSE],
        "--origin",
    ),
    (["enrol", "--site", "harbour", "--label", "x", "--origin", "https://" + "h" * 3000], "--origin"),
    (["serve", "--port", "99999"], "--port"),
    (["serve", "--data", "/dev/null/x"], "/dev/null/x"),
    (["serve", "--host", "0.0.0.0"], "--host"),
    (["serve", "--origin", "hub.example"], "--origin"),
    (["verify"], "FILE"),
    (["verify", "/dev/null/x"], "/dev/null/x"),
    (["verify", NOT_UTF8], "chinrest"),
    (["pack", "check"], "FOLDER"),
    (["pack", "compile", DEMO, "--out", "/dev/null/x.json"], "/dev/null/x.json"),
    (["fit"], "--optic"),
    (["fit", *FACE, "--optic", "fisheye"], "--optic"),
    (["fit", *FACE, "--optic", "wide", "--pd", "nan"], "--pd"),
    (["fit", *FACE, "--optic", "wide", "--exophthalmometry", "inf"], "--exophthalmometry"),
    (["fit", *FACE, "--optic", "wide", "--gaze", "61,0"], "--gaze"),
    (["fit", *FACE, "--optic", "wide", "--gaze", "1"], "--gaze"),
    (["fit", *FACE, "--optic", "wide", "--at", "0,0,nan"], "--at"),
    (["fit", *FACE, "--optic", "wide", "--at", "91,0"], "--at"),
    (["fit", *FACE, "--optic", "wide", "--pupil", "0"], "--pupil"),
    (["fit", *FACE, "--optic", "wide", "--target-cm", "1e9"], "--target-cm"),
    (["rates", "--events", "2", "--procedures", "1"], "--events"),
    (["gchart", "/dev/null/x"], "/dev/null/x"),
]


@pytest.mark.parametrize(
    ("arguments", "where"), REFUSED, ids=lambda value: " ".join(value)[:60] if isinstance(value, list) else ""
)
def test_a_refusal_is_json_where_json_was_asked_for(house: str, arguments: list[str], where: str) -> None:
    given = [house if argument == HOUSE else argument for argument in arguments]
    result = run(*given, "--json", stdin="")
    assert result.exit_code != 0
    said: dict[str, Any] = json.loads(result.stdout[result.stdout.index("{") :])
    assert (said["ok"], said["fault"]["where"]) == (False, where)
    assert said["fault"]["code"]
    assert said["fault"]["why"]
    plain = run(*given, stdin="")
    assert plain.exit_code == result.exit_code
    assert "Error: " in plain.stderr or "Aborted" in plain.stderr


def test_a_password_that_is_not_utf8(house: str) -> None:
    given = [
        "people",
        "add",
        "--name",
        "Lea",
        "--role",
        "lead",
        "--password-stdin",
        "--data",
        house,
        "--json",
    ]
    result = run(*given, stdin=b"long enough but \xff\n")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["fault"]["where"] == "password"


def test_a_folder_with_a_file_whose_name_is_not_utf8(tmp_path: Path) -> None:
    (tmp_path / "\udcff.toml").touch()
    result = run("pack", "check", str(tmp_path), "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["faults"][0]["file"]
    plain = run("pack", "check", str(tmp_path))
    assert plain.exit_code == 1
    assert "\\udcff.toml" in plain.stderr


def test_another_programs_database(tmp_path: Path) -> None:
    (tmp_path / "chinrest.db").write_bytes(b"a letter, not a database\n" * 200)
    result = run("people", "list", "--data", str(tmp_path), "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["fault"]["code"] == "file"


def test_a_damaged_authority_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "tls").mkdir()
    for name in ("authority.crt", "authority.key"):
        (tmp_path / "tls" / name).write_text("half a file")
    result = run("serve", "--local-tls", "--port", "0", "--data", str(tmp_path), "--json")
    assert result.exit_code == 1
    fault = json.loads(result.stdout)["fault"]
    assert fault["code"] == "authority"
    assert "--new-authority" in fault["why"]
