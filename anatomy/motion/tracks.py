"""Points and angles over time, at a constant rate. What was not marked stays a gap, and is NaN.

A gap is filled only where somebody named key frames for it, on a straight line between two of them, and every value
that came about so is told apart from a marked one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from anatomy.motion.points import Floats

__all__ = [
    "Filled",
    "Grid",
    "between_keys",
    "central_velocity",
    "grid_of",
    "laid_out",
    "stretches",
    "unwrapped",
]


@dataclass(frozen=True)
class Grid:
    """Frames ``first``, ``first + step``, … (``count`` of them) of a clip at ``rate`` frames per second, exact."""

    first: int
    step: int
    count: int
    rate: Fraction

    @property
    def hertz(self) -> float:
        """Values per second."""
        return float(self.rate / self.step)

    def frame(self, index: int) -> int:
        return self.first + index * self.step

    def index(self, frame: int) -> int:
        return (frame - self.first) // self.step

    def seconds(self, index: float) -> float:
        """Seconds from frame 0 of the clip; ``index`` may lie between two frames."""
        return (self.first + index * self.step) / float(self.rate)


def grid_of(frames: Iterable[int], rate: Fraction) -> Grid:
    """The widest constant step that meets all ``frames``; those that it meets besides are gaps. Raises ValueError."""
    ordered = sorted(set(frames))
    if not ordered:
        raise ValueError("There is no frame to lay a grid over.")
    step = math.gcd(*(b - a for a, b in pairwise(ordered))) or 1
    return Grid(ordered[0], step, (ordered[-1] - ordered[0]) // step + 1, rate)


def stretches(values: Floats) -> list[tuple[int, int]]:
    """The half-open index ranges of a series (T,) that hold no gap, in order."""
    there = np.concatenate([[False], np.isfinite(values), [False]])
    edges = np.flatnonzero(there[1:] != there[:-1])
    return [(int(start), int(end)) for start, end in edges.reshape(-1, 2)]


def unwrapped(radians: Floats) -> Floats:
    """An angle (T,) made continuous in each stretch: no step of more than half a turn. Gaps stay gaps.

    A segment that turns by more than half a turn from one value to the next can't be told from one turning back.
    """
    out = np.array(radians, float)
    for start, end in stretches(out):
        out[start:end] = np.unwrap(out[start:end])
    return out


def central_velocity(values: Floats, hertz: float) -> Floats:
    """Central differences (Winter 2009, section 3.6) per second of a series (T,); NaN beside gaps and at both ends."""
    out = np.full(len(values), np.nan)
    out[1:-1] = (values[2:] - values[:-2]) * hertz / 2
    # Two values across a single missing one belong to two stretches.
    out[~np.isfinite(values)] = np.nan
    return out


@dataclass(frozen=True)
class Filled:
    """One landmark over time (T, 2), and of which clicks each value is made.

    ``lower`` and ``upper`` (T,) are the indexes of the two clicks, ``share`` (T,) is the weight of the upper one. A
    marked value stands on itself: lower = upper = its own index, share 0.
    """

    values: Floats
    lower: NDArray[np.int64]
    upper: NDArray[np.int64]
    share: Floats

    @cached_property
    def made(self) -> NDArray[np.bool_]:
        """Where a value was interpolated (T,)."""
        return self.lower != self.upper

    def onto_clicks(self, gradient: Floats) -> Floats:
        """A gradient for the values (T, 2) as one for the clicks (T, 2)."""
        if not self.made.any():
            return gradient
        out = np.zeros_like(gradient)
        np.add.at(out, self.lower, (1 - self.share)[:, None] * gradient)
        np.add.at(out, self.upper, self.share[:, None] * gradient)
        return out

    def click_share(self) -> Floats:
        """By how much a value's error (T,) is smaller than a click's: sqrt((1 − s)² + s²)."""
        return np.sqrt((1 - self.share) ** 2 + self.share**2)


def between_keys(values: Floats, keys: Sequence[int] = ()) -> Filled:
    """A landmark (T, 2) with the gaps between neighbouring ``keys`` (indexes) filled on a straight line.

    A pair of keys is used only where the landmark was marked at both. Marked values are never changed.
    """
    there = np.all(np.isfinite(values), axis=-1)
    out = np.array(values, float)
    own = np.arange(len(values))
    lower, upper, share = own.copy(), own.copy(), np.zeros(len(values))
    for start, end in pairwise(sorted(set(keys))):
        if not (there[start] and there[end]):
            continue
        missing = start + np.flatnonzero(~there[start:end])
        part = (missing - start) / (end - start)
        out[missing] = (1 - part)[:, None] * values[start] + part[:, None] * values[end]
        lower[missing], upper[missing], share[missing] = start, end, part
    return Filled(out, lower, upper, share)


def laid_out(rows: Mapping[int, Mapping[str, Floats]], grid: Grid) -> dict[str, Floats]:
    """Landmarks by frame to landmarks (T, 2) on the grid, NaN where one was not marked."""
    names = dict.fromkeys(name for row in rows.values() for name in row)
    tracks = {name: np.full((grid.count, 2), np.nan) for name in names}
    for frame, row in rows.items():
        for name, place in row.items():
            tracks[name][grid.index(frame)] = place
    return tracks
