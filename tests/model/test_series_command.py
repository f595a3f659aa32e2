"""`chinrest series` as a person and a machine run it."""

import json
from typing import Any

import pytest
from click.testing import CliRunner, Result

from chinrest.cli import main


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["series", *arguments])


def asked(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def test_both_eyes_begin_with_the_study_eyes_burst() -> None:
    answer = asked("--protocol", "fluorescein", "--optic", "wide", "--eye", "both", "--study-eye", "left")
    start_s, end_s, eye, h, v, window = answer["frames"][0]
    assert (start_s, end_s, eye, h, v, window) == (7.0, 45.0, "left", 0.0, 0.0, "transit")
    assert answer["frames"][1][2] == "right"
    assert answer["frames"][1][5] == "fellow_early"
    assert answer["proved"] is True
    assert answer["slack_s"] > 0
    for before, after in zip(answer["frames"], answer["frames"][1:], strict=False):
        assert before[1] <= after[0]


def test_one_eye_is_the_study_eye() -> None:
    answer = asked("--protocol", "indocyanine_green", "--optic", "narrow", "--eye", "left")
    assert answer["study_eye"] == "left"
    assert {frame[2] for frame in answer["frames"]} == {"left"}
    assert {frame[5] for frame in answer["frames"]} == {"early", "middle", "late"}


def test_eyes_mirror_each_other() -> None:
    """Gaze is nasal positive, so that the two eyes have the same layout but for their names."""
    right, left = (
        asked("--protocol", "both", "--optic", "wide", "--eye", "both", "--study-eye", eye)
        for eye in ("right", "left")
    )
    other = {"right": "left", "left": "right"}
    assert [[*f[:2], other[f[2]], *f[3:]] for f in left["frames"]] == right["frames"]


def test_every_needed_window_is_kept_or_named() -> None:
    """The demo's own needed windows, counted from its source, are all there."""
    for optic in ("narrow", "wide", "ultrawide"):
        answer = asked("--protocol", "both", "--optic", optic, "--eye", "both")
        named = [f[5] for f in answer["frames"]] + [m["window"] for m in answer["missed"]]
        for window, eyes in (
            ("icg_early", 1),
            ("transit", 1),
            ("fellow_early", 1),
            ("mid", 2),
            ("icg_middle", 2),
            ("late", 2),
            ("icg_late", 2),
        ):
            assert named.count(window) == eyes, (optic, window)
        assert not any(m["needed"] for m in answer["missed"])


def test_words_say_clock_eye_window_proof_and_caution() -> None:
    lines = run("--protocol", "fluorescein", "--optic", "ultrawide", "--eye", "right").output.splitlines()
    assert lines[0] == "Fluorescein, optic ultrawide, study eye right"
    assert lines[1] == "  0:00  inject fluorescein"
    assert lines[2].startswith("  0:07  right  Transit, burst of 39 to 0:45")
    assert "No order keeps more frames: proved." in lines
    assert lines[-1].startswith("Planned seconds, not orders")


@pytest.mark.parametrize(
    ("arguments", "where", "why"),
    [
        (("--protocol", "none", "--optic", "wide", "--eye", "right"), "--protocol", "none of fluorescein"),
        (("--protocol", "both", "--optic", "none", "--eye", "right"), "--optic", "is none of narrow"),
        (
            ("--protocol", "both", "--optic", "wide", "--eye", "left", "--study-eye", "right"),
            "--study-eye",
            "only the left is imaged",
        ),
    ],
)
def test_what_the_pack_does_not_know_is_refused(arguments: tuple[str, ...], where: str, why: str) -> None:
    result = run(*arguments, "--json")
    assert result.exit_code == 1
    fault = json.loads(result.output)
    fault = fault.get("fault", fault)
    assert fault["where"] == where
    assert why in fault["why"]
