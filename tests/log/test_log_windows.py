"""What becomes of a window of a series: each outcome by a case that shows it. The rules are our own
(`chinrest.log.windows` states them; common practice, no source)."""

from typing import Any

import pytest
from invented import Phone, kept

from chinrest.log.amendments import stand
from chinrest.log.windows import no_layouts, window_counts
from chinrest.model.series.layout import LaidFrame, Layout
from chinrest.model.series.protocol import EyeRole


def frame(id_: str, window: str, from_s: float, *, eye: EyeRole = "study", burst: bool = False) -> LaidFrame:
    return LaidFrame(
        id=id_,
        window=window,
        dye="fluorescein",
        eye=eye,
        field="f1",
        h=0.0,
        v=0.0,
        turn=0,
        turn_deg=None,
        start_s=from_s,
        end_s=from_s + 3,
        from_s=from_s,
        to_s=from_s + 60,
        needed=True,
        burst=burst,
        shots=1,
    )


LAYOUT = Layout(
    id="p:wide:two",
    protocol="p",
    optic="wide",
    eyes="two",
    dyes=[],
    frames=[
        frame("b", "early", 10, burst=True),
        frame("m1", "mid", 120),
        frame("m2", "mid", 130),
        frame("o", "other", 300, eye="fellow"),
    ],
    missed=[],
    slack_s=5,
    proved=True,
)
IN_TIME: dict[str, float | None] = {"b": 9.0, "m1": 125.0, "m2": 190.0, "o": 300.0}


def taken(phone: Phone, id_: str, dye_s: float | None, eye: str = "right", outcome: str = "taken") -> None:
    phone.write(
        "frame.taken",
        "c1",
        eye=eye,
        optic="wide",
        modality="fluorescein",
        field="f1",
        gaze_deg=[0.0, 0.0],
        outcome=outcome,
        series_frame=id_,
        dye_s=dye_s,
    )


def begun() -> Phone:
    phone = Phone()
    phone.pack = "a" * 64
    phone.write("case.opened", "c1")
    phone.write("series.laid", "c1", protocol="p", layout=LAYOUT.id, eyes=["right", "left"])
    return phone


def followed(**changes: Any) -> Phone:
    """Every frame in its window, but for what is changed; `...` leaves a frame out."""
    phone = begun()
    for id_, dye_s in {**IN_TIME, **changes}.items():
        if dye_s is ...:
            continue
        if id_ == "b":
            burst = {"state": "started", "eye": "right", "optic": "wide", "frames": ["b"], "dye_s": dye_s}
            phone.write("series.burst", "c1", **burst)
        else:
            taken(phone, id_, dye_s, "left" if id_ == "o" else "right")
    return phone


def became(phone: Phone) -> dict[str, str]:
    standing = stand(kept(line) for line in phone.lines)
    found = list(window_counts(standing, {"a" * 64: {LAYOUT.id: LAYOUT}}.get))
    assert {kind for kind, _, _ in found} == {"window"}
    return {key.removeprefix("p/"): outcome for _, key, outcome in found}


ALL_KEPT = {"early": "kept", "mid": "kept", "other": "kept"}


@pytest.mark.parametrize(
    ("changes", "window", "outcome"),
    [
        ({}, "mid", "kept"),
        ({"b": 10.0}, "early", "kept"),
        ({"b": 10.5}, "early", "late"),
        ({"b": None}, "early", "untimed"),
        ({"b": ...}, "early", "missed"),
        ({"m1": 119.9}, "mid", "early"),
        ({"m1": 180.0}, "mid", "kept"),
        ({"m1": 180.1}, "mid", "late"),
        ({"m1": None}, "mid", "untimed"),
        ({"m1": ...}, "mid", "missed"),
        # the heaviest of its frames stands
        ({"m1": None, "m2": 100.0}, "mid", "early"),
        ({"m1": 100.0, "m2": 200.0}, "mid", "late"),
        ({"m1": 200.0, "m2": ...}, "mid", "missed"),
    ],
)
def test_what_became_of_a_window(changes: dict[str, Any], window: str, outcome: str) -> None:
    assert became(followed(**changes)) == {**ALL_KEPT, window: outcome}


def test_a_frame_of_the_wrong_eye_is_none() -> None:
    phone = followed(o=...)
    taken(phone, "o", 300.0, "right")
    assert became(phone)["other"] == "missed"


def test_early_and_again_in_time_is_kept_and_one_given_up_is_missed() -> None:
    phone = followed(m1=100.0)
    taken(phone, "m1", 125.0)
    assert became(phone)["mid"] == "kept"
    phone = followed(m1=...)
    taken(phone, "m1", 125.0, outcome="again")
    taken(phone, "m1", 130.0, outcome="missed")
    assert became(phone)["mid"] == "missed"


def test_what_a_stopped_series_did_not_reach_was_stopped() -> None:
    phone = followed(m2=..., o=...)
    phone.write("series.stopped", "c1", why="nausea")
    assert became(phone) == {"early": "kept", "mid": "stopped", "other": "stopped"}


def test_what_was_taken_back_was_never_taken() -> None:
    phone = followed()
    phone.write("line.amended", "c1", line=phone.lines[-1].envelope.id, body=None)
    assert became(phone)["other"] == "missed"


def test_without_its_pack_only_that_is_counted() -> None:
    standing = stand(kept(line) for line in followed().lines)
    assert list(window_counts(standing, no_layouts)) == [("no_pack", "a" * 64, "p")]
