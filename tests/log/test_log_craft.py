"""What a case adds to what is known of the craft: each rule of counting, by a case that shows it."""

from typing import Any

from invented import Phone, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.tallies import fold_tallies

MINUTE_MS = 60_000
ADVICE: dict[str, Any] = {
    "eye": "right",
    "optic": "ultra",
    "gaze_deg": [0.0, 0.0],
    "reason": None,
    "yaw_deg": 12.0,
    "pitch_deg": 0.0,
    "working_distance_mm": 10.0,
    "clearance_mm": 3.0,
    "nearest": "bridge",
    "field_deg": 100.0,
    "words": "close",
}
FOUND: dict[str, Any] = {"eye": "right", "optic": "ultra", "gaze_deg": [0.0, 0.0], "outcome": "as_advised"}


def counted(*phones: Phone) -> dict[tuple[str, str, str], int]:
    standing = stand(kept(line) for phone in phones for line in phone.lines)
    found = fold_tallies(fold_case("c1", standing), standing, [])
    assert found is not None
    of_craft = ("comfort", "found", "adjusted", "stage", "pose_cell")
    return {(t.kind, t.key, t.sub): t.n for t in found.tallies if t.kind.startswith(of_craft)}


def of_kind(kind: str, *phones: Phone) -> dict[tuple[str, str], int]:
    return {(key, sub): n for (k, key, sub), n in counted(*phones).items() if k == kind}


def opened() -> Phone:
    phone = Phone()
    phone.write("case.opened", "c1")
    return phone


def comfort(phone: Phone, score: int) -> Any:
    return phone.write("comfort.noted", "c1", score=score, bothers=[])


def test_comfort_counts_for_the_optic_that_is_on() -> None:
    phone = opened()
    comfort(phone, 1)
    phone.write("optic.chosen", "c1", optic="wide")
    comfort(phone, 2)
    phone.write("optic.chosen", "c1", optic="ultra")
    comfort(phone, 5)
    comfort(phone, 5)
    assert of_kind("comfort", phone) == {("", "1"): 1, ("wide", "2"): 1, ("ultra", "5"): 2}


def test_comfort_by_turn_only_where_the_turn_is_known() -> None:
    phone = opened()
    phone.write("pose.advised", "c1", **ADVICE)
    comfort(phone, 1)  # advised is not yet done
    phone.write("pose.found", "c1", **FOUND)
    comfort(phone, 3)
    phone.write("pose.found", "c1", **{**FOUND, "outcome": "more"})
    comfort(phone, 4)  # how much is not said
    phone.write("pose.found", "c1", **{**FOUND, "outcome": "more", "yaw_deg": -21.0})
    comfort(phone, 6)
    assert of_kind("comfort_turn", phone) == {("10_15", "3"): 1, ("20", "6"): 1}


def test_comfort_by_depth_and_by_minutes() -> None:
    phone = opened()
    face = {"pd_mm": 62.0, "nose": "high", "brow": "flat", "neck": "free", "age_band": "40-59"}
    phone.write("face.measured", "c1", eye="right", exophthalmometry="deep-set", **face)
    comfort(phone, 2)
    phone.at += 40 * MINUTE_MS
    phone.write("face.measured", "c1", eye="right", exophthalmometry=15.5, **face)
    comfort(phone, 3)
    assert of_kind("comfort_depth", phone) == {("deep-set", "2"): 1, ("measured", "3"): 1}
    assert of_kind("comfort_minutes", phone) == {("0_15", "2"): 1, ("30_60", "3"): 1}


def test_a_found_pose_stands_beside_the_words_that_were_shown_for_its_eye_and_optic() -> None:
    phone = opened()
    phone.write("pose.advised", "c1", **ADVICE)
    phone.write("pose.found", "c1", **{**FOUND, "outcome": "more", "by_deg": 4.4})
    phone.write("pose.found", "c1", **{**FOUND, "outcome": "less", "by_deg": 2.0, "touched": True})
    phone.write("pose.found", "c1", **{**FOUND, "eye": "left"})  # no advice for this eye
    assert of_kind("found", phone) == {
        ("ultra", "close/more/clear"): 1,
        ("ultra", "close/less/touched"): 1,
        ("ultra", "unsaid/as_advised/clear"): 1,
    }
    assert of_kind("adjusted", phone) == {("ultra", "4"): 1, ("ultra", "-2"): 1}


def test_a_pose_taken_back_tells_nothing() -> None:
    phone = opened()
    phone.write("pose.advised", "c1", **ADVICE)
    found = phone.write("pose.found", "c1", **{**FOUND, "outcome": "more", "by_deg": 4.0})
    phone.write("line.amended", "c1", line=found.envelope.id, body=None, why="wrong case")
    assert of_kind("found", phone) == {}
    assert of_kind("adjusted", phone) == {}


def test_each_stage_by_its_two_ends() -> None:
    phone = opened()
    phone.at += 12 * MINUTE_MS
    phone.write("optic.chosen", "c1", optic="wide")
    phone.at += 5 * MINUTE_MS
    phone.write(
        "dye.injected", "c1", dye="fluorescein", arm="left", route="intravenous", pressed_at=1, pressed_mono=1
    )
    phone.at += 500 * MINUTE_MS
    phone.write("case.closed", "c1", outcome="completed")  # no frame was taken
    assert of_kind("stage", phone) == {("prepare", "12"): 1, ("position", "5"): 1}


def test_two_devices_clocks_make_no_duration() -> None:
    one, other = opened(), Phone("other")
    other.at = one.at + 20 * MINUTE_MS
    other.write("optic.chosen", "c1", optic="wide")
    comfort(other, 4)
    assert of_kind("stage", one, other) == {}
    assert of_kind("comfort_minutes", one, other) == {}
    assert of_kind("comfort", one, other) == {("wide", "4"): 1}


FACE: dict[str, Any] = {
    "eye": "right",
    "pd_mm": 63.0,
    "exophthalmometry": "average",
    "nose": "medium",
    "brow": "medium",
    "neck": "free",
    "age_band": "40-59",
}


def posed(
    found: dict[str, Any], advice: dict[str, Any] | None = None, pack: str | None = "a" * 64, **face: Any
) -> dict[tuple[str, str], int]:
    phone = opened()
    phone.write("face.measured", "c1", **{**FACE, **face})
    phone.pack = pack
    phone.write("pose.advised", "c1", **{**ADVICE, **(advice or {})})
    phone.write("pose.found", "c1", **{**FOUND, **found})
    return of_kind("pose_cell", phone)


def test_a_pose_is_held_against_the_model_by_pack_optic_and_class_of_face() -> None:
    key = "a" * 16 + "/ultra"
    assert posed({}) == {(key, "average/medium/as_advised/0/clear"): 1}
    assert posed({"outcome": "less", "by_deg": 4.4}) == {(key, "average/medium/less/4/clear"): 1}
    assert posed({"outcome": "more", "by_deg": 200.0, "touched": True}, exophthalmometry=16.4) == {
        (key, "16/medium/more/90/touched"): 1
    }
    # what "as advised" was off by is no correction
    assert posed({"by_deg": 4.0}) == {(key, "average/medium/as_advised/0/clear"): 1}


def test_only_what_the_model_answers_for_is_held_against_it() -> None:
    assert posed({}, {"gaze_deg": [0.0, 20.0]}) == {}
    assert posed({"gaze_deg": [-20.0, 0.0]}) == {}
    assert posed({"gaze_deg": [3.0, -3.0]}) != {}
    assert posed({}, {"yaw_deg": None}) == {}
    assert posed({}, pack=None) == {}
    assert posed({}, unusual="swelling") == {}
    assert posed({}, eye="left") == {}  # the other eye's face was measured
    assert posed({"optic": "wide"}) == {}  # another optic than was advised for
