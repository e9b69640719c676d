"""What is drawn on a still, as data: landmarks of the body and marks, in pixels of the source.

Pixels are those of the picture upright, before the pixel aspect; the origin is the upper left corner, y runs down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Literal

__all__ = ["KINDS", "Landmark", "Mark", "MarksDocument", "MarksError", "Point", "Scale", "Spot", "State"]

Point = tuple[float, float]
Spot = Point | str
"""A place of its own, or the name of the landmark that it follows."""
State = Literal["placed", "suggested", "confirmed"]

KINDS: Final[Mapping[str, tuple[int, int]]] = {
    "point": (1, 1),
    "line": (2, 2),
    "polyline": (2, 50),
    "angle": (3, 3),
    "pair": (4, 4),
    "arrow": (2, 2),
    "turn": (3, 3),
    "freehand": (2, 2000),
    "label": (1, 1),
    "zone": (3, 100),
}
"""Kind of mark → fewest and most points. An angle has its vertex in the middle; a turn is start, a point on the way, end."""


class MarksError(ValueError):
    """What is wrong with a marks document, where, and how to mend it: one sentence."""


@dataclass(frozen=True)
class Landmark:
    """A place of the body. ``visibility`` 0..1, ``depth`` and ``space`` are what a pose model said of it, if one did.

    ``space``: metres from the middle of the hips, x to the right of the picture, y down, z away from the camera.
    """

    at: Point
    state: State = "placed"
    visibility: float | None = None
    depth: float | None = None
    space: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Mark:
    """One drawn thing. ``tone`` 1 to 3 is its kind of line; ``value`` writes its measure beside it.

    The text of a pair names both its lines, parted by a semicolon.
    """

    id: str
    kind: str
    points: tuple[Spot, ...]
    tone: int = 1
    text: str = ""
    shown: bool = True
    value: bool = False


@dataclass(frozen=True)
class Scale:
    """A length in the picture that is known in truth: ``length`` (> 0) in ``unit`` with its standard deviation."""

    points: tuple[Spot, Spot]
    length: Fraction
    unit: str = "m"
    sd: Fraction = Fraction(0)


@dataclass(frozen=True)
class MarksDocument:
    """Everything drawn on one still. Marks are drawn in their order."""

    landmarks: Mapping[str, Landmark] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()
    scale: Scale | None = None

    def place(self, spot: Spot) -> Point | None:
        """Where a spot lies; None when the landmark that it follows is not there."""
        if not isinstance(spot, str):
            return spot
        landmark = self.landmarks.get(spot)
        return landmark.at if landmark else None

    def places(self, mark: Mark) -> tuple[Point, ...] | None:
        """Where all points of a mark lie; None when one of them is not there."""
        found = [self.place(spot) for spot in mark.points]
        return None if None in found else tuple(place for place in found if place is not None)
