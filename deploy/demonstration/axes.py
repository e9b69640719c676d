"""Directions and rotations on the court, with segment axes after the ISB.

Court frame (metres): x along the goal line, to the left of a player who attacks the goal; y from the goal
line into the court; z up. A heading is an angle about z in degrees, counter-clockwise seen from above,
0 facing the goal (towards -y).

Segment axes after Wu et al., J. Biomech. 2002; 35:543-548 and 2005; 38:981-992: X forward, Y up (towards the
head, or from distal to proximal), Z to the right; they are the columns of a segment's 3x3 matrix.
All functions take and give arrays with leading axes for time.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["along", "cross", "direction", "dot", "frame_from", "turned_segment", "unit"]

Floats = NDArray[np.float64]


def dot(a: Floats, b: Floats) -> Floats:
    """Scalar product over the last axis, kept as length 1."""
    return np.sum(a * b, axis=-1, keepdims=True)


def cross(a: Floats, b: Floats) -> Floats:
    """Vector product over the last axis."""
    return np.stack(
        [
            a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1],
            a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2],
            a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0],
        ],
        axis=-1,
    )


def unit(vector: Floats) -> Floats:
    """The vector at length 1 (last axis). A zero vector stays zero."""
    return vector / np.maximum(np.linalg.norm(vector, axis=-1, keepdims=True), 1e-12)


def direction(heading: Floats, elevation: Floats | float = 0.0) -> Floats:
    """Unit vector (..., 3) of a heading and an elevation above the floor, both in degrees."""
    h, e = np.radians(heading), np.radians(np.broadcast_to(elevation, np.shape(heading)))
    return np.stack([np.sin(h) * np.cos(e), -np.cos(h) * np.cos(e), np.sin(e)], axis=-1)


def along(frame: Floats, forward: Floats | float, up: Floats | float, right: Floats | float) -> Floats:
    """The court vector (..., 3) of components in a segment's own axes."""
    parts = [np.asarray(p, float)[..., None] for p in (forward, up, right)]
    return frame[..., :, 0] * parts[0] + frame[..., :, 1] * parts[1] + frame[..., :, 2] * parts[2]


def turned_segment(heading: Floats, tilt: Floats, lean: Floats) -> Floats:
    """Axes (..., 3, 3) of an upright segment: turned by heading, leant to its right, tilted forward.

    Degrees. In this order the horizontal direction of Z is set by the heading alone, so a line across the
    segment (hips, shoulders) seen from above turns exactly as its heading does.
    """
    forward = direction(heading)
    right = direction(heading - 90)
    up = np.zeros_like(forward)
    up[..., 2] = 1.0
    sin_l, cos_l = (f(np.radians(lean))[..., None] for f in (np.sin, np.cos))
    sin_t, cos_t = (f(np.radians(tilt))[..., None] for f in (np.sin, np.cos))
    leant_up, leant_right = up * cos_l + right * sin_l, right * cos_l - up * sin_l
    x = forward * cos_t - leant_up * sin_t
    y = leant_up * cos_t + forward * sin_t
    return np.stack([x, y, leant_right], axis=-1)


def frame_from(y_axis: Floats, near_x: Floats) -> Floats:
    """Axes (..., 3, 3) with Y along ``y_axis`` and X as near to ``near_x`` as that allows."""
    y = unit(y_axis)
    z = unit(cross(near_x, y))
    return np.stack([cross(y, z), y, z], axis=-1)
