"""Painting surfaces into a picture: projected faces, softly lit, far ones first.

Faces are painted at twice the picture's size and brought down again, which smooths their edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from .axes import Floats
from .camera import Camera

__all__ = ["FINE", "Seen", "Solid", "paint", "seen_by", "set_apart"]

FINE = 2  # painted pixels per picture pixel, each way
_LAMP = np.array([0.42, -0.38, 0.82]) / np.linalg.norm([0.42, -0.38, 0.82])
_FILL = np.array([-0.75, 0.2, 0.25]) / np.linalg.norm([-0.75, 0.2, 0.25])
_SKY, _GROUND = np.array([0.56, 0.58, 0.60]), np.array([0.36, 0.39, 0.40])
_LAMP_COLOUR, _FILL_COLOUR = np.array([0.58, 0.56, 0.51]), np.array([0.06, 0.08, 0.10])


@dataclass(frozen=True)
class Solid:
    """Something to paint: points (V, 3) m, faces (F, 4) counter-clockwise from outside, colours (F, 3) 0-1.

    ``bias`` (F,) metres brings a face nearer when faces are put in order.
    """

    points: Floats
    faces: np.ndarray
    colours: Floats
    bias: Floats


@dataclass(frozen=True)
class Seen:
    """The faces of one solid that a camera sees: corner pixels (N, 8), distance (N,), inks (N,), and their box."""

    corners: Floats
    distance: Floats
    inks: np.ndarray
    box: tuple[int, int, int, int]


def _inks(normals: tuple[Floats, Floats, Floats], colours: Floats) -> np.ndarray:
    """Colours (N,) under the hall's lamps, warm from above, cool from the floor, as Pillow's whole numbers."""
    x, y, z = normals
    above = 0.5 + 0.5 * z
    lamp = np.maximum(x * _LAMP[0] + y * _LAMP[1] + z * _LAMP[2], 0)
    fill = np.maximum(x * _FILL[0] + y * _FILL[1] + z * _FILL[2], 0)
    ink = np.zeros(len(x), np.int64)
    for band in range(3):
        light = (
            _GROUND[band]
            + (_SKY - _GROUND)[band] * above
            + lamp * _LAMP_COLOUR[band]
            + fill * _FILL_COLOUR[band]
        )
        ink += (np.minimum(colours[:, band] * light, 1.0) * 255).astype(np.int64) << (8 * band)
    return ink


def _normals(corners: list[Floats]) -> tuple[Floats, Floats, Floats]:
    """Unit normals of faces given as corner coordinates, each (3, N)."""
    one, two = corners[2] - corners[0], corners[3] - corners[1]
    x = one[1] * two[2] - one[2] * two[1]
    y = one[2] * two[0] - one[0] * two[2]
    z = one[0] * two[1] - one[1] * two[0]
    length = np.maximum(np.sqrt(x * x + y * y + z * z), 1e-12)
    return x / length, y / length, z / length


def seen_by(camera: Camera, solid: Solid) -> Seen | None:
    """What ``camera`` sees of a solid; None where nothing of it is in the picture."""
    flat = camera.project(solid.points).T
    x, y = flat[0][solid.faces.T], flat[1][solid.faces.T]
    turn = (x[2] - x[0]) * (y[3] - y[1]) - (y[2] - y[0]) * (x[3] - x[1])
    shown = np.flatnonzero(turn < 0)
    if not len(shown):
        return None
    x, y = x[:, shown], y[:, shown]
    box = int(x.min()) - 2, int(y.min()) - 2, int(x.max()) + 3, int(y.max()) + 3
    if box[2] < 0 or box[3] < 0 or box[0] >= camera.size[0] or box[1] >= camera.size[1]:
        return None
    space = solid.points.T
    corners = [space[:, solid.faces[shown, k]] for k in range(4)]
    middle = sum(corners[1:], corners[0]) / 4
    away = [middle[k] - camera.position[k] for k in range(3)]
    distance = np.sqrt(away[0] ** 2 + away[1] ** 2 + away[2] ** 2) - solid.bias[shown]
    inks = _inks(_normals(corners), solid.colours[shown])
    return Seen(np.stack([x, y], 1).reshape(8, -1).T, distance, inks, box)


def _joined(one: tuple[int, ...], two: tuple[int, ...]) -> tuple[int, int, int, int]:
    return min(one[0], two[0]), min(one[1], two[1]), max(one[2], two[2]), max(one[3], two[3])


def set_apart(parts: list[Seen]) -> list[list[Seen]]:
    """Groups of what overlaps in the picture: each group can be painted on its own patch."""
    groups: list[tuple[tuple[int, int, int, int], list[Seen]]] = []
    for part in parts:
        box, members = part.box, [part]
        apart = []
        for other, others in groups:
            if box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]:
                box, members = _joined(box, other), others + members
            else:
                apart.append((other, others))
        groups = [*apart, (box, members)]
    return [members for _, members in groups]


def paint(picture: Image.Image, parts: list[Seen]) -> None:
    """Paint ``parts`` over an RGB ``picture``, in place, nearer faces over farther ones."""
    if not parts:
        return
    box = parts[0].box
    for part in parts[1:]:
        box = _joined(box, part.box)
    box = max(box[0], 0), max(box[1], 0), min(box[2], picture.width), min(box[3], picture.height)
    order = np.argsort(-np.concatenate([p.distance for p in parts]), kind="stable")
    # Pillow takes whole numbers for the middles of pixels, the camera for their outer corners.
    corners = np.concatenate([p.corners for p in parts])[order]
    corners = (corners - np.array([box[0], box[1]] * 4)) * FINE - 0.5
    inks = np.concatenate([p.inks for p in parts])[order]
    size = (box[2] - box[0]) * FINE, (box[3] - box[1]) * FINE
    canvas = picture.crop(box).resize(size, Image.Resampling.NEAREST)
    polygon = ImageDraw.Draw(canvas).polygon
    for face, ink in zip(corners.tolist(), inks.tolist(), strict=True):
        polygon(face, ink)
    picture.paste(canvas.reduce(FINE), box[:2])
