"""Zero-lag low-pass filtering after Winter, and what it does to errors.

A second-order Butterworth filter runs forwards and backwards: fourth order in all, no lag. Each pass is given a
cut-off raised so that both together are 3 dB down at the cut-off asked for (Winter, Biomechanics and Motor Control of
Human Movement, 4th ed. 2009, section 3.5.4.2: divide the pre-warped frequency by (2^(1/2) − 1)^(1/4) = 0.802). The
ends are prolonged by their own mirror image through the end point, so that a steady turn stays one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from anatomy.motion.points import Floats
from anatomy.motion.tracks import stretches

__all__ = ["TWO_PASSES", "Coefficients", "butterworth", "smoothed", "zero_lag"]

# The correction for two passes of a second-order filter.
TWO_PASSES = (math.sqrt(2) - 1) ** 0.25


@dataclass(frozen=True)
class Coefficients:
    """y[n] = b0 x[n] + b1 x[n−1] + b2 x[n−2] − a1 y[n−1] − a2 y[n−2]; numbers, or arrays for several cut-offs."""

    b0: Floats
    b1: Floats
    b2: Floats
    a1: Floats
    a2: Floats


def butterworth(cutoff_hz: Floats | float, rate_hz: float) -> Coefficients:
    """One pass of the filter whose two passes are 3 dB down at ``cutoff_hz``.

    Raises ValueError unless every cut-off lies above 0 and below half the rate.
    """
    cutoff = np.asarray(cutoff_hz, float)
    if not np.all((cutoff > 0) & (cutoff < rate_hz / 2)):
        raise ValueError(f"A cut-off must lie above 0 and below half the rate ({rate_hz / 2:g} Hz).")
    warped = np.tan(np.pi * cutoff / rate_hz) / TWO_PASSES
    whole = 1 + math.sqrt(2) * warped + warped**2
    b0 = warped**2 / whole
    return Coefficients(
        b0, 2 * b0, b0, 2 * (warped**2 - 1) / whole, (1 - math.sqrt(2) * warped + warped**2) / whole
    )


def _one_pass(values: Floats, c: Coefficients) -> Floats:
    """The filter along the first axis, begun as if the first value had stood for ever."""
    out = np.empty(np.broadcast_shapes(values.shape, (1, *np.shape(c.b0))))
    one = (c.b1 - c.a1 + c.b2 - c.a2) * values[0]
    two = (c.b2 - c.a2) * values[0]
    for n in range(len(values)):
        x = values[n]
        y = c.b0 * x + one
        one = c.b1 * x - c.a1 * y + two
        two = c.b2 * x - c.a2 * y
        out[n] = y
    return out


def _padding(c: Coefficients) -> int:
    """Frames to prolong each end by, until the slowest filter has forgotten how it began to 1 part in 10 million.

    Each frame leaves the radius of the poles, sqrt(a2), of what it began with.
    """
    slowest = math.sqrt(float(np.max(c.a2)))
    return min(10_000, max(20, math.ceil(math.log(1e-7) / math.log(slowest)))) if 0 < slowest < 1 else 10_000


def zero_lag(values: Floats, cutoff_hz: Floats | float, rate_hz: float) -> Floats:
    """``values`` (T, …) without gaps, filtered along the first axis; same shape.

    ``cutoff_hz`` is a number or an array that fits the trailing axes (for (T, 1) values, K cut-offs give (T, K)).
    Raises ValueError for a cut-off outside 0 to half the rate.
    """
    coefficients = butterworth(cutoff_hz, rate_hz)
    if len(values) < 2:
        shape = np.broadcast_shapes(values.shape, (1, *np.shape(cutoff_hz)))
        return np.array(np.broadcast_to(values, shape), float)
    pad = _padding(coefficients)
    around = [(pad, pad)] + [(0, 0)] * (np.ndim(values) - 1)
    longer = np.pad(np.asarray(values, float), around, mode="reflect", reflect_type="odd")
    there = _one_pass(longer, coefficients)
    back = _one_pass(there[::-1], coefficients)[::-1]
    return back[pad : pad + len(values)]


def smoothed(values: Floats, cutoff_hz: float | None, rate_hz: float) -> Floats:
    """A series (T,) filtered in each stretch without gaps on its own; gaps stay NaN. None leaves it as it is."""
    if cutoff_hz is None:
        return np.array(values, float)
    out = np.full(len(values), np.nan)
    for start, end in stretches(values):
        out[start:end] = zero_lag(values[start:end], cutoff_hz, rate_hz)
    return out
