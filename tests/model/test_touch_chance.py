"""The chance of touching, against the normal distribution (SciPy) and against plain random sampling."""

import msgspec
import numpy as np
import pytest
from model_demo import FACES, LIMITS, OPTICS, request
from scipy.stats import norm

from chinrest.model.answer import fit_request
from chinrest.model.clearance import body_of, clearances_at
from chinrest.model.face import Capsule, CapsuleEnd, Face, FaceTables, Placement
from chinrest.model.pose import head_to_instrument
from chinrest.model.shape import FaceShape, shifts_of
from chinrest.model.tables import touch_table
from chinrest.model.touch import touch_chance, word_of


def one_ball(z_mm: float, sd_mm: float) -> FaceTables:
    """A 'face' of one ball beside the eye, its front at z: before a flat disc its clearance is normal."""
    end = CapsuleEnd(landmark="tip", radius_mm=4.0, inset_mm=(0.0, 0.0, -4.0))
    place = Placement(
        mean_mm=(12.0, 0.0, z_mm),
        sd_mm=(0.0, 0.0, sd_mm),
        per_exophthalmometry=(0.0, 0.0, -1.0),
        source="test",
    )
    face = Face(summary="one ball", landmarks={"tip": place})
    return msgspec.structs.replace(FACES, nominal=face, forward=face, capsules=[Capsule(start=end, end=end)])


@pytest.mark.parametrize(("z_mm", "sd_mm"), [(12.0, 2.0), (16.0, 3.0), (18.5, 2.0), (21.0, 2.5)])
def test_one_ball_before_a_disc_touches_as_a_normal_variable(z_mm: float, sd_mm: float) -> None:
    """Clearance = distance - z; its SD joins the landmark's own and that of the measured eye depth."""
    tables, distance = one_ball(z_mm, sd_mm), 20.0
    shifts = shifts_of(tables, request(exophthalmometry=16.0).measures)
    rotation, shift = head_to_instrument(LIMITS.eye, np.zeros(1), np.zeros(1), distance, (0.0, 0.0))
    body = body_of([(0.0, 100.0), (50.0, 100.0)])
    chance = touch_chance(body, FaceShape(tables, tables.nominal), shifts, rotation[0], shift[0], 512)
    spread = np.hypot(sd_mm, tables.eye_depth.measured_spread_mm)
    assert chance == pytest.approx(norm.cdf(-(distance - z_mm) / spread), abs=0.012)


@pytest.mark.parametrize("face", ["nominal", "forward"])
@pytest.mark.parametrize("pose", [(8.0, 0.0, 10.0), (16.0, -3.0, 10.0), (22.0, 2.0, 13.0)])
def test_fixed_sample_agrees_with_plain_random_sampling(face: str, pose: tuple[float, float, float]) -> None:
    """20,000 random faces, every capsule worked out for each: within two points in a hundred."""
    optic = next(o for o in OPTICS if o.id == "ultrawide")
    asked = request("ultrawide", at_deg=pose[:2], at_distance_mm=pose[2])
    answer = fit_request(asked, OPTICS, FACES, LIMITS)
    rng = np.random.default_rng(5)
    shape = FaceShape(FACES, getattr(FACES, face))
    shifts = shifts_of(FACES, asked.measures)
    count = 20_000
    moved = np.array(shifts[:4]) + rng.normal(size=(count, 4)) * np.array(shifts.spread_mm)
    capsules = shape.capsules_mm(moved, rng.normal(size=(count, *shape.mean.shape)))
    rotation, shift = head_to_instrument(
        LIMITS.eye, np.full(count, pose[0]), np.full(count, pose[1]), pose[2], (0.0, 0.0)
    )
    touched = clearances_at(body_of(optic.profile), capsules, rotation, shift)[0].min(axis=1) < 0.0
    assert answer.touch_chance is not None
    assert answer.touch_chance[face] == pytest.approx(touched.mean(), abs=0.02)


def test_a_judged_depth_scatters_more_than_a_measured_one() -> None:
    measured = shifts_of(FACES, request(exophthalmometry=16.0).measures)
    judged = shifts_of(FACES, request(exophthalmometry="average").measures)
    assert judged.spread_mm[1] > measured.spread_mm[1]
    assert judged.judged_depth
    assert not measured.judged_depth


def test_two_faces_are_reported_apart_and_the_worse_one_speaks() -> None:
    answer = fit_request(request("ultrawide"), OPTICS, FACES, LIMITS)
    assert answer.touch_chance is not None
    assert answer.touch_chance["forward"] > answer.touch_chance["nominal"]
    assert answer.words == word_of(LIMITS.touch_words, answer.touch_chance["forward"])
    assert "forward_face_touches" in [warning.code for warning in answer.warnings]


def test_phone_words_are_hardly_ever_bolder_than_the_reference() -> None:
    """Random adults and poses with every optic: at most one in fifty is called safer than it is."""
    table = {(row.optic, row.landmark): row for row in touch_table(OPTICS, FACES, LIMITS).rows}
    order = ["likely_clear", "close", "expect_to_adjust"]
    rng, bolder, count = np.random.default_rng(3), 0, 240
    for i in range(count):
        optic = OPTICS[i % len(OPTICS)]
        asked = request(
            optic.id,
            exophthalmometry=["deep-set", "average", "prominent"][rng.integers(3)],
            nose=["low", "medium", "high"][rng.integers(3)],
            brow=["flat", "medium", "heavy"][rng.integers(3)],
            pd_mm=float(rng.uniform(56, 70)),
            at_deg=(float(rng.uniform(-5, 28)), float(rng.uniform(-8, 8))),
            at_distance_mm=float(optic.working_distance_mm + rng.uniform(-2, optic.tolerance_mm)),
        )
        answer = fit_request(asked, OPTICS, FACES, LIMITS)
        assert answer.nearest is not None
        assert answer.clearance_mm is not None
        assert answer.words is not None
        row = table.get((optic.id, answer.nearest))
        word = "expect_to_adjust"
        if row and row.close_mm is not None and answer.clearance_mm >= row.close_mm:
            word = "close"
        if row and row.likely_clear_mm is not None and answer.clearance_mm >= row.likely_clear_mm:
            word = "likely_clear"
        bolder += order.index(word) < order.index(answer.words)
    assert bolder <= count // 50
