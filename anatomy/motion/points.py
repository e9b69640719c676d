"""Points of the body in the picture, and the plane in which angles are computed.

Points come in pixels, x to the right and y down. The plane has square units and y up, so that counter-clockwise on
the screen is positive: x is multiplied by the pixel aspect first, then y changes its sign, then the plane is turned
until the picture is upright. Time is the first axis of every array; a point that is not there is NaN.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

__all__ = ["LANDMARKS", "Floats", "Picture", "Place", "PlanePoints", "at", "middle", "wrapped"]

Floats = NDArray[np.float64]
PlanePoints = Mapping[str, Floats]

_PAIRED = (
    "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "foot_index", "ear", "eye",
    "eye_inner", "eye_outer", "mouth", "pinky", "index", "thumb",
)  # fmt: skip
LANDMARKS = ("nose", *(f"{side}_{part}" for part in _PAIRED for side in ("left", "right")))


@dataclass(frozen=True)
class Picture:
    """How pixels stand to the plane: ``pixel_aspect`` is the width of a pixel over its height.

    ``rotation`` (degrees, counter-clockwise on the screen) is by how much the stored picture has to be turned to be
    upright: a quarter turn of the recording, a small roll of the camera about its line of sight, or both.
    """

    pixel_aspect: float = 1.0
    rotation: float = 0.0

    def on_plane(self, pixels: Floats) -> Floats:
        """Pixels (..., 2), y down, to the plane (..., 2), square units, y up, upright."""
        scaled = np.asarray(pixels, float) * (self.pixel_aspect, -1.0)
        if not self.rotation:
            return scaled
        angle = math.radians(self.rotation)
        cos, sin = math.cos(angle), math.sin(angle)
        return scaled @ np.array([[cos, sin], [-sin, cos]])


@dataclass(frozen=True)
class Place:
    """A weighted mean of landmarks: one of them, or the middle of a pair. Weights sum to 1."""

    parts: tuple[tuple[str, float], ...]

    @cached_property
    def landmarks(self) -> tuple[str, ...]:
        return tuple(name for name, _ in self.parts)

    def of(self, points: PlanePoints) -> Floats:
        """Where it is, (T, 2); NaN where one of its landmarks is. Raises KeyError when one is no key of ``points``."""
        first, weight = self.parts[0]
        place = weight * points[first]
        for name, weight in self.parts[1:]:
            place = place + weight * points[name]
        return place

    def __str__(self) -> str:
        return self.parts[0][0] if len(self.parts) == 1 else f"the middle of {' and '.join(self.landmarks)}"


def at(landmark: str) -> Place:
    """The place of one landmark."""
    return Place(((landmark, 1.0),))


def middle(part: str) -> Place:
    """Half-way between the left and the right landmark of a pair: ``middle("hip")``."""
    return Place(((f"left_{part}", 0.5), (f"right_{part}", 0.5)))


def wrapped(angle: Floats) -> Floats:
    """Radians brought into (−π, π]."""
    return np.pi - np.mod(np.pi - np.asarray(angle, float), 2 * np.pi)
