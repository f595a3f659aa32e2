"""A plan asked for at the desk, of another region than the pack has plans for, or refused in words."""

from typing import Any

import pytest
from callers import OWN_PAGE, House

from chinrest.model.fields.coverage import coverage
from chinrest.model.retina.regions import custom
from chinrest.pack.compiled import pack_name
from chinrest.server import plans

RING = [(70.0, 10.0, 0.0)]


@pytest.fixture
def ask(house: House, demo_pack: bytes) -> Any:
    sent = house.as_lead().post(
        "/api/packs", content=demo_pack, headers={**OWN_PAGE, "Content-Type": "application/json"}
    )
    assert sent.status_code == 200, sent.text

    def post(**given: Any) -> Any:
        body = {"pack": pack_name(demo_pack), "optic": "wide", "eye": "right", "region": "posterior_pole"}
        return house.as_officer().post("/api/plans", json={**body, **given}, headers=OWN_PAGE)

    return post


def test_a_region_that_was_drawn_is_planned(ask: Any) -> None:
    answer = ask(region="Round the disc", cones=RING, coverage=0.9)
    assert answer.status_code == 200, answer.text
    plan = answer.json()["plan"]
    assert plan["feasible"] is True
    assert plan["proved"] is True
    shown = coverage(
        [(field, h, v) for h, v, field in plan["fields"]], custom("x", "x", "the test's own", cones=RING)
    )
    assert plan["region_fraction"] == pytest.approx(shown.region_fraction, abs=1e-4)
    assert shown.region_fraction >= 0.9
    assert len(answer.json()["patterns"]) == 6


@pytest.mark.parametrize(
    ("given", "status", "where", "why"),
    [
        ({"pack": "0" * 64}, 404, "pack", "holds no such"),
        ({"optic": "none"}, 400, "optic", "there are narrow, wide, ultrawide"),
        ({"region": "nowhere"}, 400, "region", "there are retina"),
        ({"region": "", "cones": RING}, 400, "region", "1 to 80 characters"),
        ({"cones": [(201.0, 0.0, 0.0)]}, 400, "field", "200"),
        ({"polygon": [(0.0, 0.0), (10.0, 0.0)]}, 400, "polygon", "at least 3 corners"),
        ({"cones": RING * 41}, 400, "cones", "at most 40"),
        ({"coverage": 1.5}, 400, "coverage", "above 0 to 1"),
        ({"overlap": -1.0}, 400, "overlap", "0 to 0.9"),
        ({"pupil_mm": 99.0}, 400, "pupil_mm", "0.5 to 10 mm"),
    ],
)
def test_what_cannot_be_planned_is_refused_in_words(
    ask: Any, given: dict[str, Any], status: int, where: str, why: str
) -> None:
    answer = ask(**given)
    assert answer.status_code == status, answer.text
    assert answer.json()["where"] == where
    assert why in answer.json()["why"]


def test_while_one_is_worked_out_the_next_is_asked_to_wait(ask: Any) -> None:
    with plans._planning:
        answer = ask()
    assert answer.status_code == 503
    assert answer.json()["code"] == "busy"
    assert answer.headers["Retry-After"] == "5"
    assert ask().status_code == 200
