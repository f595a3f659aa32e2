"""What would make a layout keep more: each remedy is tried, and the next smaller one is not enough."""

from functools import cache

import msgspec
import pytest
from series_cases import PACE, PROTOCOLS, fields

from chinrest.model.series.lay import lay, widened
from chinrest.model.series.layout import Layout, Remedy
from chinrest.model.series.protocol import Injection, Protocol, ProtocolWindow
from chinrest.model.series.remedies import STEP_S, with_remedies

CROWDED = PROTOCOLS["fluorescein"]
MANY, FEW = fields(8, turns=8), fields(3)


@cache
def crowded() -> Layout:
    laid = lay(CROWDED, "narrow", "two", MANY, PACE)
    return with_remedies(laid, CROWDED, MANY, {"wide": FEW}, PACE)


def remedy(kind: str) -> Remedy:
    (found,) = [one for one in crowded().remedies if one.kind == kind]
    return found


def test_eight_fields_at_eight_turns_are_too_many_for_two_eyes() -> None:
    assert crowded().proved
    assert crowded().missed
    assert not any(frame.needed for frame in crowded().missed)
    assert all(frame.window == "mid_fields" for frame in crowded().missed)
    assert {one.kind for one in crowded().remedies} == {
        "fewer_fields",
        "wider_window",
        "other_optic",
        "one_eye",
    }


def test_a_wider_window_is_wide_enough_and_not_a_step_wider_than_it_must_be() -> None:
    found = remedy("wider_window")
    assert found.window == "mid_fields"
    assert found.amount is not None
    enough = lay(widened(CROWDED, {found.window}, found.amount), "narrow", "two", MANY, PACE)
    assert enough.missed == []
    less = lay(widened(CROWDED, {found.window}, found.amount - STEP_S), "narrow", "two", MANY, PACE)
    assert less.missed


def test_fewer_fields_says_how_many_frames_are_kept() -> None:
    found = remedy("fewer_fields")
    kept = [frame for frame in crowded().frames if frame.window == "mid_fields"]
    assert found.amount == len(kept)
    assert f"{len(kept)} of {len(kept) + len(crowded().missed)} frames" in found.sentence


def test_another_optic_and_one_eye_do_keep_everything() -> None:
    assert remedy("other_optic").optic == "wide"
    assert lay(CROWDED, "wide", "two", FEW, PACE).missed == []
    assert remedy("one_eye").keeps == "all"
    assert lay(CROWDED, "narrow", "one", MANY, PACE).missed == []


def test_nothing_missed_needs_no_remedy() -> None:
    laid = lay(CROWDED, "wide", "two", FEW, PACE)
    assert with_remedies(laid, CROWDED, FEW, {"narrow": MANY}, PACE) is laid


def window(**change: object) -> ProtocolWindow:
    base = ProtocolWindow(
        id="a",
        name="A",
        dye="fluorescein",
        eye="study",
        from_s=10.0,
        to_s=30.0,
        need="needed",
        source="a test",
    )
    return msgspec.structs.replace(base, **change)


def test_a_missed_burst_has_no_wider_window() -> None:
    """A run that must begin when its window does is not helped by a later end."""
    windows = [
        window(burst=True, every_s=1.0),
        window(id="b", burst=True, every_s=1.0, eye="fellow", need="wanted"),
    ]
    protocol = Protocol(id="p", name="P", summary="", dyes=[Injection(dye="fluorescein")], windows=windows)
    laid = with_remedies(lay(protocol, "wide", "two", FEW, PACE), protocol, FEW, {}, PACE)
    assert [frame.window for frame in laid.missed] == ["b"]
    assert [one.kind for one in laid.remedies] == ["one_eye"]


@pytest.mark.parametrize(
    ("to_s", "why"),
    [
        (12.0, "its window, 10 to 12 s on the line, is shorter than the 4 s of a frame"),
        (
            14.0,
            "its window, 10 to 14 s on the line, has room for 1 frame and the moves; no order holds it too",
        ),
    ],
)
def test_a_missed_frame_says_why(to_s: float, why: str) -> None:
    windows = [window(to_s=14.0), window(id="b", eye="fellow", to_s=to_s, need="wanted")]
    protocol = Protocol(id="p", name="P", summary="", dyes=[Injection(dye="fluorescein")], windows=windows)
    (missed,) = lay(protocol, "wide", "two", FEW, PACE).missed
    assert (missed.window, missed.why) == ("b", why)
