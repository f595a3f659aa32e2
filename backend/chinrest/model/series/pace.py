"""How long the hands take: seconds for a frame and for each kind of move before it."""

from msgspec import Struct


class Pace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Seconds that one photographer needs; a clinic enters its own.

    `frame_s`: refine, take and glance at one frame. `gaze_move_s`: the eye looks elsewhere, the head stays.
    `head_turn_s`: draw back, turn, approach; added to a gaze move where both are asked. `eye_change_s`: over
    to the other eye, gaze and turn included. A turn of less than `turn_from_deg` goes with the gaze move.

    Defaults: 3 to 5 s pass between pairs of frames in a standard's worked example of a routine fluorescein
    examination (DICOM PS3.17, Annex U.1.3); the others are common practice, no source.
    """

    frame_s: float = 4.0
    gaze_move_s: float = 5.0
    head_turn_s: float = 12.0
    eye_change_s: float = 20.0
    turn_from_deg: float = 5.0


PACE = Pace()
