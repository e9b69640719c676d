"""Fitting a multinomial logistic regression: small, deterministic, numpy only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["fit_classes"]

_MEMORY_1, _MEMORY_2, _TINY = 0.9, 0.999, 1e-8


def fit_classes(
    rows: NDArray[np.float64],
    classes: NDArray[np.int64],
    count: int,
    ridge: NDArray[np.float64],
    prior: NDArray[np.float64],
    *,
    steps: int = 400,
    pace: float = 0.05,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Weights (features × classes) and bias of the ridge-penalised maximum of the likelihood.

    ``rows`` is (examples × features), ``classes`` the class of each example from 0, ``ridge`` the penalty of each
    feature for leaving ``prior`` (features × classes), which is what stands where the examples say nothing. Every class counts by the square root of its size. Full-batch Adam (Kingma and Ba, 2015): no chance in it.
    """
    wanted = np.eye(count)[classes]
    sizes = np.maximum(wanted.sum(axis=0), 1)
    each = (1 / np.sqrt(sizes))[classes]
    each /= each.sum()
    start = np.vstack([prior, np.zeros((1, count))])
    weights = start.copy()
    first, second = np.zeros_like(weights), np.zeros_like(weights)
    penalty = np.append(ridge, 0.0)[:, None]
    padded = np.hstack([rows, np.ones((len(rows), 1))])
    for step in range(1, steps + 1):
        scores = padded @ weights
        scores -= scores.max(axis=1, keepdims=True)
        shares = np.exp(scores)
        shares /= shares.sum(axis=1, keepdims=True)
        slope = padded.T @ ((shares - wanted) * each[:, None]) + penalty * (weights - start)
        first = _MEMORY_1 * first + (1 - _MEMORY_1) * slope
        second = _MEMORY_2 * second + (1 - _MEMORY_2) * slope**2
        weights -= pace * (first / (1 - _MEMORY_1**step)) / (np.sqrt(second / (1 - _MEMORY_2**step)) + _TINY)
    return weights[:-1], weights[-1]
