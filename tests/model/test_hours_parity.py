"""The hour of the clock that a place of the retina lies in: the phone's map against the sweep's model."""

from math import cos, pi, sin
from typing import Any

import numpy as np
from phone_code import ask_phone_code

from chinrest.model.fields.sweep import HOURS, hours_of

PHONE = """
import { hourOf } from "@src/chairside/map/sectors";
const answer = ({ places }) =>
  places.map(([nasal, up]) => ["right", "left"].map((eye) => hourOf(eye, nasal, up)));
"""
WIDEST_DEG = 60


def _named(hours: Any) -> list[int]:
    return [int(hour) or HOURS for hour in hours]


def test_phone_and_model_agree_on_every_hour_and_diagonal() -> None:
    """Every whole degree of gaze, each hour's own direction, and diagonals of other lengths."""
    whole = range(-WIDEST_DEG, WIDEST_DEG + 1)
    places = [(float(h), float(v)) for h in whole for v in whole]
    places += [(sin(hour / HOURS * 2 * pi), cos(hour / HOURS * 2 * pi)) for hour in range(HOURS)]
    places += [(h * far, v * far) for far in (1e-6, 0.1, 1 / 3, 17.3) for h in (1, -1) for v in (1, -1)]
    right, left = zip(*ask_phone_code(PHONE, {"places": places}), strict=True)
    wanted = _named(hours_of(*np.array(places).T))
    assert list(right) == wanted
    # the model has nasal at 3; in a left eye hour h stands for 12 - h
    assert list(left) == [HOURS - hour if hour < HOURS else hour for hour in wanted]
    assert set(wanted) == set(range(1, HOURS + 1))


def test_a_diagonal_counts_as_the_hour_nearer_to_the_horizontal() -> None:
    diagonals = np.array([(1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0)])
    assert _named(hours_of(*diagonals.T)) == [2, 4, 8, 10]
