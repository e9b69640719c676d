"""Shirt numbers: our own digits, drawn as thick strokes and sampled to a grid of ink shares."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np

from .axes import Floats

__all__ = ["digit_cells"]

_ROWS, _COLUMNS, _HALF_STROKE = 22, 13, 0.105


def _arc(x: float, y: float, rx: float, ry: float, start: float, end: float) -> list[tuple[float, float]]:
    angles = np.radians(np.linspace(start, end, 24))
    return [(x + rx * float(np.cos(a)), y + ry * float(np.sin(a))) for a in angles]


# Centre lines in a box one wide and 1.75 high, y downwards.
_STROKES: dict[str, list[list[tuple[float, float]]]] = {
    "1": [[(0.26, 0.38), (0.56, 0.12), (0.56, 1.63)], [(0.26, 1.63), (0.86, 1.63)]],
    "2": [[*_arc(0.5, 0.5, 0.36, 0.38, 190, 390), (0.14, 1.63), (0.88, 1.63)]],
    "4": [[(0.66, 1.66), (0.66, 0.12), (0.12, 1.18), (0.92, 1.18)]],
    "6": [_arc(0.5, 1.18, 0.37, 0.45, 0, 360), [*_arc(0.72, 1.18, 0.59, 1.06, 180, 262)]],
    "9": [_arc(0.5, 0.57, 0.37, 0.45, 0, 360), [*_arc(0.28, 0.57, 0.59, 1.06, 0, 82)]],
}


def _distance(points: Floats, line: list[tuple[float, float]]) -> Floats:
    """Distance of points (..., 2) from a chain of straight pieces."""
    best = np.full(points.shape[:-1], np.inf)
    for (x0, y0), (x1, y1) in pairwise(line):
        way = np.array([x1 - x0, y1 - y0])
        share = np.clip(((points - [x0, y0]) @ way) / max(float(way @ way), 1e-12), 0, 1)
        best = np.minimum(best, np.linalg.norm(points - [x0, y0] - share[..., None] * way, axis=-1))
    return best


@cache
def digit_cells(digit: str) -> Floats:
    """(22, 13) shares of ink, 0 to 1, of one digit. Raises KeyError for one that is not drawn yet."""
    fine = 4
    y = (np.arange(_ROWS * fine) + 0.5) / (_ROWS * fine) * 1.75
    x = (np.arange(_COLUMNS * fine) + 0.5) / (_COLUMNS * fine)
    points = np.stack(np.meshgrid(x, y), -1)
    inked = np.min([_distance(points, line) for line in _STROKES[digit]], axis=0) < _HALF_STROKE
    return inked.reshape(_ROWS, fine, _COLUMNS, fine).mean(axis=(1, 3))
