"""The phone's kernel against the reference: the real front-end sources, bundled and run by Node."""

import copy
import math
from typing import Any

import msgspec
import numpy as np
import pytest
from model_demo import FACES, LIMITS, OPTICS, request
from phone_kernel import ask_kernel

from chinrest.model.answer import fit_request, least_pose, pose_clearance, question_of
from chinrest.model.fit import FitRequest
from chinrest.model.optic import Optic
from chinrest.model.tables import pupil_table
from chinrest.model.vectors import fit_vectors, random_request

PATIENTS = 2000
SAME_POSE_MM = 0.05
DISCOMFORT_SHARE = 0.01
DISCOMFORT_FLOOR = 1e-4


def pack(vectors: bool = False) -> dict[str, Any]:
    """The parts of a compiled pack that the kernel reads."""
    return {
        "optics": OPTICS,
        "faces": FACES,
        "limits": LIMITS,
        "pupil": pupil_table(),
        "fit_vectors": fit_vectors(OPTICS, FACES, LIMITS) if vectors else [],
    }


def patients(optic: Optic) -> list[FitRequest]:
    """Random adults, eyes, necks and gazes; always the same."""
    rng = np.random.default_rng([len(optic.id), PATIENTS])
    return [random_request(optic.id, rng.random(9).tolist(), i) for i in range(PATIENTS)]


@pytest.mark.parametrize("optic", OPTICS, ids=lambda optic: optic.id)
def test_two_thousand_patients_agree(optic: Optic) -> None:
    asked = patients(optic)
    answers = [row["answer"] for row in ask_kernel(pack(), asked)["answers"]]
    infeasible = 0
    for question, answer in zip(asked, answers, strict=True):
        reference = question_of(question, optic, FACES, LIMITS)
        found = least_pose(reference, optic)
        assert answer["feasible"] == (found is not None), question
        if found is None:
            infeasible += 1
            continue
        yaw, pitch, distance = found
        assert answer["working_distance_mm"] == pytest.approx(distance, abs=1e-9), question
        here = msgspec.structs.replace(
            question, at_deg=(answer["yaw_deg"], answer["pitch_deg"]), at_distance_mm=distance
        )
        clearance = pose_clearance(here, OPTICS, FACES, LIMITS)
        assert answer["clearance_mm"] == pytest.approx(clearance, abs=SAME_POSE_MM), question
        assert clearance >= LIMITS.margin_mm, question
        least = discomfort(question, yaw, pitch)
        assert abs(answer["discomfort"] - least) <= DISCOMFORT_SHARE * least + DISCOMFORT_FLOOR, question
        assert answer["discomfort"] == pytest.approx(
            discomfort(question, answer["yaw_deg"], answer["pitch_deg"]), abs=1e-6
        )
    assert infeasible < PATIENTS, "some patient must fit, or nothing was compared"


def discomfort(question: FitRequest, yaw: float, pitch: float) -> float:
    """The weighted sum, worked out here from the limits alone."""
    h, v, y, p = (math.radians(a) for a in (*question.gaze_deg, yaw, pitch))
    cosine = math.sin(p) * math.sin(v) + math.cos(p) * math.cos(v) * math.cos(y - h)
    turn = math.degrees(math.acos(min(1.0, max(-1.0, cosine))))
    c = LIMITS.comfort
    return (
        c.yaw_weight * (yaw / c.yaw_deg) ** 2
        + c.pitch_weight * (pitch / c.pitch_deg) ** 2
        + c.eye_weight * (turn / c.eye_deg) ** 2
    )


def test_given_poses_agree_in_every_key() -> None:
    rng = np.random.default_rng(11)
    asked = []
    for i in range(300):
        optic = OPTICS[i % len(OPTICS)]
        at = (float(rng.uniform(-30, 30)), float(rng.uniform(-12, 12)))
        distance = float(optic.working_distance_mm + rng.uniform(-1, optic.tolerance_mm + 1))
        question = random_request(optic.id, rng.random(9).tolist(), i, at, distance)
        asked.append(
            msgspec.structs.replace(
                question,
                pupil_mm=float(rng.uniform(2, 8)),
                age_band=None if i % 5 == 0 else question.age_band,
            )
        )
    for question, row in zip(asked, ask_kernel(pack(), asked)["answers"], strict=True):
        reference = msgspec.to_builtins(fit_request(question, OPTICS, FACES, LIMITS))
        answer = row["answer"]
        # The phone holds no scatter: chance and words come from the pack's table there.
        assert (answer.pop("touch_chance"), answer.pop("words")) == (None, None)
        reference.pop("touch_chance"), reference.pop("words")
        ratio = answer.pop("pupil_ratio")
        # Looked up: the smaller of two neighbours one degree apart, so never more than the reference.
        assert reference["pupil_ratio"] - 0.02 <= ratio <= reference.pop("pupil_ratio") + 6e-5
        warnings = [w for w in answer.pop("warnings") if w["code"] != "pupil_narrow"]
        assert warnings == [w for w in reference.pop("warnings") if w["code"] != "pupil_narrow"]
        assert_close(answer, reference, "answer")


def assert_close(got: Any, wanted: Any, where: str) -> None:
    """Equal, numbers to one part in a million."""
    if isinstance(wanted, dict):
        assert set(got) == set(wanted), where
        for key, value in wanted.items():
            assert_close(got[key], value, f"{where}.{key}")
    elif isinstance(wanted, (list, tuple)):
        assert len(got) == len(wanted), where
        for i, value in enumerate(wanted):
            assert_close(got[i], value, f"{where}[{i}]")
    elif isinstance(wanted, float):
        assert got == pytest.approx(wanted, rel=1e-6, abs=1e-6), where
    else:
        assert got == wanted, where


def test_kernel_says_why_in_the_references_words() -> None:
    asked = [
        request("ultrawide", neck="fixed"),
        request("ultrawide", neck="fixed", gaze_deg=(40.0, 0.0)),
        request("wide", age_band="child"),
        request("wide", unusual_face=True),
        request("wide", fellow_eye_sees=False),
        request("ultrawide", exophthalmometry=8.0),
    ]
    for question, row in zip(asked, ask_kernel(pack(), asked)["answers"], strict=True):
        reference = msgspec.to_builtins(fit_request(question, OPTICS, FACES, LIMITS))
        for key in ("feasible", "reason", "other_optics", "outside_light_refused", "working_distance_mm"):
            assert row["answer"][key] == reference[key], key


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"pd_mm": 30.0}, "pd_mm"),
        ({"exophthalmometry": 40.0}, "exophthalmometry"),
        ({"gaze_deg": (80.0, 0.0)}, "gaze_deg"),
        ({"target_cm": 2.0}, "target_cm"),
    ],
)
def test_kernel_refuses_what_the_reference_refuses(given: dict[str, Any], field: str) -> None:
    error = ask_kernel(pack(), [request("wide", **given)])["answers"][0]["error"]
    assert error["field"] == field
    assert "outside" in error["why"]


def test_kernel_proves_a_sound_pack() -> None:
    assert ask_kernel(pack(vectors=True), [], vectors=True)["faults"] == []


@pytest.mark.parametrize(
    ("key", "change", "words"),
    [
        ("clearance_mm", 0.2, "the gap (mm)"),
        ("yaw_deg", 3.0, "the gap (mm)"),
        ("discomfort", 0.3, "the discomfort"),
        ("working_distance_mm", 0.5, "the distance (mm)"),
        ("field_deg", 0.5, "the field (deg)"),
    ],
)
def test_kernel_refuses_one_wrong_vector_in_words(key: str, change: float, words: str) -> None:
    spoilt = copy.deepcopy(msgspec.to_builtins(pack(vectors=True)))
    wrong = next(v for v in spoilt["fit_vectors"] if v["feasible"] and v["request"]["optic"] == "ultrawide")
    wrong[key] += change
    faults = ask_kernel(spoilt, [], vectors=True)["faults"]
    assert faults
    number = spoilt["fit_vectors"].index(wrong) + 1
    assert all(fault.startswith(f"head position, check {number}: ") for fault in faults)
    assert any(words in fault for fault in faults)


def test_kernel_refuses_a_pack_without_vectors() -> None:
    assert ask_kernel(pack(), [], vectors=True)["faults"] == [
        "the pack carries no check vectors for the head position"
    ]
