"""Force and length of a muscle as the simulator reckons them (``mju_muscleGain``, ``mju_muscleBias``), for many at once."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["active_factor", "passive_factor"]

Floats = np.ndarray[Any, np.dtype[np.float64]]


def active_factor(length: Floats, shortest: Floats, longest: Floats) -> Floats:
    """The share of greatest isometric force at a fibre length (in optimal lengths): 1 at 1, nothing beyond either end."""
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = 0.5 * (shortest + 1), 0.5 * (1 + longest)
        factor = np.select(
            [length < shortest, length <= a, length <= 1, length <= b, length <= longest],
            [
                0.0,
                0.5 * ((length - shortest) / (a - shortest)) ** 2,
                1 - 0.5 * ((1 - length) / (1 - a)) ** 2,
                1 - 0.5 * ((length - 1) / (b - 1)) ** 2,
                0.5 * ((longest - length) / (longest - b)) ** 2,
            ],
            0.0,
        )
    return np.asarray(factor, dtype=np.float64)


def passive_factor(length: Floats, longest: Floats, greatest: Floats) -> Floats:
    """The passive force of a stretched fibre over its greatest isometric force; nothing at or below optimal length."""
    b = 0.5 * (1 + longest)
    factor = np.select(
        [length <= 1, length <= b],
        [0.0, greatest * 0.5 * ((length - 1) / (b - 1)) ** 2],
        greatest * (0.5 + (length - b) / (b - 1)),
    )
    return np.asarray(factor, dtype=np.float64)
