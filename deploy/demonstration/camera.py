"""Pinhole cameras: from metres on the court to pixels, exactly.

The model is the usual one (Hartley and Zisserman, Multiple View Geometry, 2nd ed. 2003, ch. 6): x = K [R | t] X,
square pixels, no skew, no lens distortion. Pixel (0, 0) is the outer corner at the top left, so the middle
of the first pixel is (0.5, 0.5); y grows downwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .axes import Floats

__all__ = ["Camera"]


@dataclass(frozen=True)
class Camera:
    """A camera at ``position`` (m) looking at ``target`` (m), ``up`` roughly upwards in its picture.

    ``focal`` is the focal length in pixels, ``size`` the picture (width, height). Raises ValueError when
    the direction of view and ``up`` are parallel.
    """

    name: str
    position: tuple[float, float, float]
    target: tuple[float, float, float]
    up: tuple[float, float, float]
    focal: float
    size: tuple[int, int]

    def __post_init__(self) -> None:
        view = np.subtract(self.target, self.position).astype(float)
        if np.linalg.norm(np.cross(view, self.up)) < 1e-9:
            raise ValueError(f"Camera {self.name!r} looks along its own upward direction.")

    @cached_property
    def rotation(self) -> Floats:
        """(3, 3): court directions to camera axes (right, down, into the picture)."""
        view = np.subtract(self.target, self.position).astype(float)
        view /= np.linalg.norm(view)
        right = np.cross(view, self.up)
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(view, right), view])

    @property
    def centre(self) -> Floats:
        """Principal point, pixels: the middle of the picture."""
        return np.array(self.size, float) / 2

    def seen(self, points: Floats) -> Floats:
        """Points (..., 3) on the court in camera axes, metres; the last is the depth."""
        return (np.asarray(points, float) - np.array(self.position)) @ self.rotation.T

    def project(self, points: Floats) -> Floats:
        """Points (..., 3) in metres to pixels (..., 2). Points not in front of the camera become NaN."""
        seen = self.seen(points)
        depth = np.where(seen[..., 2:] > 1e-6, seen[..., 2:], np.nan)
        return self.centre + self.focal * seen[..., :2] / depth

    def rays(self, pixels: Floats) -> Floats:
        """Unit directions (..., 3) on the court of the lines of sight through ``pixels`` (..., 2)."""
        plane = (np.asarray(pixels, float) - self.centre) / self.focal
        seen = np.concatenate([plane, np.ones_like(plane[..., :1])], axis=-1)
        way = seen @ self.rotation
        return way / np.linalg.norm(way, axis=-1, keepdims=True)

    def scaled(self, factor: float) -> Camera:
        """The same view at another picture size. Raises ValueError when a side is not a whole number."""
        width, height = (side * factor for side in self.size)
        if width % 1 or height % 1:
            raise ValueError(f"A picture of {self.size} can't be scaled by {factor} to whole pixels.")
        size = (int(width), int(height))
        return Camera(self.name, self.position, self.target, self.up, self.focal * factor, size)
