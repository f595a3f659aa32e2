"""External angle to arc and to central angle, against published figures and another ray tracer."""

import numpy as np
import pytest
from other_tracer import central_deg as traced_elsewhere
from published_values import published

from chinrest.model.retina.angles import (
    MODEL,
    RADIUS_MM,
    TABLE_ERROR_MM,
    arc_mm,
    cap_area_mm2,
    central_deg,
    external_deg,
    table,
    widest_central_deg,
    widest_external_deg,
)
from chinrest.model.retina.trace import WIDE_ANGLE, SchematicEye, Surface, chief_rays

RETINA = published("retina")
POLYNOMIAL, TRACED = RETINA["arc_polynomial"], RETINA["wide_angle_traced"]


def drasdo_fowler() -> SchematicEye:
    """The eye to which the published polynomial was fitted."""
    eye = RETINA["drasdo_fowler"]
    media, lens = eye["index_media"], eye["index_lens"]
    return SchematicEye(
        name="Drasdo & Fowler 1974",
        source=eye["source"],
        stop_mm=eye["lens_front_mm"],
        index_at_stop=media,
        outward=((Surface(eye["cornea_radius_mm"], eye["cornea_conic"], 0.0), 1.0),),
        inward=(
            (Surface(eye["lens_front_radius_mm"], 0.0, eye["lens_front_mm"]), lens),
            (Surface(eye["lens_back_radius_mm"], 0.0, eye["lens_back_mm"]), media),
        ),
        retina_radius_mm=eye["retina_radius_mm"],
        retina_centre_mm=eye["retina_pole_mm"] - eye["retina_radius_mm"],
    )


def polynomial_mm(external: float) -> float:
    a, b, c = POLYNOMIAL["coefficients"]
    return float(a * external + b * external**2 + c * external**3)


@pytest.mark.parametrize(
    ("external", "arc"), list(zip(POLYNOMIAL["external_deg"], POLYNOMIAL["arc_mm"], strict=True))
)
def test_our_tracer_gives_the_published_polynomial_of_its_own_eye(external: float, arc: float) -> None:
    """The polynomial is a fit: it stays within 0.10 mm of the traced eye from 5 to 100 degrees."""
    assert polynomial_mm(external) == pytest.approx(arc, abs=6e-5)
    eye = drasdo_fowler()
    traced = chief_rays(eye, np.linspace(0.0, 89.9, 4000))
    central = float(np.interp(external, *traced))
    assert np.radians(central) * eye.retina_radius_mm == pytest.approx(arc, abs=0.105)


@pytest.mark.parametrize("external", [1.0, 5.0, 10.0, 15.0, 22.5, 30.0, 37.5, 45.0, 52.5, 60.0, 65.0])
def test_another_ray_tracer_gives_the_same_central_angle(external: float) -> None:
    """tracepy, a sequential ray tracer for optical design, on the same published prescription."""
    assert float(central_deg(external)) == pytest.approx(traced_elsewhere(external), abs=1e-4)


@pytest.mark.parametrize(
    ("external", "central", "cap"),
    list(zip(TRACED["external_deg"], TRACED["central_deg"], TRACED["cap_mm2"], strict=True)),
)
def test_the_table_is_the_traced_eye(external: float, central: float, cap: float) -> None:
    assert float(central_deg(external)) == pytest.approx(central, abs=1e-3)
    assert float(cap_area_mm2(central_deg(external))) == pytest.approx(cap, abs=0.06)


def test_near_the_axis_the_scale_is_the_focal_length() -> None:
    """On the paraxial focus an image is the object focal length long for each radian."""
    focal = RETINA["cardinal_points"]["object_focal_length_mm"]
    external, central = chief_rays(WIDE_ANGLE, np.array([0.01]))
    assert float(central[0] / external[0]) * RADIUS_MM == pytest.approx(focal, abs=2e-4)
    assert float(arc_mm(0.25)) / np.radians(0.25) == pytest.approx(focal, abs=1e-3)


def test_the_prescription_is_the_published_one() -> None:
    eye = RETINA["wide_angle"]
    (back, cornea), (front, _) = WIDE_ANGLE.outward
    (lens_front, lens), (lens_back, vitreous) = WIDE_ANGLE.inward
    ours = [
        [front.radius_mm, front.conic, front.vertex_mm, cornea],
        [back.radius_mm, back.conic, back.vertex_mm, WIDE_ANGLE.index_at_stop],
        [lens_front.radius_mm, lens_front.conic, lens_front.vertex_mm, lens],
        [lens_back.radius_mm, lens_back.conic, lens_back.vertex_mm, vitreous],
    ]
    assert ours == eye["surfaces"]
    assert WIDE_ANGLE.stop_mm == eye["stop_mm"]
    assert WIDE_ANGLE.retina_centre_mm + RADIUS_MM == pytest.approx(eye["retina_pole_mm"], abs=1e-9)


def test_the_last_ray_enters_where_it_is_published_to() -> None:
    assert RETINA["last_ray"]["from_deg"] <= widest_external_deg() <= RETINA["last_ray"]["to_deg"]
    assert np.isnan(central_deg(widest_external_deg() + 0.01))
    assert np.isnan(external_deg(widest_central_deg() + 0.01))


def test_the_retina_out_to_a_hundred_degrees_is_as_large_as_published() -> None:
    published_area = RETINA["area_to_100_deg"]
    area = float(cap_area_mm2(central_deg(100.0)))
    assert published_area["from_mm2"] <= area <= published_area["to_mm2"]


def test_area_by_degrees_follows_the_published_density_but_for_the_size_of_the_eye() -> None:
    """Watson's mm^2 per square degree, summed over a cone, times the square of the ratio of the radii."""
    a, b, c, d = POLYNOMIAL["area_coefficients"]
    r = np.linspace(0.0, 100.0, 20001)
    density = (a + b * r + c * r**2 + d * r**3) * 2.0 * np.pi * np.degrees(np.sin(np.radians(r)))
    summed = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2.0 * np.diff(r))])
    scale = (RADIUS_MM / RETINA["drasdo_fowler"]["retina_radius_mm"]) ** 2
    for half in (15.0, 25.0, 50.0, 65.0, 90.0):
        ours = float(cap_area_mm2(central_deg(half)))
        assert ours == pytest.approx(float(np.interp(half, r, summed)) * scale, rel=0.08), half


def test_between_entries_the_table_is_as_good_as_it_says() -> None:
    traced = chief_rays(WIDE_ANGLE, np.linspace(0.0, 89.9, 50001))
    external = np.arange(0.0, widest_external_deg(), 0.01)
    apart = np.abs(np.interp(external, *traced) - central_deg(external))
    assert np.radians(apart.max()) * RADIUS_MM < TABLE_ERROR_MM


def test_the_way_there_and_back() -> None:
    external, central = table()
    assert (np.diff(central) > 0.0).all()
    assert external_deg(central) == pytest.approx(external, abs=1e-9)


def test_the_model_is_named() -> None:
    """External and central angles differ by a third: whoever prints one says whose it is."""
    assert "Escudero-Sanz & Navarro 1999" in MODEL
    assert 1.3 < float(central_deg(45.0)) / 45.0 < 1.4
