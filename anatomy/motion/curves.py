"""How a segment's line turns in the picture: angle and angular velocity over time, and what clicks do to them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from anatomy.motion.angles import Direction, direction_series
from anatomy.motion.cutoff import residual_analysis
from anatomy.motion.points import Floats
from anatomy.motion.smoothing import smoothed, zero_lag
from anatomy.motion.tracks import Filled, Grid, central_velocity, stretches, unwrapped

__all__ = ["AUTOMATIC", "SegmentCurve", "Smoothing", "Tracks", "segment_curve"]

Tracks = Mapping[str, Filled]
_WHOLE = 400  # up to this many frames in a stretch the filter is written out as one matrix


@dataclass(frozen=True)
class Smoothing:
    """``cutoff_hz`` by residual analysis (automatic), as given, or None for no smoothing."""

    kind: Literal["automatic", "given", "none"]
    cutoff_hz: float | None = None


AUTOMATIC = Smoothing("automatic")


@dataclass(frozen=True)
class SegmentCurve:
    """``raw``, ``degrees`` (smoothed) and ``velocity`` (degrees per second), each (T,) with gaps as NaN.

    ``gradient`` by landmark (T, 2): degrees for each plane unit by which the landmark is off.
    """

    segment: str
    grid: Grid
    raw: Floats
    degrees: Floats
    velocity: Floats
    smoothing: Smoothing
    gradient: Mapping[str, Floats]
    tracks: Tracks

    def velocity_rows(self, indexes: list[int]) -> list[Floats]:
        """For each index how the velocity there depends on every angle (T,): linearly. Zero outside its stretch."""
        return [self._velocity_row(index) for index in indexes]

    def _velocity_row(self, index: int) -> Floats:
        hertz, cutoff, row = self.grid.hertz, self.smoothing.cutoff_hz, np.zeros(self.grid.count)
        if cutoff is None:
            row[[index - 1, index + 1]] = -hertz / 2, hertz / 2
            return row
        start, end = next(pair for pair in self.stretches if pair[0] <= index < pair[1])
        if end - start > _WHOLE:
            # Beyond this the answer of the filter to one value has died away to a millionth.
            reach = math.ceil(2.5 * hertz / cutoff) + 4
            start, end = max(start, index - reach), min(end, index + reach + 1)
        if (start, end) not in self._written:
            self._written[start, end] = zero_lag(np.eye(end - start), cutoff, hertz)
        answer, here = self._written[start, end], index - start
        row[start:end] = (answer[here + 1] - answer[here - 1]) * hertz / 2
        return row

    @cached_property
    def _written(self) -> dict[tuple[int, int], Floats]:
        """The filter as a matrix, for the stretches that were asked about."""
        return {}

    @cached_property
    def stretches(self) -> list[tuple[int, int]]:
        """The half-open index ranges without gaps."""
        return stretches(self.raw)

    def onto_clicks(self, row: Floats) -> dict[str, Floats]:
        """What depends on the angles by ``row`` (T,), as a gradient for every click (T, 2) by landmark."""
        weights = row[:, None]
        return {
            name: self.tracks[name].onto_clicks(np.where(weights == 0, 0.0, weights * shift))
            for name, shift in self.gradient.items()
        }


def _chosen(raw: Floats, hertz: float, asked: Smoothing) -> Smoothing:
    if asked.kind != "automatic":
        return asked
    analysis = residual_analysis(raw, hertz)
    return Smoothing("automatic", analysis.cutoff_hz) if analysis else Smoothing("none")


def segment_curve(
    segment: str, direction: Direction, tracks: Tracks, grid: Grid, asked: Smoothing = AUTOMATIC
) -> SegmentCurve:
    """The curve of one line over the grid. Raises KeyError for a landmark without a track, ValueError for a cut-off
    at or above half the rate."""
    turned, gradient = direction_series(direction, {name: track.values for name, track in tracks.items()})
    raw = np.degrees(unwrapped(turned))
    smoothing = _chosen(raw, grid.hertz, asked)
    degrees = smoothed(raw, smoothing.cutoff_hz, grid.hertz)
    return SegmentCurve(
        segment,
        grid,
        raw,
        degrees,
        central_velocity(degrees, grid.hertz),
        smoothing,
        {name: np.degrees(shift) for name, shift in gradient.items()},
        tracks,
    )
