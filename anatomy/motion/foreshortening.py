"""How far an angle in the picture can be from the angle in space when segments point out of the picture plane.

The line of sight is taken as parallel (a segment small against its distance from the camera). With α the angle in
the picture and a, b the tilts of its two lines out of the picture plane, the angle θ in space follows

    cos θ = cos a cos b cos α + sin a sin b = (1 + cos α)/2 · cos(a − b) − (1 − cos α)/2 · cos(a + b).

One line tilted by at most τ, the other in the plane (or the horizontal of the picture): b = 0, so θ runs from α to
acos(cos τ cos α). Both tilted by at most τ: the first term is least at a − b = 2τ, the second at a + b = 0, and a = −b = τ
is both; it is greatest at a = b = ±τ. The whole joint turned out of the picture with its plane, by τ about any
line in the picture: lengths across that line shrink by cos τ, and the two lines of the angle change most when that line halves
the angle or stands across its halving line, tan(θ/2) = tan(α/2) / cos τ and tan(α/2) · cos τ.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from anatomy.motion.points import Floats

__all__ = ["Tilted", "shortening", "space_bounds", "worst_error"]

Tilted = Literal["one", "both", "plane"]


def space_bounds(
    picture_degrees: Floats | float, tilt_degrees: float, tilted: Tilted
) -> tuple[Floats, Floats]:
    """Least and greatest angle in space, degrees, that shows as ``picture_degrees`` (0 to 180) in the picture.

    ``tilt_degrees`` (0 to below 90) is the largest tilt; every smaller one and every direction is allowed for. Raises
    ValueError for a tilt outside that.
    """
    if not 0 <= tilt_degrees < 90:
        raise ValueError(f"A tilt must be from 0 to below 90 degrees, not {tilt_degrees:g}.")
    seen, tilt = np.radians(np.asarray(picture_degrees, float)), np.radians(tilt_degrees)
    if tilted == "plane":
        half = np.tan(seen / 2)
        ends = 2 * np.arctan(half * np.cos(tilt)), 2 * np.arctan(half / np.cos(tilt))
        return np.degrees(ends[0]), np.degrees(ends[1])
    cosine = np.cos(seen)
    if tilted == "one":
        other = np.cos(tilt) * cosine
        low, high = np.maximum(cosine, other), np.minimum(cosine, other)
    else:
        near, far = (1 + cosine) / 2, (1 - cosine) / 2
        low, high = near - far * np.cos(2 * tilt), near * np.cos(2 * tilt) - far
    return np.degrees(np.arccos(np.clip(low, -1, 1))), np.degrees(np.arccos(np.clip(high, -1, 1)))


def worst_error(picture_degrees: Floats | float, tilt_degrees: float, tilted: Tilted) -> Floats:
    """Largest difference, degrees, between the angle in space and that in the picture; see ``space_bounds``."""
    seen = np.asarray(picture_degrees, float)
    low, high = space_bounds(seen, tilt_degrees, tilted)
    return np.maximum(np.abs(seen - low), np.abs(high - seen))


def shortening(tilt_degrees: float) -> float:
    """Share of its length by which a segment tilted that far out of the picture plane is seen too short."""
    return float(1 - np.cos(np.radians(tilt_degrees)))
