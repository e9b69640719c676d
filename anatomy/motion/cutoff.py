"""Choosing the cut-off of the smoothing by residual analysis, after Winter.

Winter (Biomechanics and Motor Control of Human Movement, 4th ed. 2009, section 3.5.4.3) plots the root mean square
residual between raw and filtered values against the cut-off, prolongs the straight part on the right, where only noise
is lost, back to 0 Hz, and takes the cut-off at which the residual equals that intercept, the size of the noise.

How the straight part is chosen here. How much of white noise a cut-off takes away is known beforehand, from the
filter's own response (Parseval's theorem); over that share, in place of hertz, the square of the residual of pure noise
is exactly straight and runs through the origin. So the line is fitted to the squares over the share. It begins with the upper
two fifths of the cut-offs tried and takes in lower ones for as long as the squared distances from it stay below 2 % of the
squares' variance. Its value where all noise is taken away, which is at 0 Hz, is the square of Winter's intercept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from anatomy.motion.points import Floats
from anatomy.motion.smoothing import TWO_PASSES, zero_lag
from anatomy.motion.tracks import stretches

__all__ = ["FEWEST", "ResidualAnalysis", "residual_analysis"]

# Fewer values in a row than this can't show which part of them is noise.
FEWEST = 12
_OFF = 0.02
_STEPS = 2048
# The cut-offs tried, as shares of half the rate.
_SHARES = np.linspace(0.02, 0.9, 89)


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


@cache
def _noise_taken() -> Floats:
    """The share (K,) of the power of white noise that each of the cut-offs tried takes away in both passes."""
    half_turns = np.tan(np.pi / 2 * (np.arange(_STEPS) + 0.5) / _STEPS)
    edges = np.tan(np.pi / 2 * _SHARES) / TWO_PASSES
    kept = 1 / (1 + (half_turns[:, None] / edges) ** 4)
    return np.mean((1 - kept) ** 2, axis=0)


def _straight_part(squares: Floats) -> tuple[int, float]:
    """Index at which the straight part of the squared residuals (K,) begins, and the variance of the noise."""
    taken = _noise_taken()
    begin = int(0.6 * len(taken))
    found = begin, 0.0
    for start in range(begin, -1, -1):
        share, square = taken[start:], squares[start:]
        slope = float(share @ square / (share @ share))
        if start < begin and np.mean((square - slope * share) ** 2) > _OFF * np.var(square):
            break
        found = start, slope
    return found


def residual_analysis(values: Floats, hertz: float) -> ResidualAnalysis | None:
    """The cut-off for a series (T,) with ``hertz`` values per second; gaps are passed over.

    None where no stretch is long enough. A series without noise gets the highest cut-off tried, 0.9 of half the rate.
    """
    if all(end - start < FEWEST for start, end in stretches(values)):
        return None
    tried = _SHARES * hertz / 2
    residuals = _residuals(values, tried, hertz)
    begin, square = _straight_part(residuals**2)
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
