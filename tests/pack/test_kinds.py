"""The walk that names every fault of kind agrees with msgspec's own validation on whether there is one.

It exists because msgspec stops at the first.
"""

import copy
from typing import Any

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from chinrest.pack.demo import demo_path
from chinrest.pack.kinds import faults_of_kind
from chinrest.pack.source import Source, load

DEMO: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(load(demo_path())))

ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**31), 2**31),
    # msgspec takes 3.0 for a whole number and an endless number for a number; a pack's source does neither
    st.floats(-1e6, 1e6).filter(lambda number: not number.is_integer()),
    st.sampled_from(["", "must", "right", "colour", "tick", "free", "brow", "none"]),
    st.lists(st.integers(0, 3), max_size=3),
    st.dictionaries(st.sampled_from(["id", "text", "low"]), st.text(max_size=3), max_size=2),
)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inside: list[tuple[Any, Any]] = []
    if isinstance(value, dict):
        inside = list(value.items())
    elif isinstance(value, list):
        inside = list(enumerate(value))
    return [path] * bool(path) + [place for key, item in inside for place in places(item, (*path, key))]


PLACES = places(DEMO)


def spoiled(place: tuple[Any, ...], how: str, value: Any) -> dict[str, Any]:
    """The demo with one place replaced, removed, or given a neighbour."""
    demo = copy.deepcopy(DEMO)
    parent: Any = demo
    for key in place[:-1]:
        parent = parent[key]
    if how == "replace":
        parent[place[-1]] = value
    elif how == "remove":
        del parent[place[-1]]
    elif isinstance(parent, dict):
        parent["neighbour"] = value
    else:
        parent.append(value)
    return demo


def refused_by_msgspec(value: Any) -> bool:
    try:
        msgspec.convert(value, Source)
    except msgspec.ValidationError:
        return True
    return False


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(PLACES), st.sampled_from(["replace", "remove", "add"]), ODD)
def test_agrees_with_msgspec(place: tuple[Any, ...], how: str, value: Any) -> None:
    demo = spoiled(place, how, value)
    # the top of a source is made by us and may not grow; msgspec leaves unknown keys there alone
    top = how == "add" and len(place) == 1
    ours = [] if top else list(faults_of_kind(demo, Source, ""))
    assert bool(ours) == refused_by_msgspec(demo)
