"""Where words stand on a picture: clear of lines, of each other and of the edge, as near to their mark as can be.

Each label has a short list of places; the cheapest is taken, one label after the other in their order, so the same
marks always get the same places. Costs count what would be covered, in units of the label's own height.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Box", "Layout", "Wanted", "covered_length"]

Point = tuple[float, float]
_COVERED_LABEL = 40.0
_COVERED_LINE = 8.0
_OUTSIDE = 60.0
_AWAY = 0.35
_SIDES = (  # share of the box's width and height by which its centre lies off, in order of liking
    (0.5, -0.5), (-0.5, -0.5), (0.5, 0.5), (-0.5, 0.5), (0.0, -0.5), (0.0, 0.5), (0.5, 0.0), (-0.5, 0.0),
)  # fmt: skip
_GAPS = (0.55, 1.2, 2.2, 3.4)  # from the mark, in heights


@dataclass(frozen=True)
class Box:
    """An upright rectangle: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float

    def common(self, other: Box) -> float:
        """The area that both cover."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, wide) * max(0.0, high)

    def beyond(self, width: float, height: float) -> float:
        """By how much it stands out of (0, 0, width, height), added up over its sides."""
        outs = (-self.left, -self.top, self.right - width, self.bottom - height)
        return sum(max(0.0, out) for out in outs)


@dataclass(frozen=True)
class Wanted:
    """A label to be placed: the size of its box and the points of its mark it may stand at, best first."""

    width: float
    height: float
    near: tuple[Point, ...]


def covered_length(box: Box, lines: NDArray[np.float64]) -> float:
    """Length of straight lines (N, 4: x1, y1, x2, y2) inside the box (Liang and Barsky 1984)."""
    if not len(lines):
        return 0.0
    start, along = lines[:, :2], lines[:, 2:] - lines[:, :2]
    low, high = np.array([box.left, box.top]), np.array([box.right, box.bottom])
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        one, two = (low - start) / along, (high - start) / along
    inside = (start >= low) & (start <= high)
    enter = np.where(along == 0, np.where(inside, -np.inf, np.inf), np.minimum(one, two)).max(axis=1)
    leave = np.where(along == 0, np.where(inside, np.inf, -np.inf), np.maximum(one, two)).min(axis=1)
    part = np.clip(np.minimum(leave, 1) - np.maximum(enter, 0), 0, 1)
    return float(np.sum(part * np.hypot(along[:, 0], along[:, 1])))


@dataclass
class Layout:
    """The labels of one picture. ``clear`` is the room a label keeps around itself."""

    width: float
    height: float
    lines: NDArray[np.float64]
    discs: Sequence[Box] = ()
    clear: float = 2.0
    taken: list[Box] = field(default_factory=list)

    def place(self, wanted: Wanted) -> Box:
        """The cheapest box for a label; it counts as taken from then on."""
        best = min(self._candidates(wanted), key=lambda pair: pair[0])[1]
        self.taken.append(best)
        return best

    def _candidates(self, wanted: Wanted) -> Iterable[tuple[float, Box]]:
        w, h = wanted.width, wanted.height
        for rank, (x, y) in enumerate(wanted.near):
            for gap in _GAPS:
                for side, (across, down) in enumerate(_SIDES):
                    cx = x + across * w + np.sign(across) * gap * h * (0.7 if down else 1.0)
                    cy = y + down * h + np.sign(down) * gap * h * (0.7 if across else 1.0)
                    box = self._inside(Box(cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2))
                    cost = self._cost(box, h) + _AWAY * (gap + 0.5 * rank) + 0.02 * side
                    yield cost, box

    def _inside(self, box: Box) -> Box:
        """The box pushed into the picture by at most half its own size."""
        w, h = box.right - box.left, box.bottom - box.top
        x = min(max(0.0, self.clear - box.left), w / 2) - min(
            max(0.0, box.right - self.width + self.clear), w / 2
        )
        y = min(max(0.0, self.clear - box.top), h / 2) - min(
            max(0.0, box.bottom - self.height + self.clear), h / 2
        )
        return Box(box.left + x, box.top + y, box.right + x, box.bottom + y)

    def _cost(self, box: Box, height: float) -> float:
        c = self.clear
        wide = Box(box.left - c, box.top - c, box.right + c, box.bottom + c)
        area = height * height
        covered = sum(wide.common(other) for other in self.taken) * _COVERED_LABEL / area
        covered += sum(wide.common(other) for other in self.discs) * _COVERED_LINE / area
        covered += covered_length(wide, self.lines) * _COVERED_LINE / height
        return covered + wide.beyond(self.width, self.height) * _OUTSIDE / height
