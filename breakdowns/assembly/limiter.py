"""True peaks, and holding a sound under a ceiling of them.

True peak: the highest value of the signal between the samples as well, estimated by four-fold
oversampling (ITU-R BS.1770-4, Annex 2; the interpolating filter is our own, a windowed sinc). Samples are
float32 (frames, 2); levels are amplitudes, 1.0 = 0 dBFS.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

__all__ = ["amplitude", "decibels", "limited", "peaks", "true_peak"]

_PHASES = (0.25, 0.5, 0.75)
_TAPS = 24
_HALF = _TAPS // 2


def amplitude(db: float) -> float:
    """−6.02 dB → 0.5."""
    return float(10 ** (db / 20))


def decibels(level: float) -> float:
    """0.5 → −6.02 dB; 0 → −inf."""
    return float(20 * np.log10(level)) if level > 0 else float("-inf")


def _filter(phase: float) -> np.ndarray:
    """The weights of the samples from 11 before to 12 after, for the value ``phase`` of a sample later."""
    at = np.arange(-_HALF + 1, _HALF + 1) - phase
    return (np.sinc(at) * np.kaiser(_TAPS, 6.0))[::-1].astype(np.float32)


def peaks(samples: np.ndarray) -> np.ndarray:
    """For each frame the highest true peak of either channel near it: float32 (frames,)."""
    found = np.abs(samples).max(axis=1)
    if len(samples) < 2:
        return found
    for channel in samples.T:
        padded = np.pad(channel, (_HALF - 1, _HALF))
        for phase in _PHASES:
            between = np.abs(np.convolve(padded, _filter(phase), "valid"))[: len(samples)]
            found = np.maximum(found, between)
            found[1:] = np.maximum(found[1:], between[:-1])
    return found


def true_peak(samples: np.ndarray) -> float:
    """The highest true peak, an amplitude; 0.0 for no samples."""
    return float(peaks(samples).max()) if len(samples) else 0.0


def limited(samples: np.ndarray, ceiling: float, reach: int) -> np.ndarray:
    """The samples with every true peak brought down to ``ceiling`` (amplitude), the rest left alone.

    The gain is down over ``reach`` samples to both sides of a peak and comes and goes along a smooth
    curve over ``reach`` more, the same for both channels; nothing is delayed.
    """
    wanted = np.minimum(1.0, ceiling / np.maximum(peaks(samples), 1e-9)).astype(np.float32)
    if wanted.min(initial=1.0) >= 1.0:
        return samples
    lowest = sliding_window_view(np.pad(wanted, reach, constant_values=1.0), 2 * reach + 1).min(axis=1)
    curve = np.hanning(2 * reach + 3)[1:-1].astype(np.float32)
    gain = np.convolve(np.pad(lowest, reach, mode="edge"), curve / curve.sum(), "valid")
    return (samples * gain[:, None]).astype(np.float32)
