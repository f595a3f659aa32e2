"""Every kind of fault that a source can have is named by file, key and reason, and no fault hides another."""

import tomllib
from pathlib import Path
from typing import get_args

import pytest
from pack_sources import Spoil, faults_in

from chinrest.log import case_events, incidents
from chinrest.pack import vocabulary


def of(entry: str, key: str) -> str:
    """A pattern that ends just before the value of `key` in the entry with this id."""
    return rf'(id = "{entry}"\n(?:(?!\n\[\[).)*?\n?{key} = )[^\n]*'


def test_the_words_that_a_pack_must_give_are_those_that_the_log_uses() -> None:
    """Neither may import the other: the pack's check and the log name the same ids apart."""
    assert get_args(case_events.Harm) == vocabulary.HARM
    assert incidents.TOUCHED == vocabulary.TOUCHED


def test_the_demo_has_no_fault(folder: Path) -> None:
    assert faults_in(folder) == []


NEW_STEP = '\n[[steps]]\nid = "extra"\nweight = "must"\ntext = "Do it."\n'

CASES: list[dict[str, str]] = tomllib.loads(Path(__file__).with_name("spoiled.toml").read_text("utf-8"))[
    "case"
]


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_each_fault_names_file_key_and_reason(case: dict[str, str], folder: Path, spoil: Spoil) -> None:
    spoil(case["file"], case["find"], case["put"])
    faults = faults_in(folder)
    file = case.get("at", case["file"])
    hits = [f for f in faults if f.file == file and f.key == case["key"] and case["says"] in f.reason]
    assert hits, "\n".join(str(f) for f in faults) or "no fault was found"


# First principles, r = w tan(field / 2): at a full angle of 90 deg the clear radius equals the distance from
# rim plane to entrance pupil, here 20 mm to the cornea and 3.04 mm on to the pupil (a 1999 schematic eye).
@pytest.mark.parametrize(("clear_radius_mm", "sound"), [(22.9, False), (23.1, True)])
def test_clear_radius_against_first_principles(
    clear_radius_mm: float, sound: bool, folder: Path, spoil: Spoil
) -> None:
    for key, value in (
        ("field_deg", "90.0"),
        ("field_settings_deg", "[]"),
        ("working_distance_mm", "20.0"),
        ("clear_radius_mm", str(clear_radius_mm)),
        ("profile", "[[0.0, 26.0], [40.0, 50.0]]"),
    ):
        spoil("optics.toml", of("ultrawide", key), rf"\g<1>{value}")
    faults = faults_in(folder)
    assert [f.key for f in faults] == ([] if sound else ["optics[ultrawide].clear_radius_mm"])


def test_every_fault_is_reported_at_once(folder: Path, spoil: Spoil) -> None:
    spoil("steps/1-arrival.toml", r'weight = "must"', 'weight = "may"')
    spoil("steps/2-ready.toml", r'flags = \["tremor"\]', 'flags = ["tremour"]')
    spoil("emergency.toml", r'phone = "555-0112"', 'phone = ""')
    spoil("limits.toml", r"target_cm = [\d.]+", "target_cm = 1.0")
    (folder / "faces.toml").write_text("summary = \n", "utf-8")
    found = {(f.file, f.key) for f in faults_in(folder)}
    assert found == {
        ("steps/1-arrival.toml", "steps[identity].weight"),
        ("steps/2-ready.toml", "steps[tremor].when.flags"),
        ("emergency.toml", "contacts[#3].phone"),
        ("limits.toml", "target_cm"),
        ("faces.toml", ""),
    }


def test_one_faulty_entry_makes_no_fault_of_what_refers_to_it(folder: Path, spoil: Spoil) -> None:
    spoil("optics.toml", of("narrow", "mass_g"), r'\g<1>"heavy"')
    spoil("choices.toml", r'id = "tremor"\ntext = "Tremor"', 'id = "tremor"\ntext = 5')
    assert {f.key for f in faults_in(folder)} == {"optics[narrow].mass_g", "flags[tremor].text"}


@pytest.mark.parametrize("file", ["clinic", "optics", "faces", "limits", "fields", "choices", "emergency"])
def test_a_missing_file_is_named(file: str, folder: Path) -> None:
    (folder / f"{file}.toml").unlink()
    assert [(f.file, f.reason) for f in faults_in(folder)] == [(f"{file}.toml", "is missing")]


def test_a_file_that_belongs_to_no_pack_is_named(folder: Path) -> None:
    (folder / "optic.toml").write_text("", "utf-8")
    (folder / "steps" / "old").mkdir()
    (folder / "steps" / "old" / "x.toml").write_text("", "utf-8")
    assert [f.file for f in faults_in(folder)] == ["optic.toml", "steps/old/x.toml"]


@pytest.mark.parametrize("text", ["a = " + "[" * 5000 + "]" * 5000, "a = " + "9" * 5000])
def test_what_no_reader_can_hold_is_named(text: str, folder: Path) -> None:
    (folder / "limits.toml").write_text(text, "utf-8")
    assert ["cannot be read as TOML" in f.reason for f in faults_in(folder) if f.file == "limits.toml"] == [
        True
    ]


def test_bytes_that_are_no_text_are_named(folder: Path) -> None:
    (folder / "limits.toml").write_bytes(b"margin_mm = 4 # \xff")
    assert [(f.file, f.reason) for f in faults_in(folder)] == [("limits.toml", "is not UTF-8 at byte 16")]


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    faults = faults_in(tmp_path / "nowhere")
    assert faults[0].reason == "is no folder; a pack's source is a folder of TOML files"
    assert len(faults) == 1


def test_a_second_language_must_say_everything(folder: Path) -> None:
    (folder / "phrases" / "es.toml").write_text('reviewed = false\n[phrases]\nblink = "Parpadee."\n', "utf-8")
    faults = faults_in(folder)
    assert {f.file for f in faults} == {"phrases/es.toml"}
    assert "phrases.identity" in {f.key for f in faults}
    assert "phrases.blink" not in {f.key for f in faults}


def test_steps_may_stand_in_one_file(folder: Path) -> None:
    """`steps.toml` alone, each step naming its stage, reads the same as a folder of files."""
    for path in sorted((folder / "steps").glob("*.toml")):
        path.unlink()
    (folder / "steps").rmdir()
    (folder / "steps.toml").write_text(
        '[[stages]]\nid = "only"\nname = "Only"\n' + NEW_STEP + 'stage = "only"\n', "utf-8"
    )
    assert faults_in(folder) == []
