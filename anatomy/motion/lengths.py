"""Lengths in the picture: in pixels, as a share of another length, or by a length that is known.

A share cancels the scale of the picture, and holds only as far as both lengths lie in one plane across the line of
sight. Errors by the law of propagation of uncertainty (JCGM 100:2008, clause 5.1.2), from independent isotropic clicks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anatomy.motion.angles import SAME_PLACE, Direction
from anatomy.motion.points import Floats, PlanePoints

__all__ = ["Length", "length_series"]


@dataclass(frozen=True)
class Length:
    """The distance along ``between``; over that along ``of`` when there is one; times ``known`` (in ``unit``).

    ``known`` is how long ``of`` is in truth, ``known_sd`` the standard deviation of that knowledge.
    """

    between: Direction
    of: Direction | None = None
    known: float | None = None
    known_sd: float = 0.0
    unit: str = "px"

    @property
    def directions(self) -> tuple[Direction, ...]:
        return (self.between,) if self.of is None else (self.between, self.of)


def _distance(direction: Direction, points: PlanePoints) -> tuple[Floats, dict[str, Floats]]:
    """Distance (T,) and the gradient of its logarithm by landmark (T, 2); NaN where both ends are at one place."""
    along = direction.end.of(points) - direction.start.of(points)
    square = np.sum(along * along, axis=-1)
    square = np.where(square > SAME_PLACE**2, square, np.nan)
    return np.sqrt(square), {name: w * along / square[:, None] for name, w in direction.weights().items()}


def length_series(length: Length, points: PlanePoints, click_sd: float) -> tuple[Floats, Floats]:
    """Value (T,) and standard deviation (T,) from points (T, 2) on the plane. NaN where undefined."""
    value, relative = _distance(length.between, points)
    if length.of is not None:
        whole, shift = _distance(length.of, points)
        value = value / whole
        for name, change in shift.items():
            relative[name] = relative[name] - change if name in relative else -change
    variance = click_sd**2 * sum(np.sum(g * g, axis=-1) for g in relative.values())
    if length.known is not None:
        value = value * length.known
        variance = variance + (length.known_sd / length.known) ** 2
    return value, np.abs(value) * np.sqrt(variance)
