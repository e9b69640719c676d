"""Angles between directions in the picture plane, with the error that clicks bring into them.

A direction runs from one place to another. Its angle is atan2 of its components, and to first order a small shift s
of one landmark turns it by w (n · s) / |d|², n being the direction turned by a right angle and w the landmark's weight
in it. Shifts of landmarks are independent and isotropic with the standard deviation of a click, so the variance of an
angle is that variance times the sum of the squared gradients: the law of propagation of uncertainty (JCGM 100:2008,
clause 5.1.2). Radians and plane units inside; degrees where a measure is read off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from anatomy.motion.points import Floats, Place, PlanePoints, wrapped

__all__ = ["SAME_PLACE", "Angle", "AngleSeries", "Direction", "Fold", "angle_series", "direction_series"]

# Nearer than this (pixels) two places count as one: no direction can be read off them.
SAME_PLACE = 1e-6

Fold = Literal["signed", "unsigned", "line"]
Gradient = Mapping[str, Floats]


@dataclass(frozen=True)
class Direction:
    """From one place to another."""

    start: Place
    end: Place

    @cached_property
    def landmarks(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*self.start.landmarks, *self.end.landmarks)))

    def weights(self) -> dict[str, float]:
        """How much each landmark shifts the direction: end less start."""
        found = dict.fromkeys(self.landmarks, 0.0)
        for name, weight in self.end.parts:
            found[name] += weight
        for name, weight in self.start.parts:
            found[name] -= weight
        return found

    def turned(self) -> Direction:
        """The same line the other way round."""
        return Direction(self.end, self.start)


@dataclass(frozen=True)
class Angle:
    """A named angle: ``offset + factor * angle(first → second)``, degrees, counter-clockwise on the screen positive.

    ``first`` is a direction or a fixed one in degrees (0 to the right, 90 up). ``fold``: signed in (−180, 180];
    unsigned 0 to 180; line (−90, 90], for lines without a head and a tail.
    """

    first: Direction | float
    second: Direction
    fold: Fold = "signed"
    factor: float = 1.0
    offset: float = 0.0

    @property
    def directions(self) -> tuple[Direction, ...]:
        return (self.second,) if isinstance(self.first, float) else (self.first, self.second)

    @cached_property
    def landmarks(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for one in self.directions for name in one.landmarks))


@dataclass(frozen=True)
class AngleSeries:
    """``degrees`` (T,), NaN where undefined; ``gradient`` by landmark (T, 2), degrees for each plane unit of shift."""

    degrees: Floats
    gradient: Gradient

    def sd(self, click_sd: Floats | float) -> Floats:
        """Standard deviation (T,), degrees, of clicks with ``click_sd`` on every landmark: a number or (T,)."""
        squares = sum((np.sum(g * g, axis=-1) for g in self.gradient.values()), np.zeros(len(self.degrees)))
        return click_sd * np.sqrt(squares)


def direction_series(direction: Direction, points: PlanePoints) -> tuple[Floats, dict[str, Floats]]:
    """Angle (T,) in radians, (−π, π], and its gradient by landmark (T, 2). NaN where the direction is undefined."""
    along = direction.end.of(points) - direction.start.of(points)
    square = np.sum(along * along, axis=-1)
    square = np.where(square > SAME_PLACE**2, square, np.nan)
    angle = np.where(np.isnan(square), np.nan, np.arctan2(along[:, 1], along[:, 0]))
    turning = np.stack([-along[:, 1], along[:, 0]], axis=-1) / square[:, None]
    return angle, {name: weight * turning for name, weight in direction.weights().items()}


def _folded(radians: Floats, fold: Fold) -> tuple[Floats, Floats]:
    """The angle folded, and the sign (T,) that folding gives its gradient."""
    around = wrapped(radians)
    if fold == "unsigned":
        return np.abs(around), np.where(around < 0, -1.0, 1.0)
    if fold == "line":
        around = np.pi / 2 - np.mod(np.pi / 2 - around, np.pi)
    return around, np.ones_like(around)


def angle_series(angle: Angle, points: PlanePoints) -> AngleSeries:
    """The angle over time from points (T, 2) on the plane. Raises KeyError for a landmark that is no key."""
    turned, gradient = direction_series(angle.second, points)
    if isinstance(angle.first, float):
        turned = turned - np.radians(angle.first)
    else:
        before, before_gradient = direction_series(angle.first, points)
        turned = turned - before
        for name, shift in before_gradient.items():
            gradient[name] = gradient[name] - shift if name in gradient else -shift
    folded, sign = _folded(turned, angle.fold)
    scale = np.degrees(angle.factor) * sign[:, None]
    degrees = angle.offset + angle.factor * np.degrees(folded)
    return AngleSeries(degrees, {name: scale * shift for name, shift in gradient.items()})
