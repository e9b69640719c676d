"""Choosing the cut-off of the smoothing by residual analysis, after Winter.

Winter (Biomechanics and Motor Control of Human Movement, 4th ed. 2009, section 3.5.4.3) plots the root mean square
residual between raw and filtered values against the cut-off, prolongs the straight part on the right, where only noise
is lost, back to 0 Hz, and takes the cut-off at which the residual equals that intercept, the size of the noise.

How the straight part is chosen here: for white noise it is the square of the residual that falls on a straight line,
since by Parseval's theorem each hertz of band that is cut away adds the same to it; so the line is fitted to the
squares. It begins with the upper two fifths of the cut-offs tried and takes in lower ones for as long as the line
accounts for 99 % of their variance. The square root of its intercept is Winter's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anatomy.motion.points import Floats
from anatomy.motion.smoothing import zero_lag
from anatomy.motion.tracks import stretches

__all__ = ["FEWEST", "ResidualAnalysis", "residual_analysis"]

# Fewer values in a row than this can't show which part of them is noise.
FEWEST = 12
_TRIED = 89
_ACCOUNTED_FOR = 0.99


@dataclass(frozen=True)
class ResidualAnalysis:
    """``cutoff_hz``, and what it was read off: residuals of the ``tried`` cut-offs, the straight part, the intercept."""

    cutoff_hz: float
    tried: Floats
    residuals: Floats
    straight_from_hz: float
    noise: float


def _residuals(values: Floats, tried: Floats, hertz: float) -> Floats:
    """Root mean square (K,) of what each cut-off takes away from a series (T,), over its stretches of ``FEWEST`` up."""
    squares, count = np.zeros(len(tried)), 0
    for start, end in stretches(values):
        if end - start < FEWEST:
            continue
        part = values[start:end, None]
        squares += np.sum((part - zero_lag(part, tried, hertz)) ** 2, axis=0)
        count += end - start
    return np.sqrt(squares / count)


def _straight_part(tried: Floats, squares: Floats) -> tuple[int, float]:
    """Index at which the straight part of the squared residuals begins, and its value at 0 Hz."""
    begin = int(0.6 * len(tried))
    found = begin, float(np.polyval(np.polyfit(tried[begin:], squares[begin:], 1), 0.0))
    for start in range(begin, 0, -1):
        line = np.polyfit(tried[start:], squares[start:], 1)
        spread = np.var(squares[start:])
        left = np.var(squares[start:] - np.polyval(line, tried[start:]))
        if spread == 0 or (left > (1 - _ACCOUNTED_FOR) * spread and start < begin):
            break
        found = start, float(np.polyval(line, 0.0))
    return found


def residual_analysis(values: Floats, hertz: float) -> ResidualAnalysis | None:
    """The cut-off for a series (T,) with ``hertz`` values per second; gaps are passed over.

    None where no stretch is long enough. A series without noise gets the highest cut-off tried, 0.9 of half the rate.
    """
    if all(end - start < FEWEST for start, end in stretches(values)):
        return None
    tried = np.linspace(0.02, 0.9, _TRIED) * hertz / 2
    residuals = _residuals(values, tried, hertz)
    begin, square = _straight_part(tried, residuals**2)
    noise = float(np.sqrt(max(square, 0.0)))
    enough = np.flatnonzero(residuals <= noise)
    if not len(enough):
        cutoff = float(tried[-1])
    elif enough[0] == 0:
        cutoff = float(tried[0])
    else:
        ends = slice(enough[0] - 1, enough[0] + 1)
        cutoff = float(np.interp(-noise, -residuals[ends], tried[ends]))
    return ResidualAnalysis(cutoff, tried, residuals, float(tried[begin]), noise)
