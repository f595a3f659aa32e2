"""The model's figures against published tables; each table names its source in fixtures/reference."""

import math

import numpy as np
import pytest
from model_demo import FACES, LIMITS, OPTICS, request
from published_values import published
from scipy.stats import truncnorm

from chinrest.model.eye import Eye, entrance_pupil_mm, pupil_ratio
from chinrest.model.optic import field_at_distance_deg
from chinrest.model.shape import FaceShape, shifts_of
from chinrest.model.tables import pupil_table

EYE, FACE, GAZE = published("eye"), published("face"), published("gaze")


@pytest.mark.parametrize(
    ("phi", "ratio"), list(zip(EYE["pupil_ratio"]["phi_deg"], EYE["pupil_ratio"]["ratio"], strict=True))
)
def test_pupil_ratio_matches_the_published_formula(phi: float, ratio: float) -> None:
    """Nasal gaze H puts the optic at visual-field angle -H."""
    assert pupil_ratio(-phi) == pytest.approx(ratio, abs=6e-5)


def test_pupil_looks_widest_from_the_temporal_field() -> None:
    """The published peak lies 1 to 9 deg into the temporal field: gaze 1 to 9 deg nasal."""
    peak = max(np.arange(-30.0, 30.0, 0.1), key=pupil_ratio)
    assert -EYE["pupil_ratio"]["peak_to_deg"] <= peak <= -EYE["pupil_ratio"]["peak_from_deg"]


def test_pupil_table_never_says_more_than_the_formula_allows() -> None:
    table = pupil_table()
    for i, h in enumerate(np.arange(-60.0, 60.0, 0.25)):
        at = (h - table.from_deg) / table.step_deg
        low, high = table.ratios[math.floor(at)], table.ratios[math.ceil(at)]
        assert min(low, high) <= pupil_ratio(float(h)) + 6e-5, i


def test_entrance_pupil_depth_follows_from_the_published_eye() -> None:
    """Paraxial image of the stop through two corneal surfaces, worked out here from the prescription."""
    eye = EYE["wide_angle_eye"]
    # From the stop outward: n'/l' = n/l + (n' - n)/R at each surface, light going to the left.
    inner = eye["index_aqueous"] / eye["anterior_chamber_mm"]
    inner += (eye["index_cornea"] - eye["index_aqueous"]) / eye["cornea_back_radius_mm"]
    behind_back = eye["index_cornea"] / inner
    outer = eye["index_cornea"] / (behind_back + eye["cornea_thickness_mm"])
    outer += (1.0 - eye["index_cornea"]) / eye["cornea_front_radius_mm"]
    assert 1.0 / outer == pytest.approx(EYE["entrance_pupil"]["depth_mm"], abs=2e-3)
    assert Eye().pupil_depth_mm == pytest.approx(EYE["entrance_pupil"]["depth_mm"], abs=1e-3)
    assert Eye().pupil_depth_mm == pytest.approx(EYE["entrance_pupil"]["le_grand_mm"], abs=5e-3)


def test_rotation_centres_are_the_published_ones() -> None:
    centres, eye = EYE["rotation_centres"], LIMITS.eye
    assert eye.horizontal_centre_depth_mm == centres["horizontal_behind_cornea_mm"]
    assert eye.horizontal_centre_nasal_mm == centres["horizontal_nasal_mm"]
    assert eye.vertical_centre_depth_mm == centres["vertical_behind_cornea_mm"]
    assert eye.vertical_centre_up_mm == centres["vertical_up_mm"]


def test_pupil_shifts_with_gaze_as_published() -> None:
    """The table counts no sideways offset of the centres: turns to both sides are averaged here."""
    shift, eye = EYE["pupil_shift_30_deg"], Eye()
    sideways = (entrance_pupil_mm(eye, 30.0, 0.0)[0] - entrance_pupil_mm(eye, -30.0, 0.0)[0]) / 2.0
    upward = (entrance_pupil_mm(eye, 0.0, 30.0)[1] - entrance_pupil_mm(eye, 0.0, -30.0)[1]) / 2.0
    assert sideways == pytest.approx(shift["horizontal_mm"], abs=0.05)
    assert upward == pytest.approx(shift["vertical_mm"], abs=0.05)


def test_field_and_distance_follow_first_principles() -> None:
    table, example = published("working_distance")["ratio"], published("working_distance")["example"]
    for optic in OPTICS:
        for field, ratio in zip(table["field_deg"], table["r_over_w"], strict=True):
            if field <= optic.field_deg:
                distance = optic.clear_radius_mm / ratio - 3.04
                assert field_at_distance_deg(optic, distance, 3.04) == pytest.approx(field, abs=0.02)
    for field, radius in zip(example["field_deg"], example["radius_mm"], strict=True):
        assert 2.0 * math.degrees(math.atan(radius / example["from_pupil_mm"])) == pytest.approx(
            field, abs=0.4
        )


def test_backing_off_never_gains_field() -> None:
    for optic in OPTICS:
        fields = [field_at_distance_deg(optic, optic.working_distance_mm + d, 3.04) for d in (-5, 0, 1, 2, 3)]
        assert fields == sorted(fields, reverse=True)
        assert max(fields) <= optic.field_deg


def test_nominal_face_is_the_published_men_solid() -> None:
    """Ours pools men and women: each landmark lies within half of their difference of the men's."""
    solid = FACE["men_solid"]
    shape = FaceShape(FACES, FACES.nominal)
    shifts = np.array([solid["pd_mm"] - FACES.pd_reference_mm, 0.0, 0.0, 0.0])
    points = dict(zip(shape.landmarks, shape.landmarks_mm(shifts), strict=True))
    for name in ("nasal_root", "glabella", "tip", "nasal_flank", "lower_orbital_rim"):
        from_pupil = points[name] + np.array([0.0, 0.0, 3.04])
        assert from_pupil == pytest.approx(np.array(solid[name]), abs=1.75), name
    assert points["lateral_orbital_rim"][0] == pytest.approx(solid["lateral_orbital_rim_x"], abs=0.1)
    bone = np.array(solid["upper_bony_rim"])
    assert points["brow"][1] == pytest.approx(bone[1], abs=3.0)
    # Brow tissue over the bone: 5 to 9 mm (from memory, forensic depth tables).
    assert 5.0 <= points["brow"][2] + 3.04 - bone[2] <= 9.0


def test_two_faces_stand_for_the_two_published_anchors() -> None:
    mid = FACE["mid_line"]
    for face, letter in ((FACES.nominal, "c"), (FACES.forward, "a")):
        for landmark, name in (("nasal_root", "sellion"), ("glabella", "glabella"), ("tip", "tip")):
            men, women = mid[f"{letter}_{name}"]
            assert face.landmarks[landmark].mean_mm[2] == pytest.approx((men + women) / 2.0, abs=0.06)
    for name, at in (("nasal_root", "sellion"), ("glabella", "glabella"), ("tip", "tip")):
        nominal = FACES.nominal.landmarks[name].mean_mm[2]
        assert nominal >= np.mean(mid[f"b_{at}"]), "the careful one of the two that agree"


def test_differences_between_landmarks_are_the_surveys() -> None:
    men, women = FACE["head_board"]["men"], FACE["head_board"]["women"]
    marks = FACES.nominal.landmarks
    brow_up = (men["ectoorbitale"][1] - men["glabella"][1], women["ectoorbitale"][1] - women["glabella"][1])
    assert marks["glabella"].mean_mm[1] == pytest.approx(np.mean(brow_up), abs=0.05)
    assert marks["tip"].mean_mm[1] == pytest.approx(men["ectoorbitale"][1] - men["pronasale"][1], abs=0.05)
    assert marks["nasal_flank"].mean_mm[2] - marks["nasal_root"].mean_mm[2] == pytest.approx(
        men["alare"][0] - men["sellion"][0], abs=0.05
    )
    assert marks["glabella"].mean_mm[2] - marks["lateral_brow"].mean_mm[2] == pytest.approx(
        men["glabella"][0] - men["zygofrontale"][0], abs=0.1
    )
    lower = (men["infraorbitale"][0] - men["sellion"][0], women["infraorbitale"][0] - women["sellion"][0])
    assert marks["lower_orbital_rim"].mean_mm[2] - marks["nasal_root"].mean_mm[2] == pytest.approx(
        np.mean(lower), abs=0.05
    )


def test_outer_rim_stands_at_minus_the_exophthalmometry() -> None:
    for depth in (9.0, 16.0, 22.5):
        shifts = np.array(shifts_of(FACES, request(exophthalmometry=depth).measures)[:4])
        for face in (FACES.nominal, FACES.forward):
            shape = FaceShape(FACES, face)
            points = dict(zip(shape.landmarks, shape.landmarks_mm(shifts), strict=True))
            assert points["lateral_orbital_rim"][2] == pytest.approx(-depth)


def test_eye_depth_classes_follow_from_the_published_spread() -> None:
    """Cut at one SD; each class stands for the mean and SD of its part of a normal distribution (SciPy)."""
    table, depth = FACE["exophthalmometry"], FACES.eye_depth
    sd = math.hypot(table["within_group_sd"], float(np.std(table["means"])))
    assert depth.reference_mm == pytest.approx(np.mean(table["means"]), abs=0.1)
    assert depth.deep_set_below_mm == pytest.approx(depth.reference_mm - sd, abs=0.05)
    assert depth.prominent_above_mm == pytest.approx(depth.reference_mm + sd, abs=0.05)
    for name, low, high in (("deep-set", -np.inf, -1.0), ("average", -1.0, 1.0), ("prominent", 1.0, np.inf)):
        part = truncnorm(low, high, loc=depth.reference_mm, scale=sd)
        assert depth.classes[name].value_mm == pytest.approx(part.mean(), abs=0.06)
        assert depth.classes[name].spread_mm == pytest.approx(part.std(), abs=0.06)


def test_limits_stay_inside_what_people_can_do() -> None:
    turn, can, design = LIMITS.eye_turn, GAZE["eye_movement_range"], GAZE["design_range"]
    assert turn.warn_deg == design["preferred_side"]
    assert turn.stop_side_deg == design["side"] < min(can["side_in"]["mean"], can["side_out"]["mean"])
    assert turn.stop_down_deg == design["down"] < can["down"]["mean"]
    ups = list(turn.stop_up_deg.values())
    assert ups == sorted(ups, reverse=True), "upward gaze is shorter with age"
    assert max(ups) < can["up"]["mean"]
    assert turn.stop_up_deg["60-79"] <= design["up"]
    assert LIMITS.necks["free"].yaw_deg < GAZE["head_turn_both_sides"]["total"] / 2.0
    assert FACES.pd_range.low == FACE["interpupillary"]["low"]
    assert FACES.pd_range.high == FACE["interpupillary"]["high"]
