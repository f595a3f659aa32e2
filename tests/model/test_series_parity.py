"""The phone's clock and next frame against the reference, by the real front-end sources."""

import copy
from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest
from phone_series import ask_series
from series_cases import PACE, PROTOCOLS, fields

from chinrest.model.series.clock import Anchor, Reading, seconds_since
from chinrest.model.series.clock_vectors import clock_vectors, random_days
from chinrest.model.series.lay import lay
from chinrest.model.series.layout import Layout
from chinrest.model.series.next_frame import SeriesProgress, next_frames
from chinrest.model.series.next_frame_vectors import next_frame_vectors, random_progress
from chinrest.model.series.pace import Pace

CLOCKS = 4000
MOMENTS = 3000
SAME_S = 1e-6
SLOW = Pace(frame_s=9.0, gaze_move_s=8.0, head_turn_s=20.0, eye_change_s=35.0)


@cache
def layouts() -> list[Layout]:
    """The demo's protocols with few and many fields, head turns among them, and a crowded one."""
    made = [
        lay(protocol, "wide", eyes, fields(count, turns), pace, labels=20_000)
        for protocol in PROTOCOLS.values()
        for eyes in ("one", "two")
        for count, turns, pace in ((1, 1, PACE), (4, 1, PACE), (6, 2, PACE), (4, 2, SLOW))
    ]
    return [msgspec.structs.replace(layout, id=f"{layout.id}:{i}") for i, layout in enumerate(made)]


def test_clocks_agree_over_thousands_of_days() -> None:
    rng = np.random.default_rng(3)
    days = [random_days(rng.random(12).tolist()) for _ in range(CLOCKS)]
    asked = [{"anchor": anchor, "readings": readings} for anchor, readings in days]
    states = set()
    for (anchor, readings), row in zip(days, ask_series(clocks=asked)["clocks"], strict=True):
        wanted = seconds_since(anchor, readings)
        states.add(wanted.by)
        got = row["answer"]
        assert (got["state"], got["by"]) == (wanted.state, wanted.by)
        for key in ("seconds", "wall_s", "mono_s"):
            assert got[key] == pytest.approx(getattr(wanted, key), abs=SAME_S), (anchor, readings)
    assert states == {"both", "mono", "wall", "neither"}, "every kind of day must have been compared"


def test_a_reading_that_does_not_say_counts_as_hidden() -> None:
    """Two minutes by the wall clock, none by the count: asleep where nobody knows, a set clock in view."""
    anchor = Anchor(at=1_000.0, mono=500.0, boot="a")
    told = {"at": 121_000.0, "mono": 600.0, "boot": "a"}
    asked = [{"anchor": anchor, "readings": [{**told, **more}]} for more in ({}, {"hidden": False})]
    unsaid, seen = (row["answer"] for row in ask_series(clocks=asked)["clocks"])
    assert (unsaid["by"], unsaid["seconds"]) == ("wall", 120.0)
    assert (seen["by"], seen["seconds"]) == ("mono", 0.1)
    assert Reading(at=0.0, mono=0.0, boot="a").hidden


def test_next_frames_agree_over_thousands_of_moments() -> None:
    rng = np.random.default_rng(4)
    moments = [(i % len(layouts()), rng.random(6).tolist()) for i in range(MOMENTS)]
    asked: list[dict[str, Any]] = [
        {"layout": number, "progress": random_progress(layouts()[number], row)} for number, row in moments
    ]
    answers = ask_series(layouts=list(layouts()), pace=PACE, moments=asked)["next"]
    relaid = crowded = shut = 0
    for question, row in zip(asked, answers, strict=True):
        wanted = next_frames(layouts()[question["layout"]], PACE, question["progress"])
        got = row["answer"]
        assert [frame["id"] for frame in got["coming"]] == [frame.id for frame in wanted.coming], question
        for frame, other in zip(got["coming"], wanted.coming, strict=True):
            for key in ("move_s", "begin_s", "shut_s"):
                assert frame[key] == pytest.approx(getattr(other, key), abs=SAME_S), question
        assert (got["shut"], got["crowded"], got["relaid"]) == (wanted.shut, wanted.crowded, wanted.relaid)
        assert got["slack_s"] == pytest.approx(wanted.slack_s, abs=SAME_S), question
        relaid, crowded, shut = (
            relaid + wanted.relaid,
            crowded + bool(wanted.crowded),
            shut + bool(wanted.shut),
        )
    assert min(relaid, crowded, shut) > MOMENTS // 50, "too few were laid anew for this to say much"


def test_a_frame_that_the_layout_has_not_is_refused() -> None:
    progress = SeriesProgress(done=["nothing"])
    with pytest.raises(KeyError, match="nothing"):
        next_frames(layouts()[0], PACE, progress)
    row = ask_series(layouts=[layouts()[0]], pace=PACE, moments=[{"layout": 0, "progress": progress}])[
        "next"
    ][0]
    assert row["error"] == "the layout has no frame 'nothing'"


def pack() -> dict[str, Any]:
    some = layouts()[::5]
    built: dict[str, Any] = msgspec.to_builtins(
        {
            "pace": PACE,
            "layouts": some,
            "clock_vectors": clock_vectors(),
            "next_frame_vectors": next_frame_vectors(some, PACE),
        }
    )
    return built


def test_a_sound_pack_is_proved_and_a_spoilt_one_refused_in_words() -> None:
    sound = pack()
    late, other, state, lost = (copy.deepcopy(sound) for _ in range(4))
    late["clock_vectors"][3]["mono_s"] += 0.01
    state["clock_vectors"][0]["state"] = "uncertain"
    moving = next(v for v in other["next_frame_vectors"] if len(v["answer"]["coming"]) > 1)
    moving["answer"]["coming"].reverse()
    lost["layouts"] = lost["layouts"][1:]
    faults = ask_series(packs=[sound, late, other, state, lost])["faults"]
    assert faults[0] == []
    assert faults[1][0].startswith("dye clock, check 4: the seconds are")
    number = other["next_frame_vectors"].index(moving) + 1
    assert faults[2][0].startswith(f"next frame, check {number}: the order is")
    assert faults[3] == ["dye clock, check 1: it is certain by both here and uncertain by both in the pack"]
    assert any("has no layout" in fault for fault in faults[4])
