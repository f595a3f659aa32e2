"""The demo scenario covers a whole visit, says that it is invented, and keeps to what such a tool may say.

What a visit holds is common practice, no source, unless the step itself names one.
"""

import re
import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest

from chinrest.pack import demo
from chinrest.pack.demo import demo_folder, demo_path
from chinrest.pack.schema import Step
from chinrest.pack.source import Source, load

SOURCE = load(demo_path())
STEPS = {step.id: step for step in SOURCE.steps}
DYES = ["fluorescein", "indocyanine_green"]

# what the visit holds: step, its weight, words that its sentence must hold, and the condition it hangs on
VISIT: list[tuple[str, str, str, str, dict[str, Any]]] = [
    ("two identifiers against the request", "identity", "must", "two identifiers|request", {}),
    ("which eye is the study eye", "study_eye", "must", "study eye", {}),
    ("consent", "consent", "stop", "consent", {}),
    ("screening", "screening", "must", "screening", {"modalities": DYES}),
    ("earlier reaction", "earlier_reaction", "stop", "licensed person", {"flags": ["earlier_reaction"]}),
    ("emergency kit", "emergency_ready", "stop", "emergency kit", {"modalities": DYES}),
    ("dose worked and checked", "dose_fluorescein", "must", "second person", {"modalities": DYES[:1]}),
    ("dose of the other dye", "dose_icg", "must", "second person", {"modalities": DYES[1:]}),
    ("made sure in the room", "made_sure", "must", "needle and arm", {"modalities": DYES}),
    ("injection", "inject_fluorescein", "must", "as the bolus begins", {"modalities": DYES[:1]}),
    ("images against the request", "saved_end", "must", "against what was asked", {}),
    ("watch", "watched_after", "must", "local rules", {"modalities": DYES}),
    ("arm looked at", "arm_after", "must", "arm", {"modalities": DYES}),
    ("take-away card", "leaflet", "should", "take-away card", {"modalities": DYES}),
    ("drops", "drops", "should", "drops", {}),
    ("time of the drops", "drops_minutes", "should", "long ago the last drops", {}),
    ("pupil measured", "pupil", "must", "Measure the pupil", {}),
    ("glasses and contact lenses", "glasses", "must", "Glasses off|contact lenses out", {}),
    ("hearing aid", "hearing_aid", "should", "Leave the hearing aid in", {"flags": ["hearing_aid"]}),
    ("mask", "mask", "should", "Tape", {"flags": ["mask"]}),
    ("wheelchair", "wheelchair", "must", "brakes on", {"flags": ["wheelchair"]}),
    ("tremor", "tremor", "should", "Support both arms", {"flags": ["tremor"]}),
    ("nystagmus", "nystagmus", "should", "move least", {"flags": ["nystagmus"]}),
    ("a blind eye", "blind_eye", "must", "cannot follow", {"flags": ["blind_fellow_eye"]}),
    ("control frames before dye", "control_frames", "must", "before any dye", {"modalities": DYES}),
    ("patient, eye, dye aloud", "aloud", "must", "Pause|aloud|patient, eye, dye", {"modalities": DYES}),
    ("images saved before a change", "images_saved", "must", "see them saved", {"optic_change": True}),
    ("powered down before a change", "powered_down", "must", "Power .* down", {"optic_change": True}),
    ("drawn back and locked", "drawn_back_locked", "must", "fully back and lock", {"optic_change": True}),
    ("old optic into its case", "old_optic_off", "must", "its own case", {"optic_change": True}),
    ("caps off", "caps_off", "must", "caps off", {"optic_change": True}),
    ("marks, latch, hand", "latched", "must", "marks|hear the latch|hand under", {"optic_change": True}),
    ("the first optic too", "right_optic_on", "must", "marks met|latch|hand under", {"optic_change": False}),
    ("power on", "power_on", "must", "Power on", {}),
    ("filter and mode", "filter_and_mode", "must", "filter and mode", {}),
    ("focus in the optic's own steps", "focus_start", "must", "starting value|own steps", {}),
    ("rests disinfected", "rests_before", "must", "Disinfect the chin rest and the forehead rest", {}),
    ("rests disinfected after", "rests_after", "must", "Disinfect the chin rest and the forehead rest", {}),
    ("patient forward, chair", "seated", "should", "Patient forward|chair", {}),
    ("chin height", "chin_height", "should", "chin height", {}),
    ("forehead before each frame", "forehead", "must", "Forehead on the rest|before each frame", {}),
    ("draw back", "draw_back", "must", "head turn|change of eye|large move of the gaze", {}),
    ("draw back in the series", "draw_back_between", "should", "draw back|approach again from the side", {}),
    ("watching from the side", "approach", "must", "approach slowly|from the side", {}),
    ("lashes and lids", "lids_and_lashes", "should", "Lids and lashes|glove", {}),
    ("blink", "blink", "should", "blink", {}),
    ("head turn and distance", "pose", "must", "head turn|distance", {}),
    ("how it was, after the approach", "pose_found", "must", "Log how it really was|touched", {}),
    ("working distance", "working_distance", "should", "working distance", {}),
    ("fixation method", "fixation", "must", "inside light, outside light or speech", {}),
    ("gaze guided", "gaze", "should", "gaze", {}),
    ("even illumination", "even_light", "must", "illumination even", {}),
    ("dye frames", "dye_frames", "should", "frames", {"modalities": DYES}),
    ("colour frames", "colour_frames", "should", "frames", {"modalities": ["colour"]}),
    ("cross-sections", "cross_sections", "should", "cross-sections", {"optics": ["narrow"]}),
    (
        "optic cleaned",
        "optic_cleaned",
        "should",
        "dry microfibre|middle outward|No sprays|no paper wipes",
        {},
    ),
    ("what comes next", "tell_next", "should", "what comes next", {}),
    ("the close optic startles", "tell_close", "must", "very close", {"close_optic": True}),
    ("comfort", "comfort_in_series", "should", "comfort", {}),
]


@pytest.mark.parametrize(("item", "step", "weight", "words", "when"), VISIT, ids=[row[0] for row in VISIT])
def test_the_visit(item: str, step: str, weight: str, words: str, when: dict[str, Any]) -> None:
    given = STEPS[step]
    assert given.weight == weight
    for part in words.split("|"):
        assert re.search(part, given.text, re.IGNORECASE), f"{item}: {part!r} is not in {given.text!r}"
    assert {name: getattr(given.when, name) for name in when} == when


def position(step: str) -> int:
    return list(STEPS).index(step)


# common practice, no source
@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("identity", "consent"),
        ("consent", "screening"),
        ("rests_before", "forehead"),
        ("images_saved", "drawn_back_locked"),
        ("drawn_back_locked", "powered_down"),
        ("powered_down", "old_optic_off"),
        ("old_optic_off", "caps_off"),
        ("caps_off", "latched"),
        ("latched", "power_on"),
        ("power_on", "filter_and_mode"),
        ("filter_and_mode", "focus_start"),
        ("tell_close", "approach"),
        ("draw_back", "pose"),
        ("pose", "approach"),
        ("approach", "pose_found"),
        ("pose_found", "control_frames"),
        ("even_light", "control_frames"),
        ("control_frames", "study_eye_ready"),
        ("study_eye_ready", "aloud"),
        ("screening", "dose_fluorescein"),
        ("dose_fluorescein", "made_sure"),
        ("made_sure", "aloud"),
        ("aloud", "inject_icg"),
        ("inject_icg", "inject_fluorescein"),
        ("inject_fluorescein", "dye_frames"),
        ("watched_after", "needle_out"),
        ("needle_out", "arm_after"),
        ("aloud", "dye_frames"),
        ("draw_back_end", "lights_up"),
    ],
)
def test_order(first: str, then: str) -> None:
    assert position(first) < position(then)


def test_each_stage_tells_the_patient_something() -> None:
    for stage in SOURCE.stages:
        assert any(step.say for step in SOURCE.steps if step.stage == stage.id), stage.id


ON_THE_CARD_ONLY = {
    "look_straight",
    "look_up",
    "look_down",
    "look_right",
    "look_left",
    "follow_the_dot",
    "pause",
}
"""Phrases of the card that is held before the patient, said at no step of their own."""


def test_no_phrase_is_left_unsaid() -> None:
    said = {step.say for step in SOURCE.steps if step.say}
    assert set(SOURCE.phrases["en"]) - said == ON_THE_CARD_ONLY


def test_four_languages_and_which_of_them_nobody_has_reviewed() -> None:
    assert set(SOURCE.phrases) == {"ar", "en", "es", "pl"}
    assert SOURCE.phrases_unreviewed == ["ar", "es", "pl"]
    assert SOURCE.phrase_fallbacks == dict.fromkeys(("ar", "es", "pl"), "en")


@pytest.mark.parametrize(
    ("language", "letters"), [("ar", "[\u0621-\u064a]"), ("es", "[¿ñáéíóú]"), ("pl", "[ąćęłńóśźż]")]
)
def test_a_language_is_written_in_its_own_letters(language: str, letters: str) -> None:
    """Not a copy of the English: no sentence is the same, and there are letters that English lacks."""
    said = SOURCE.phrases[language]
    assert set(said) <= set(SOURCE.phrases["en"])
    assert not [key for key, text in said.items() if text == SOURCE.phrases["en"][key]]
    assert len(re.findall(letters, " ".join(said.values()))) > 20
    if language == "ar":
        assert not [text for text in said.values() if re.search("[A-Za-z]", text)]


def test_every_step_says_where_it_comes_from() -> None:
    assert [step.id for step in SOURCE.steps if not step.source] == []


def test_every_frame_is_checked_off_by_a_step() -> None:
    assert {field.id for field in SOURCE.fields} == {name for step in SOURCE.steps for name in step.fields}


def test_a_face_has_its_step_whatever_its_flags() -> None:
    """Either it is measured, or the optic is brought in by eye: never both, never neither."""
    measured, by_eye = STEPS["face"].when, STEPS["face_by_eye"].when
    assert measured.without_flags == by_eye.flags
    assert {choice.id for choice in SOURCE.choices.unusual} >= set(by_eye.flags) - {"child"}


def test_the_one_optic_for_cross_sections_is_the_detailed_one() -> None:
    optics = {optic.id: optic for optic in SOURCE.optics}
    assert [name for name, optic in optics.items() if optic.cross_sections] == ["narrow"]
    close = SOURCE.thresholds.close_optic_mm
    assert [name for name, optic in optics.items() if optic.working_distance_mm <= close] == ["ultrawide"]


def test_the_emergency_page() -> None:
    page = SOURCE.emergency
    assert page.first == ["Draw back.", "Patient out of the rest.", "Lights on."]
    assert {contact.site for contact in page.contacts} == {"", *(site.id for site in SOURCE.sites)}
    # 555-0100 to 555-0199 is set aside for invented numbers in the North American plan
    assert all(re.fullmatch(r"555-01\d\d", contact.phone) for contact in page.contacts)


def test_three_sites_one_without_a_network() -> None:
    assert [site.has_network for site in SOURCE.sites].count(False) == 1
    assert len(SOURCE.sites) == 3


def test_it_says_that_it_is_invented_wherever_it_names_itself() -> None:
    assert SOURCE.demo
    assert "invented" in SOURCE.clinic
    assert all("invented" in site.name for site in SOURCE.sites)
    assert "invented" in SOURCE.cautions[0]
    assert "invented" in SOURCE.emergency.kit
    assert "Invented" in SOURCE.emergency.caution


def everything_said(source: Source) -> str:
    """All that a phone would show, without the sources."""
    steps = [msgspec.structs.replace(step, source="") for step in source.steps]
    shown = (steps, source.choices, source.phrases, source.emergency, source.fields, source.cautions)
    return msgspec.json.encode(shown).decode()


def test_no_dose_and_no_drug_but_the_two_dyes() -> None:
    """Doses and drugs are for licensed staff: the pack's words name none."""
    said = everything_said(SOURCE)
    assert re.findall(r"\b\d+(?:\.\d+)? ?(?:mg|ml|mL|µg|mcg|%)", said) == []
    drugs = "adrenaline|epinephrine|atropine|antihistamine|steroid|tropicamide|phenylephrine|saline|oxygen"
    assert re.findall(drugs, said, re.IGNORECASE) == []


LONGEST_SENTENCE_WORDS = 30


def sentences(step: Step) -> list[str]:
    said = SOURCE.phrases["en"].get(step.say, "")
    return [part for text in (step.text, step.why, said) for part in re.split(r"(?<=[.?!]) ", text) if part]


def test_sentences_are_short_and_closed() -> None:
    for step in SOURCE.steps:
        for sentence in sentences(step):
            assert len(sentence.split()) <= LONGEST_SENTENCE_WORDS, sentence
            assert sentence[-1] in ".?!", sentence


def test_where_the_demo_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An installed package holds it inside; a checkout beside the code; else both places are named."""
    package = tmp_path / "backend" / "chinrest"
    monkeypatch.setattr(demo, "PACKAGE", package)
    with pytest.raises(FileNotFoundError, match=r"chinrest/demo nor in .*fixtures/demo"):
        demo_folder()
    beside, inside = tmp_path / "fixtures" / "demo", package / "demo"
    (beside / "pack").mkdir(parents=True)
    assert demo_path() == beside / "pack"
    (inside / "pack").mkdir(parents=True)
    assert demo_path() == inside / "pack"


def test_staff_have_one_officer_one_lead_and_one_admin_who_sign_in() -> None:
    staff = tomllib.loads((demo_folder() / "staff.toml").read_text("utf-8"))["staff"]
    sites = {site.id for site in SOURCE.sites}
    assert len({person["id"] for person in staff}) == len(staff)
    signing_in = sorted(person["role"] for person in staff if "password" in person)
    assert signing_in == ["admin", "lead", "officer"]
    assert {person["site"] for person in staff if person["role"] == "photographer"} == sites
    # the desk that people first see shows the whole service
    assert not any("site" in person for person in staff if "password" in person)
