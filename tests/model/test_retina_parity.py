"""The phone's count of what fields show, against the reference: the real front-end sources, run by Node."""

from typing import Any

import msgspec
import numpy as np
import pytest
from model_demo import FACES, LIMITS, OPTICS
from phone_cells import ask_cells

from chinrest.model.fields.coverage import coverage
from chinrest.model.fields.phone import CellVector, outline, random_field, union
from chinrest.model.retina.projection import direction, to_map, to_place
from chinrest.model.retina.regions import Cone
from chinrest.model.tables import pupil_table
from chinrest.model.vectors import fit_vectors
from chinrest.pack.regions import DrawnRegion, RetinaParts, retina_parts

SETS = 1500
OUTLINE_MM = 0.003
OWN = DrawnRegion(
    id="upper",
    name="Upper strip",
    source="invented",
    polygon=[(-20.0, 5.0), (20.0, 5.0), (20.0, 20.0), (-20.0, 20.0)],
)


@pytest.fixture(scope="module")
def parts() -> RetinaParts:
    return retina_parts([OWN])


@pytest.fixture(scope="module")
def pack(parts: RetinaParts) -> dict[str, Any]:
    """The parts of a compiled pack that the kernels read."""
    return {
        "optics": OPTICS,
        "faces": FACES,
        "limits": LIMITS,
        "pupil": pupil_table(),
        "fit_vectors": fit_vectors(OPTICS[:1], FACES, LIMITS)[:1],
        "retina": parts.retina,
        "regions": parts.regions,
    }


def sets_of_fields() -> list[list[Cone]]:
    """One to twelve random fields, always the same."""
    rng = np.random.default_rng(SETS)
    return [[random_field(rng.random(3).tolist()) for _ in range(1 + i % 12)] for i in range(SETS)]


def test_fifteen_hundred_sets_of_fields_agree_cell_by_cell(parts: RetinaParts, pack: dict[str, Any]) -> None:
    sets = sets_of_fields()
    for fields, answer in zip(sets, ask_cells(pack, sets)["answers"], strict=True):
        found = union(parts.retina, parts.regions, fields)
        assert answer["cells"] == found.cells, fields
        assert answer["area_mm2"] == pytest.approx(found.area_mm2, abs=1e-9)
        assert answer["retina_fraction"] == pytest.approx(found.retina_fraction, abs=1e-12)
        assert answer["region_fraction"] == pytest.approx(found.region_fraction, abs=1e-12)


def test_outlines_and_middles_lie_where_the_reference_puts_them(pack: dict[str, Any]) -> None:
    """Within three thousandths of a millimetre: the phone's table of angles has steps four times as long."""
    sets = sets_of_fields()[::12]
    for fields, answer in zip(sets, ask_cells(pack, sets)["answers"], strict=True):
        apart = np.hypot(*(np.array(answer["outline"]) - outline(fields[0], 24)).T)
        assert apart.max() < OUTLINE_MM, fields
        middle = to_map(to_place(direction(*fields[0][1:])))
        assert np.hypot(*(np.array(answer["middle"]) - middle)) < OUTLINE_MM


def test_the_phone_counts_near_the_exact_areas(parts: RetinaParts, pack: dict[str, Any]) -> None:
    """Cells are coarse: 0.8 mm apart, so a count strays by a few cells for each hundred on an edge."""
    sets = sets_of_fields()[:200]
    retina = parts.regions[0].area_mm2
    for fields, answer in zip(sets, ask_cells(pack, sets)["answers"], strict=True):
        exact = coverage(fields)
        assert answer["area_mm2"] == pytest.approx(exact.area_mm2, abs=0.012 * retina), fields


def test_a_phone_proves_the_packs_own_vectors(parts: RetinaParts, pack: dict[str, Any]) -> None:
    assert ask_cells(pack, [], parts.cell_vectors)["faults"] == []


@pytest.mark.parametrize(
    "spoilt",
    [
        {"count": 1},
        {"place_sum": 7},
        {"area_mm2": 0.01},
        {"retina_fraction": 0.001},
        {"region_fraction": {"posterior_pole": 0.5}},
        {"outline": [(0.0, 0.0)]},
    ],
    ids=lambda spoilt: next(iter(spoilt)),
)
def test_a_phone_names_a_vector_that_it_does_not_reach(
    spoilt: dict[str, Any], parts: RetinaParts, pack: dict[str, Any]
) -> None:
    vectors: list[CellVector] = [*parts.cell_vectors]
    vectors[3] = msgspec.structs.replace(vectors[3], **spoilt)
    faults = ask_cells(pack, [], vectors)["faults"]
    assert faults, "the fault was not found"
    assert all(fault.startswith("retina, check 4: ") for fault in faults)


def test_a_phone_refuses_a_retina_without_vectors(pack: dict[str, Any]) -> None:
    assert ask_cells(pack, [], [])["faults"] == ["the pack carries no check vectors for the retina"]
