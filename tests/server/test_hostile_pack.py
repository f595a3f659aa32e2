"""A compiled pack of the right kinds with a wrong figure in it is refused when the lead sends it: every phone
would go by it."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from callers import OWN_PAGE, House

from chinrest.pack.compiled import canonical, decode_pack
from chinrest.pack.proving import near, prove


def nudge(pack: Any, key: str, by: float) -> None:
    """The first figure under this name, anywhere below, moved a little."""
    waiting = [pack]
    while waiting:
        here = waiting.pop(0)
        if isinstance(here, dict):
            if isinstance(here.get(key), int | float):
                here[key] += by
                return
            waiting += here.values()
        elif isinstance(here, list):
            waiting += here
    raise AssertionError(f"no figure {key}")


def spoil(key: str, where: str, by: float) -> Callable[[dict[str, Any]], None]:
    return lambda pack: nudge(pack[where], key, by)


def unsay(pack: dict[str, Any]) -> None:
    pack["emergency"]["contacts"] = []


def stray(pack: dict[str, Any]) -> None:
    pack["steps"][3]["stage"] = "nowhere"


def twice(pack: dict[str, Any]) -> None:
    pack["optics"].append(dict(pack["optics"][0]))


def fewer(pack: dict[str, Any]) -> None:
    pack["fit_vectors"].pop()


def silent(pack: dict[str, Any]) -> None:
    pack["dose_vectors"].clear()


SPOILED: dict[str, tuple[Callable[[dict[str, Any]], None], str]] = {
    "a clearance that the model does not give": (spoil("clearance_mm", "fit_vectors", 0.5), "fit_vectors[#"),
    "a margin that the figures were not made with": (spoil("margin_mm", "limits", 1.0), "fit_vectors[#"),
    "an optic of less than no field": (spoil("field_deg", "optics", -500.0), "optics["),
    "a check left out": (fewer, "fit_vectors"),
    "no check of a dose": (silent, "dose_vectors"),
    "no one to call": (unsay, "contacts"),
    "a step of no stage": (stray, "steps["),
    "an optic twice": (twice, "optics["),
}


@pytest.mark.parametrize("what", SPOILED)
def test_a_spoiled_pack_is_refused_at_the_figure(demo_pack: bytes, what: str) -> None:
    change, key = SPOILED[what]
    pack = json.loads(demo_pack)
    change(pack)
    faults = prove(decode_pack(canonical(pack)))
    assert [fault for fault in faults if fault.key.startswith(key)], [str(fault) for fault in faults]


def test_the_server_refuses_it_and_keeps_nothing(house: House, demo_pack: bytes) -> None:
    headers = {"Content-Type": "application/json", **OWN_PAGE}
    pack = json.loads(demo_pack)
    nudge(pack["fit_vectors"], "clearance_mm", 0.5)
    answer = house.as_lead().post("/api/packs", content=canonical(pack), headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (400, "bad_pack"), answer.text
    assert answer.json()["where"].startswith("fit_vectors[#")
    assert house.as_lead().get("/api/packs").json() == []
    assert house.as_lead().post("/api/packs", content=demo_pack, headers=headers).status_code == 200


def test_only_the_last_digits_may_differ() -> None:
    assert near({"a": [1.0, 2, None]}, {"a": [1.0000001, 2.0, None]})
    for other in ({"a": [1.01]}, {"a": [1.0, 1.0]}, {"b": [1.0]}, {"a": ["1.0"]}, {"a": [None]}):
        assert not near({"a": [1.0]}, other)
