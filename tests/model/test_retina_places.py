"""Where things lie on the retina: landmarks and regions against published figures; the map by geometry."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from published_values import published

from chinrest.model.errors import InputError
from chinrest.model.retina import landmarks
from chinrest.model.retina.angles import RADIUS_MM, cap_area_mm2
from chinrest.model.retina.projection import (
    angles_deg,
    direction,
    from_map,
    ring,
    to_direction,
    to_map,
    to_place,
)
from chinrest.model.retina.regions import (
    azimuths_deg,
    closed,
    cone,
    custom,
    reachable,
    region_of,
    regions,
    retina,
    seven_standard_fields,
)

RETINA = published("retina")


def angle_between_deg(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b), axis=-1), (a * b).sum(axis=-1)))


def test_the_fovea_lies_below_and_temporal_of_the_axis_as_published() -> None:
    """Watson puts it 1.5 mm aside and 0.5 mm down in an eye a twelfth smaller; ours within half a mm."""
    fovea = to_place(direction(0.0, 0.0))
    aside, up = fovea[:2] * RADIUS_MM
    assert aside == pytest.approx(-RETINA["fovea"]["aside_mm"], abs=0.5)
    assert up == pytest.approx(-RETINA["fovea"]["down_mm"], abs=0.5)
    assert to_map(fovea) == pytest.approx([0.0, 0.0], abs=1e-9)


def test_the_disc_lies_where_and_as_large_as_published() -> None:
    disc = RETINA["disc"]
    assert disc["h_deg"]["mean"] == landmarks.DISC_DEG[0]
    assert disc["v_deg"]["mean"] == landmarks.DISC_DEG[1]
    assert tuple(disc["size_mm"]) == landmarks.DISC_SIZE_MM
    at, fovea = to_place(direction(*landmarks.DISC_DEG)), to_place(direction(0.0, 0.0))
    distance = np.radians(angle_between_deg(at, fovea)) * RADIUS_MM
    assert distance == pytest.approx(disc["distance_mm"]["mean"], abs=disc["distance_mm"]["sd"])
    x, y = to_map(at)
    assert (x > 4.0, y > 0.0) == (True, True), "nasal and above"


def test_the_whole_retina_is_as_large_as_measured() -> None:
    """Within one SD of the measured area, and within it too when that is scaled to this eye's length."""
    whole, area = RETINA["whole"], retina().area_mm2
    shorter = (RETINA["wide_angle"]["retina_pole_mm"] / whole["axial_length_mm"]) ** 2
    assert area == pytest.approx(whole["area_mm2"], abs=whole["sd_mm2"])
    assert area == pytest.approx(whole["area_mm2"] * shorter, abs=whole["sd_mm2"])


def test_the_ora_is_the_published_one_and_nearest_to_the_front_on_the_nasal_side() -> None:
    ora = RETINA["ora"]
    at = landmarks.ora_central_deg(np.array([0.0, 90.0, 180.0, 270.0]))
    before = np.radians(at - 90.0) * RADIUS_MM
    assert before.mean() == pytest.approx(np.mean(ora["before_equator_mm"]), abs=1e-9)
    behind = np.array(ora["behind_limbus_mm"])
    assert before - before.mean() == pytest.approx(behind.mean() - behind, abs=1e-9)
    around = landmarks.ora_central_deg(azimuths_deg())
    assert np.argmax(around) in range(-60, 60), "nasal"
    assert at[0] - at[2] > 3.0, "nasal and temporal differ"


@pytest.mark.parametrize("at", range(4))
def test_ampullae_lie_as_far_from_the_disc_as_published(at: int) -> None:
    ampullae = RETINA["ampullae"]
    azimuth = float(ampullae["azimuth_deg"][at])
    away = np.radians(landmarks.ampullae_central_deg(azimuth)) * RADIUS_MM
    assert away == pytest.approx(ampullae["from_disc_mm"][at], abs=1e-9)
    # and on the map: the ring meets the region's edge there
    place = ring(to_place(direction(*landmarks.DISC_DEG)), np.degrees(away / RADIUS_MM), np.array([azimuth]))
    point = to_map(place)[0]
    edge = region_of("midperiphery").shape.boundary
    assert (
        np.hypot(*(np.array(edge.interpolate(edge.project(shapely.Point(point))).coords[0]) - point)) < 0.01
    )


def test_pole_midperiphery_and_far_periphery_are_the_whole_retina_and_share_nothing() -> None:
    parts = [region_of(name) for name in ("posterior_pole", "midperiphery", "far_periphery")]
    assert sum(part.area_mm2 for part in parts) == pytest.approx(retina().area_mm2, abs=1e-6)
    for i, part in enumerate(parts):
        for other in parts[i + 1 :]:
            assert part.shape.intersection(other.shape).area == pytest.approx(0.0, abs=1e-6)


def test_widefield_ends_where_the_ampullae_begin() -> None:
    """A field of 50 degrees is the posterior pole; one of up to 100 does not show beyond the ampullae in all
    four quadrants; one of 130 does."""
    wide = RETINA["widefield"]
    disc = to_place(direction(*landmarks.DISC_DEG))
    places = np.concatenate(
        [
            ring(disc, float(landmarks.ampullae_central_deg(a)), np.array([a]))
            for a in (45.0, 135.0, 225.0, 315.0)
        ]
    )
    half = angle_between_deg(to_direction(places), direction(0.0, 0.0))
    assert region_of("posterior_pole").area_mm2 == pytest.approx(
        cone(wide["posterior_pole_deg"], 0.0, 0.0)[0].area, abs=1e-9
    )
    assert (half > wide["posterior_pole_deg"] / 2.0).all()
    assert half.max() * 2.0 > wide["widefield_to_deg"]
    assert half.max() * 2.0 < 130.0


def test_seven_standard_fields_are_placed_by_their_definition() -> None:
    fields, wanted = seven_standard_fields(), RETINA["seven_fields"]
    assert [list(field[1:]) for field in fields] == wanted["centres_deg"]
    assert {field[0] for field in fields} == {wanted["field_deg"]}


def test_seven_standard_fields_span_the_published_angle() -> None:
    """From the temporal edge of field 3 to the nasal edges of fields 6 and 7, off the level line."""
    shape = region_of("seven_fields").shape
    corners = np.array(shape.exterior.coords)
    h, _ = angles_deg(to_direction(from_map(corners)))
    assert h.max() - h.min() == pytest.approx(RETINA["seven_fields"]["span_deg"], abs=2.0)


def test_one_ultra_wide_field_contains_all_seven() -> None:
    seven = region_of("seven_fields").shape
    assert seven.difference(cone(130.0, 0.0, 0.0)[0]).area == pytest.approx(0.0, abs=1e-6)
    assert seven.difference(cone(50.0, 0.0, 0.0)[0]).area > 100.0


@settings(deadline=None)
@given(h=st.floats(-60.0, 60.0), v=st.floats(-60.0, 60.0))
def test_direction_to_map_and_back(h: float, v: float) -> None:
    back = angles_deg(to_direction(from_map(to_map(to_place(direction(h, v))))))
    assert np.array(back) == pytest.approx([h, v], abs=1e-6)


@settings(deadline=None)
@given(
    h=st.floats(-50.0, 50.0),
    v=st.floats(-40.0, 40.0),
    radius=st.floats(1.0, 60.0),
    corners=st.sampled_from([40, 120, 720]),
)
def test_an_area_of_the_map_is_an_area_of_the_sphere(h: float, v: float, radius: float, corners: int) -> None:
    """Any cap of the sphere, wherever it lies and however coarsely drawn: 2 pi R^2 (1 - cos a)."""
    shape, error = closed(to_map(ring(to_place(direction(h, v)), radius, azimuths_deg(corners))))
    assert shape.area == pytest.approx(float(cap_area_mm2(radius)), abs=error + 1e-9)


def test_what_no_ray_reaches_is_the_outermost_rim() -> None:
    rim = retina().shape.difference(reachable())
    assert 0.02 < rim.area / retina().area_mm2 < 0.06
    assert region_of("far_periphery").shape.covers(rim)
    assert np.isnan(to_direction(ring(np.array([0.0, 0.0, 1.0]), 113.0, np.array([0.0])))).all()


def test_every_region_names_its_source_and_an_unknown_one_names_them_all() -> None:
    assert all(len(region.source) > 40 for region in regions().values())
    with pytest.raises(InputError, match="there are retina, posterior_pole, midperiphery, far_periphery"):
        region_of("macula")


def test_a_region_of_ones_own_by_cones_and_by_polygon() -> None:
    pole = custom("own", "Own", "invented", cones=[(50.0, 0.0, 0.0)])
    assert pole.area_mm2 == pytest.approx(region_of("posterior_pole").area_mm2, abs=1e-9)
    square = custom(
        "own", "Own", "invented", polygon=[(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)]
    )
    inner, outer = cone(20.0, 0.0, 0.0)[0], cone(29.0, 0.0, 0.0)[0]
    assert outer.covers(square.shape)
    assert inner.difference(square.shape).area < 0.02 * inner.area
    both = custom(
        "own", "Own", "invented", cones=[(30.0, 20.0, 0.0)], polygon=[(-5.0, 0.0), (5.0, 0.0), (0.0, 9.0)]
    )
    assert both.area_mm2 > cone(30.0, 20.0, 0.0)[0].area


@pytest.mark.parametrize(
    ("polygon", "why"),
    [
        ([(0.0, 0.0), (1.0, 1.0)], "at least 3 corners"),
        ([(-10.0, -10.0), (10.0, 10.0), (10.0, -10.0), (-10.0, 10.0)], "sides cross"),
    ],
)
def test_a_polygon_that_is_none_is_refused(polygon: list[tuple[float, float]], why: str) -> None:
    with pytest.raises(InputError, match=why):
        custom("own", "Own", "invented", polygon=polygon)


def test_a_region_without_area_is_refused() -> None:
    with pytest.raises(InputError, match="covers nothing"):
        custom("own", "Own", "invented")
