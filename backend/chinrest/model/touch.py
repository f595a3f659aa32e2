"""The chance that a pose touches, from how people differ; and the words made of it.

Anatomy only: movement of the patient or the photographer is not counted. The sample is a fixed quasi-random
one, so the same question always has the same answer.
"""

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from .clearance import Body, capsule_clearances
from .fit import TouchWord, TouchWords
from .shape import FaceShape, Shifts

Array = NDArray[np.floating[Any]]
SIGN_HALVINGS = 10  # 60 mm / 2^10 = 0.06 mm along a capsule: only the sign of the clearance is asked


@cache
def _normal_sample(dimensions: int, samples: int) -> Array:
    """Standard normal quasi-random points (samples, dimensions): Sobol' points under one fixed scrambling."""
    points = qmc.Sobol(dimensions, scramble=True, rng=20240229).random(samples)
    return np.asarray(norm.ppf(np.clip(points, 1e-9, 1.0 - 1e-9)), dtype=np.float64)


def touch_chance(
    body: Body, shape: FaceShape, shifts: Shifts, rotation: Array, translation: Array, samples: int
) -> float:
    """Share of sampled faces whose clearance at this one pose is below zero; rotation (3, 3), translation
    (3,)."""
    count = shape.mean.shape[0]
    sample = _normal_sample(4 + 3 * count, samples)
    centre = np.array(shifts[:4])
    capsules = shape.capsules_mm(
        centre + sample[:, :4] * np.array(shifts.spread_mm), sample[:, 4:].reshape(samples, count, 3)
    )
    middle = shape.capsules_mm(centre)
    moved = np.maximum(
        np.linalg.norm(capsules[..., 0:3] - middle[:, 0:3], axis=-1),
        np.linalg.norm(capsules[..., 4:7] - middle[:, 4:7], axis=-1),
    )

    def clearances(some: Array) -> Array:
        start, end = some[:, 0:3] @ rotation.T + translation, some[:, 4:7] @ rotation.T + translation
        return capsule_clearances(body, start, end, some[:, 3], some[:, 7], SIGN_HALVINGS)[0]

    # A capsule loses no more clearance than its farther-moved end moves: most need no second look.
    near = clearances(middle) - moved < 0.0
    touches = np.zeros(near.shape, dtype=bool)
    if near.any():
        touches[near] = clearances(capsules[near]) < 0.0
    return float(touches.any(axis=1).mean())


def word_of(words: TouchWords, chance: float) -> TouchWord:
    """The photographer's word for a chance."""
    if chance <= words.likely_clear_up_to:
        return "likely_clear"
    return "close" if chance <= words.close_up_to else "expect_to_adjust"
