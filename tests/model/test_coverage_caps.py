"""Areas of fields against closed formulas for spherical caps and against equal-area pixels of the sphere."""

from functools import cache

import healpix
import numpy as np
import pytest
from published_values import published

from chinrest.model.fields.cells import cells, seen, seen_by
from chinrest.model.fields.coverage import coverage
from chinrest.model.retina.angles import RADIUS_MM, cap_area_mm2, central_deg
from chinrest.model.retina.landmarks import AXIS_DEG, ora_central_deg
from chinrest.model.retina.projection import direction, ring, to_direction, to_map, to_place
from chinrest.model.retina.regions import Cone, azimuths_deg, closed, region_of, retina

CAPS = published("caps")
NSIDE = 256
"""786,432 pixels of one area, 0.0023 mm^2 each."""

SETS: list[list[Cone]] = [
    [(50.0, 0.0, 0.0)],
    [(130.0, 0.0, 0.0)],
    [(200.0, 0.0, 0.0)],
    [(130.0, 35.0, 0.0), (130.0, -35.0, 0.0)],
    [(100.0, 25.0, 15.0), (100.0, -25.0, 15.0), (100.0, 0.0, -20.0), (60.0, 0.0, 0.0)],
    [(30.0, 15.5, 1.5), (30.0, 0.0, 0.0), (30.0, -15.0, 0.0)],
    [(150.0, 0.0, 25.0), (150.0, 25.0, 0.0), (150.0, 0.0, -25.0), (150.0, -25.0, 0.0)],
]


@pytest.mark.parametrize("row", CAPS["two"]["rows"], ids=lambda row: f"{row[0]:g}, {row[1]:g}, {row[2]:g}")
def test_two_caps_share_what_the_closed_formula_says(row: list[float]) -> None:
    """Drawn on the map as fields are; none of these goes round the map's far pole, as no field does."""
    a, b, apart, steradian = row
    axis = direction(0.0, 0.0)
    middles = ring(axis, apart / 2.0, np.array([0.0, 180.0]))
    (first, e), (second, f) = (_cap(middle, radius) for middle, radius in zip(middles, (a, b), strict=True))
    shared = first.intersection(second).area / RADIUS_MM**2
    assert shared == pytest.approx(steradian, abs=(e + f) / RADIUS_MM**2 + 1e-6)


def _cap(middle: np.ndarray, radius_deg: float) -> tuple:
    return closed(to_map(ring(middle, radius_deg, azimuths_deg())))


@pytest.mark.parametrize("field_deg", [10.0, 30.0, 50.0, 60.0, 90.0, 130.0, 150.0, 180.0, 200.0])
def test_a_field_along_the_optic_axis_is_a_cap(field_deg: float) -> None:
    found = coverage([(field_deg, *AXIS_DEG)])
    exact = float(cap_area_mm2(central_deg(field_deg / 2.0)))
    assert found.area_mm2 == pytest.approx(exact, abs=found.error_mm2)
    assert found.error_mm2 < 2e-4 * found.region_mm2


def test_areas_grow_as_published_for_the_schematic_eye() -> None:
    """Fields about the optic axis, by another tracer of the same eye."""
    table = published("retina")["wide_angle_traced"]
    for half, cap in zip(table["external_deg"], table["cap_mm2"], strict=True):
        assert coverage([(2.0 * half, *AXIS_DEG)]).area_mm2 == pytest.approx(cap, abs=0.1)


@cache
def pixels() -> tuple[np.ndarray, float]:
    """Places of equal-area pixels of the whole sphere, z along the optic axis, and the area of each."""
    count = int(healpix.nside2npix(NSIDE))
    x, y, z = healpix.pix2vec(NSIDE, np.arange(count))
    return np.stack([x, y, z], axis=-1), 4.0 * np.pi * RADIUS_MM**2 / count


@cache
def viewed() -> tuple[np.ndarray, np.ndarray]:
    places = pixels()[0]
    central = np.degrees(np.arccos(np.clip(places[:, 2], -1.0, 1.0)))
    azimuth = np.degrees(np.arctan2(places[:, 1], places[:, 0]))
    return to_direction(places), central <= ora_central_deg(azimuth)


def counted_mm2(fields: list[Cone]) -> float:
    directions, on_retina = viewed()
    shown = np.zeros(len(directions), dtype=bool)
    for field_deg, h_deg, v_deg in fields:
        shown |= directions @ direction(h_deg, v_deg) >= np.cos(np.radians(field_deg / 2.0))
    return float(np.count_nonzero(shown & on_retina)) * pixels()[1]


def test_the_retina_is_as_many_pixels_as_its_area() -> None:
    counted = float(np.count_nonzero(viewed()[1])) * pixels()[1]
    assert retina().area_mm2 == pytest.approx(counted, rel=5e-4)


@pytest.mark.parametrize(
    "fields", SETS, ids=lambda fields: " ".join(f"{f:g}@{h:g},{v:g}" for f, h, v in fields)
)
def test_unions_and_overlaps_agree_with_equal_area_pixels(fields: list[Cone]) -> None:
    """HEALPix pixels (package healpix), counted by the direction of their middles."""
    found = coverage(fields)
    assert found.area_mm2 == pytest.approx(counted_mm2(fields), rel=1e-3)
    assert found.retina_fraction == pytest.approx(found.area_mm2 / retina().area_mm2, abs=1e-12)
    for i, one in enumerate(fields):
        for j, other in enumerate(fields[:i]):
            both = counted_mm2([one]) + counted_mm2([other]) - counted_mm2([one, other])
            assert found.overlap[i][j] == pytest.approx(both, abs=1e-3 * found.area_mm2)


@pytest.mark.parametrize("spacing_mm", [0.2, 0.5, 1.0])
def test_cells_count_what_the_polygons_measure(spacing_mm: float) -> None:
    """A count strays by about the square root of the number of cells on the edge."""
    grid = cells(spacing_mm)
    assert len(grid) * grid.area_mm2 == pytest.approx(retina().area_mm2, rel=4e-3)
    for fields in SETS:
        shown = seen_by(grid, fields)
        assert shown.shape == (len(fields), len(grid))
        for row, (field_deg, h_deg, v_deg) in zip(shown, fields, strict=True):
            assert (row == seen(grid, (h_deg, v_deg), field_deg)).all()
        counted = float(np.count_nonzero(shown.any(axis=0))) * grid.area_mm2
        exact = coverage(fields).area_mm2
        # edge length of at most 180 mm on the map, a third of a cell's spread for each cell on it
        assert counted == pytest.approx(
            exact, abs=3.0 * grid.area_mm2 * (180.0 / spacing_mm) ** 0.5 / 3.0**0.5
        )


@pytest.mark.parametrize("name", ["posterior_pole", "midperiphery", "far_periphery", "seven_fields"])
def test_cells_know_their_regions(name: str) -> None:
    grid, region = cells(0.2), region_of(name)
    assert np.count_nonzero(grid.masks[name]) * grid.area_mm2 == pytest.approx(region.area_mm2, rel=5e-3)
    assert (grid.mask(region) == grid.masks[name]).all()


def test_a_cell_is_seen_in_the_direction_that_it_names() -> None:
    grid = cells(1.0)
    reached = ~np.isnan(grid.h_deg)
    back = to_map(to_place(direction(grid.h_deg[reached], grid.v_deg[reached])))
    assert back[:, 0] == pytest.approx(grid.x_mm[reached], abs=1e-6)
    assert back[:, 1] == pytest.approx(grid.y_mm[reached], abs=1e-6)
    for i in np.flatnonzero(reached)[::97]:
        gaze = (float(grid.h_deg[i]), float(grid.v_deg[i]))
        assert seen(grid, gaze, 1.0)[i]
    assert not seen(grid, (0.0, 0.0), 200.0)[~reached].any()
