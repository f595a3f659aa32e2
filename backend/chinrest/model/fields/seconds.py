"""How long a list of gazes takes one photographer, from the clinic's pace."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct

from ..series.pace import Pace


class Stop(Struct, frozen=True, kw_only=True):
    """Where eye and head are for one frame: the gaze (nasal+, up+) from the instrument's axis, the face's
    turn and tip, the eye's turn in its head, degrees; working distance, mm."""

    gaze_deg: tuple[float, float]
    yaw_deg: float
    pitch_deg: float
    working_distance_mm: float
    eye_in_head_deg: tuple[float, float]


class Moves(NamedTuple):
    """Gaze moves and head turns between frames, and seconds for all with the frames; one eye, from the first
    frame's moves made to the last frame taken."""

    moves: int
    turns: int
    seconds: float


def turn_numbers(stops: Sequence[Stop], pace: Pace) -> list[int]:
    """Frames with the same number are taken with the head as it stands: it stays until what is advised is far
    enough from how it was last turned."""
    numbers: list[int] = []
    at: Stop | None = None
    for stop in stops:
        turned = at is not None and _turned(at, stop, pace)
        if at is None or turned:
            at = stop
        numbers.append((numbers[-1] if numbers else 0) + turned)
    return numbers


def moves_of(stops: Sequence[Stop], pace: Pace) -> Moves:
    """Counts from frame to frame."""
    moves = sum(before.gaze_deg != stop.gaze_deg for before, stop in pairwise(stops))
    turns = turn_numbers(stops, pace)[-1] if stops else 0
    seconds = len(stops) * pace.frame_s + moves * pace.gaze_move_s + turns * pace.head_turn_s
    return Moves(moves, turns, round(seconds, 1))


def _turned(at: Stop, stop: Stop, pace: Pace) -> bool:
    away = max(abs(stop.yaw_deg - at.yaw_deg), abs(stop.pitch_deg - at.pitch_deg))
    return away >= pace.turn_from_deg
