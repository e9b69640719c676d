"""Soft shadows on the floor: dark and sharp under a foot, wide and faint under a body in the air."""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from .axes import Floats
from .camera import Camera
from .figure import SIDES, Skeleton

__all__ = ["ball_limb", "limbs_of", "with_shadows"]

# Horizontal way of a shadow for each metre of height: the lamps hang high, a little to one side.
_SLANT = np.array([-0.16, 0.15])
_COARSE = 2  # shadows are painted at half the picture's size
_AROUND = 14


@cache
def _limb_list() -> list[tuple[str, str, float]]:
    """Pairs of joints and a radius in metres."""
    limbs = [("root", "thorax", 0.15), ("thorax", "mid_shoulder", 0.16), ("neck", "head", 0.09)]
    for s in SIDES:
        limbs += [(f"shoulder_{s}", f"elbow_{s}", 0.055), (f"elbow_{s}", f"hand_{s}", 0.045)]
        limbs += [(f"hip_{s}", f"knee_{s}", 0.085), (f"knee_{s}", f"ankle_{s}", 0.055)]
        limbs += [(f"heel_{s}", f"toe_{s}", 0.05)]
    return limbs


def limbs_of(skeleton: Skeleton, frame: int) -> Floats:
    """(N, 7): both ends (m) and radius (m) of each limb at one moment."""
    ends = [[*skeleton.joints[a][frame], *skeleton.joints[b][frame], radius] for a, b, radius in _limb_list()]
    return np.array(ends)


def ball_limb(centre: Floats, radius: float) -> Floats:
    """(1, 7): a ball as a limb of no length."""
    return np.array([[*centre, *centre, radius]])


def _outlines(limbs: Floats, spread: float) -> Floats:
    """(N, 2 * _AROUND, 3): outlines of the limbs' shadows on the floor, widened by ``spread`` per metre of height."""
    one = limbs[:, :2] + limbs[:, 2:3] * _SLANT
    two = limbs[:, 3:5] + limbs[:, 5:6] * _SLANT
    way = np.arctan2(two[:, 1] - one[:, 1], two[:, 0] - one[:, 0])
    half = np.linspace(np.pi / 2, 3 * np.pi / 2, _AROUND)
    radius = limbs[:, 6:7] * (1 + spread * np.maximum(limbs[:, 2:3] + limbs[:, 5:6], 0) / 2)
    rim = []
    for centre, turn in ((one, half), (two, half + np.pi)):
        angle = way[:, None] + turn[None]
        rim.append(centre[:, None] + radius[:, :, None] * np.stack([np.cos(angle), np.sin(angle)], -1))
    flat = np.concatenate(rim, axis=1)
    return np.concatenate([flat, np.zeros_like(flat[..., :1])], axis=-1)


def _mask(
    limbs: Floats, camera: Camera, box: tuple[int, int, int, int], fade: float, strength: float, blur: float
):
    """An L picture of one layer of shadow over ``box``; 255 is full shadow."""
    outlines = (camera.project(_outlines(limbs, 0.0)) - np.array(box[:2])) / _COARSE
    height = np.maximum(np.minimum(limbs[:, 2], limbs[:, 5]), 0)
    ink = (255 * strength * np.exp(-height / fade)).astype(int)
    size = (box[2] - box[0]) // _COARSE, (box[3] - box[1]) // _COARSE
    mask = Image.new("L", size, 0)
    pen = ImageDraw.Draw(mask)
    for i in np.argsort(ink, kind="stable"):
        if ink[i] > 2:
            pen.polygon(outlines[i].ravel().tolist(), fill=int(ink[i]))
    return mask.filter(ImageFilter.GaussianBlur(blur / _COARSE))


def _shadow_box(limbs: Floats, camera: Camera, pad: int) -> tuple[int, int, int, int] | None:
    flat = camera.project(_outlines(limbs, 0.0)).reshape(-1, 2)
    left, top = np.floor(flat.min(axis=0)).astype(int) - pad
    right, low = np.ceil(flat.max(axis=0)).astype(int) + pad
    box = [max(left, 0), max(top, 0), min(right, camera.size[0]), min(low, camera.size[1])]
    if box[2] - box[0] < 8 or box[3] - box[1] < 8:
        return None
    for side in (0, 1):
        box[side + 2] -= (box[side + 2] - box[side]) % _COARSE
    return int(box[0]), int(box[1]), int(box[2]), int(box[3])


def with_shadows(picture: Image.Image, bodies: list[Floats], camera: Camera) -> None:
    """Darken the floor of an RGB ``picture`` in place under each body's limbs (N, 7)."""
    for limbs in bodies:
        middle = (limbs[:, :3] + limbs[:, 3:6]).mean(axis=0) / 2
        scale = camera.focal / float(np.linalg.norm(middle - np.array(camera.position)))
        box = _shadow_box(limbs, camera, pad=int(0.35 * scale) + 4)
        if box is None:
            continue
        wide = _mask(limbs, camera, box, fade=2.2, strength=0.50, blur=0.10 * scale)
        close = _mask(limbs, camera, box, fade=0.16, strength=0.62, blur=0.022 * scale)
        light = ImageChops.invert(ImageChops.add(wide, close)).resize(
            (box[2] - box[0], box[3] - box[1]), Image.Resampling.BILINEAR
        )
        crop = picture.crop(box)
        picture.paste(ImageChops.multiply(crop, Image.merge("RGB", (light, light, light))), box[:2])
