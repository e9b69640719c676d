"""How far clicks throw a whole curve: the standard deviation of the smoothed angle and of its velocity at every frame.

Both depend linearly on the angles of all frames, and those to first order on the clicks, so the variance is the sum of
the squared gradients (JCGM 100:2008, clause 5.1.2), the cut-off taken as given. Where points were interpolated
between key frames, all that hangs on one click is added up first.
"""

from __future__ import annotations

import math

import numpy as np

from anatomy.motion.curves import SegmentCurve
from anatomy.motion.points import Floats
from anatomy.motion.smoothing import zero_lag

__all__ = ["curve_spread"]

_BLOCK = 200
_WHOLE = 400


def curve_spread(curve: SegmentCurve, click_sd: float) -> tuple[Floats, Floats]:
    """Standard deviations (T,) of ``curve.degrees`` and of ``curve.velocity``, NaN where these are; ``click_sd`` in
    plane units."""
    angle, speed = np.full(curve.grid.count, np.nan), np.full(curve.grid.count, np.nan)
    for start, end in curve.stretches:
        for first, last, left, answer in _filter_rows(curve, start, end):
            inner = answer[first - left : last - left]
            angle[first:last] = click_sd * np.sqrt(_variance(curve, inner, left))
            # Central differences of the rows; the first and the last frame of a stretch have none.
            low, high = max(first, start + 1), min(last, end - 1)
            if low < high:
                rows = answer[low + 1 - left : high + 1 - left] - answer[low - 1 - left : high - 1 - left]
                speed[low:high] = click_sd * np.sqrt(_variance(curve, rows * curve.grid.hertz / 2, left))
    return angle, speed


def _filter_rows(curve: SegmentCurve, start: int, end: int) -> list[tuple[int, int, int, Floats]]:
    """Blocks (first, last, left, rows): how the angles from ``left`` on make those of [first, last)."""
    cutoff, hertz, count = curve.smoothing.cutoff_hz, curve.grid.hertz, end - start
    if count <= _WHOLE:
        return [(start, end, start, _written(count, cutoff, hertz))]
    # Beyond this the answer of the filter to one value has died away to a millionth.
    reach = 2 if cutoff is None else math.ceil(2.5 * hertz / cutoff) + 4
    blocks = []
    for first in range(start, end, _BLOCK):
        last = min(first + _BLOCK, end)
        left, right = max(start, first - reach), min(end, last + reach)
        blocks.append((first, last, left, _written(right - left, cutoff, hertz)))
    return blocks


def _written(count: int, cutoff: float | None, hertz: float) -> Floats:
    """The filter as a matrix (count, count)."""
    return np.eye(count) if cutoff is None else zero_lag(np.eye(count), cutoff, hertz)


def _variance(curve: SegmentCurve, rows: Floats, left: int) -> Floats:
    """Variance (R,) of what ``rows`` (R, W) make of the angles from ``left`` on, for clicks of variance 1."""
    found, right = np.zeros(len(rows)), left + rows.shape[1]
    for name, gradient in curve.gradient.items():
        track = curve.tracks[name]
        for axis in (0, 1):
            parts = rows * gradient[left:right, axis]
            if track.made[left:right].any():
                share = track.share[left:right]
                onto = np.zeros((curve.grid.count, len(rows)))
                np.add.at(onto, track.lower[left:right], ((1 - share) * parts).T)
                np.add.at(onto, track.upper[left:right], (share * parts).T)
                parts = onto.T
            found += np.sum(parts * parts, axis=1)
    return found
