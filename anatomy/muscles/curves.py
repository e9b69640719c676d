"""Force and length of a muscle as the simulator reckons them (``mju_muscleGain``, ``mju_muscleBias``), for many at once."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["active_factor", "passive_factor"]

Floats = np.ndarray[Any, np.dtype[np.float64]]


def active_factor(length: Floats, shortest: Floats, longest: Floats) -> Floats:
    """The share of greatest isometric force at a fibre length (in optimal lengths): 1 at 1, nothing beyond either end."""
    away = np.where(length <= 1, (1 - length) / (1 - shortest), (length - 1) / (longest - 1))
    away = np.minimum(away, 1.0)  # from 0 at the top to 1 at either end: two parabolas that meet half-way
    return np.asarray(np.where(away <= 0.5, 1 - 2 * away**2, 2 * (1 - away) ** 2), dtype=np.float64)


def passive_factor(length: Floats, longest: Floats, greatest: Floats) -> Floats:
    """The passive force of a stretched fibre over its greatest isometric force; nothing at or below optimal length."""
    stretch = np.maximum(2 * (length - 1) / (longest - 1), 0.0)  # 1 half-way to the longest; straight beyond
    return np.asarray(greatest * np.where(stretch <= 1, 0.5 * stretch**2, stretch - 0.5), dtype=np.float64)
