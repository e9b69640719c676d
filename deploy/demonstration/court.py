"""The hall: floor with its lines, walls and stand, and the goal, as one still picture for each camera.

Measures come from ``data/court.csv``. The floor is worked out for each pixel by its line of sight, lines
with their exact share of the pixel, so that they are smooth at any distance.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from .axes import Floats
from .camera import Camera
from .motion import data_rows

__all__ = ["goal_overlay", "hall_picture", "measure_of", "net_lines"]

_FLOOR, _AREA, _ROUND = (np.array(c) / 255 for c in ((104, 131, 124), (70, 103, 109), (58, 80, 84)))
_LINE = np.array([226, 223, 205]) / 255
_WALL = np.array([58, 84, 91]) / 255


@cache
def measure_of(name: str) -> float:
    """One measure of the court in metres. Raises KeyError for an unknown name."""
    return {row["name"]: float(row["metres"]) for row in data_rows("court.csv")}[name]


def _strip(signed: Floats, low: float, high: float) -> Floats:
    """Share (0 to 1) of each pixel where ``signed`` (H, W), metres, lies between low and high."""
    down, across = np.gradient(signed)
    step = np.maximum(np.hypot(down, across), 1e-6)
    return np.clip((signed - low) / step + 0.5, 0, 1) - np.clip((signed - high) / step + 0.5, 0, 1)


def _from_goal(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Distance from the stretch between the posts, and the way along the 9 m line, metres."""
    half = measure_of("half_goal")
    beside = np.maximum(np.abs(x) - half, 0)
    distance = np.hypot(beside, np.maximum(y, 0))
    turn = measure_of("free_throw") * np.arctan2(beside, np.maximum(y, 1e-9))
    return distance, np.where(beside > 0, half + turn, np.abs(x))


def _court_lines(x: Floats, y: Floats) -> Floats:
    """Share of line in each pixel of the floor at (x, y), metres; both halves of the court."""
    width, line = measure_of("half_width"), measure_of("line")
    half = measure_of("length") / 2
    near = half - np.abs(y - half)
    distance, way = _from_goal(x, near)
    dash = measure_of("dash")
    # A dash lies across the middle, in front of the goal.
    wave = np.abs(way % (2 * dash) - dash)
    inside = _strip(np.abs(x), -1, width) * _strip(near, 0, half + 1)
    found = [
        _strip(distance, measure_of("goal_area") - line, measure_of("goal_area")) * (near > 0),
        _strip(distance, measure_of("free_throw") - line, measure_of("free_throw"))
        * np.clip((wave - dash / 2) / 0.01 + 0.5, 0, 1)
        * (near > 0),
        _strip(np.abs(x), width - line, width) * (near > 0),
        _strip(near, 0, measure_of("goal_line")) * (np.abs(x) < width),
        _strip(y - half, -line / 2, line / 2),
        _strip(near, measure_of("penalty") - line, measure_of("penalty")) * _strip(np.abs(x), -1, 0.5),
        _strip(near, measure_of("keeper_line") - line, measure_of("keeper_line"))
        * _strip(np.abs(x), -1, 0.075),
    ]
    return np.clip(np.max(found, axis=0) * np.clip(inside + 0.0, 0, 1), 0, 1)


def _floor_colours(x: Floats, y: Floats, grazing: Floats) -> Floats:
    """Colours (H, W, 3), 0-1, of the floor; ``grazing`` is the sine of the line of sight to the floor."""
    half = measure_of("length") / 2
    near = half - np.abs(y - half)
    distance, _ = _from_goal(x, near)
    area = (_strip(distance, -1, measure_of("goal_area")) * _strip(near, 0, half))[..., None]
    court = (_strip(np.abs(x), -1, measure_of("half_width")) * _strip(near, 0, half + 1))[..., None]
    colours = _ROUND + (_FLOOR - _ROUND) * court
    colours = colours + (_AREA - colours) * area * court
    pool = 1.06 + 0.17 * np.exp(-((x / 9) ** 2 + ((y - 8.5) / 8) ** 2))
    boards = 1 + 0.006 * np.sin(2 * np.pi * x / 1.2) * np.clip(8 * grazing, 0, 1)
    colours = colours * (pool * boards)[..., None]
    lines = _court_lines(x, y)[..., None] * 0.92
    colours = colours + (_LINE * pool[..., None] - colours) * lines
    sheen = (np.clip(1 - grazing, 0, 1) ** 5)[..., None]
    return colours + (np.array([0.47, 0.56, 0.58]) - colours) * 0.45 * sheen


@cache
def _stand() -> Floats:
    """The stand as a picture (rows, columns, 3): 40 pixels a metre, steps with people in the dark."""
    scale, length, depth = 40, 70, 9
    dice = np.random.default_rng(4)
    dark = (46, 67, 74)
    picture = Image.new("RGB", (length * scale, depth * scale), dark)
    pen = ImageDraw.Draw(picture)
    coats = [
        (86, 104, 106),
        (120, 112, 96),
        (64, 84, 90),
        (140, 126, 100),
        (96, 78, 66),
        (70, 92, 88),
        (150, 143, 126),
    ]
    for row in range(9):
        foot = depth * scale - row * scale
        pen.rectangle((0, foot - 9, length * scale, foot), fill=(40, 59, 65))
        for seat in np.arange(0.3, length, 0.78):
            if dice.random() < 0.30:
                continue
            x = (seat + dice.normal(0, 0.07)) * scale
            y = foot - 10 + dice.normal(0, 1.5)
            dim = 0.22 + 0.10 * dice.random()
            coat = tuple(int(c * dim + g * 0.68) for c, g in zip(coats[dice.integers(7)], dark, strict=True))
            face = tuple(int(c * dim + g * 0.68) for c, g in zip((186, 142, 114), dark, strict=True))
            pen.rounded_rectangle((x - 13, y - 17, x + 13, y + 8), 9, fill=coat)
            pen.ellipse((x - 7, y - 29, x + 7, y - 17), fill=face)
    return np.asarray(picture.filter(ImageFilter.GaussianBlur(2.2)), float) / 255


def _stand_colours(y: Floats, z: Floats) -> Floats:
    """Colours on the stand at ``y`` along it and ``z`` above the floor."""
    art = _stand()
    rows = np.clip((1 - (z - 1.0) / 5.2) * art.shape[0], 0, art.shape[0] - 1).astype(int)
    columns = np.clip((y + 15) * 40, 0, art.shape[1] - 1).astype(int)
    return art[rows, columns]


def _wall_colours(along_wall: Floats, z: Floats) -> Floats:
    """Plain wall with a boarded foot, a rail and a band of light high up."""
    shade = (0.80 + 0.25 * np.exp(-(((z - 3.0) / 3.5) ** 2)))[..., None]
    seam = 1 - 0.05 * (np.abs((along_wall % 4.0) - 2.0) < 0.02)[..., None]
    return np.broadcast_to(_WALL, (*z.shape, 3)) * shade * seam


def _boards(colours: Floats, z: Floats) -> Floats:
    """Plain boards along the court, a metre high, with a light rail."""
    share = _strip(z, -1, 1.0)[..., None]
    rail = _strip(z, 0.93, 1.0)[..., None]
    face = np.array([64, 100, 108]) / 255 * (0.85 + 0.2 * np.clip(z, 0, 1))[..., None]
    colours = colours * (1 - share) + face * share
    return colours * (1 - rail) + np.array([198, 176, 124]) / 255 * rail


def hall_picture(camera: Camera) -> Floats:
    """The empty hall as ``camera`` sees it: (height, width, 3), 0-1, without the goal."""
    width, height = camera.size
    columns, rows = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    way = camera.rays(np.stack([columns, rows], -1))
    eye = np.array(camera.position)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_floor = np.where(way[..., 2] < -1e-6, -eye[2] / way[..., 2], 1e6)
        to_side = np.where(way[..., 0] < -1e-6, (-12.5 - eye[0]) / way[..., 0], 1e6)
        to_end = np.where(way[..., 1] > 1e-6, (43.0 - eye[1]) / way[..., 1], 1e6)
    at = eye + way * np.minimum(to_floor, 400.0)[..., None]
    picture = _floor_colours(at[..., 0], at[..., 1], np.abs(way[..., 2]))
    side, end = eye + way * to_side[..., None], eye + way * to_end[..., None]
    is_side = (to_side < to_floor) & (to_side <= to_end)
    is_end = (to_end < to_floor) & (to_end < to_side)
    stand = _boards(_stand_colours(side[..., 1], side[..., 2]), side[..., 2])
    far = _boards(_wall_colours(end[..., 0], end[..., 2]), end[..., 2])
    picture = np.where(is_side[..., None], stand, np.where(is_end[..., None], far, picture))
    return np.clip(_soft_far(picture, is_side | is_end) * _vignette(width, height), 0, 1)


def _soft_far(picture: Floats, far: np.ndarray) -> Floats:
    """What stands far behind the players a little out of focus."""
    if not far.any():
        return picture
    image = Image.fromarray((np.clip(picture, 0, 1) * 255).astype(np.uint8))
    radius = picture.shape[1] / 480
    soft = np.asarray(image.filter(ImageFilter.GaussianBlur(radius)), float) / 255
    mask = Image.fromarray((far * 255).astype(np.uint8)).filter(ImageFilter.GaussianBlur(radius))
    share = (np.asarray(mask, float) / 255)[..., None]
    return picture * (1 - share) + soft * share


def _vignette(width: int, height: int) -> Floats:
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    return (1.03 - 0.09 * np.clip(x**2 + 0.8 * y**2, 0, 2))[..., None]


def net_lines() -> list[tuple[Floats, Floats]]:
    """The net's cords as pairs of ends (3,), metres: sides, top and back, a mesh of 10 cm."""
    half, high = measure_of("half_goal"), measure_of("goal_height")
    top, foot = measure_of("net_depth_top"), measure_of("net_depth_floor")
    lines: list[tuple[Floats, Floats]] = []

    def back(x: float, z: float) -> Floats:
        return np.array([x, -(foot + (top - foot) * z / high), z])

    for z in np.arange(0.0, high + 0.01, 0.1):
        lines.append((back(-half, z), back(half, z)))
        lines += [(np.array([x, 0.0, z]), back(x, z)) for x in (-half, half)]
    for x in np.arange(-half, half + 0.01, 0.1):
        lines += [(back(x, 0.0), back(x, high)), (np.array([x, 0.0, high]), back(x, high))]
    for share in np.arange(0.1, 1.0, 0.1):
        for x in (-half, half):
            lines.append((np.array([x, -foot * share, 0.0]), np.array([x, -top * share, high])))
        lines.append((np.array([-half, -top * share, high]), np.array([half, -top * share, high])))
    return lines


def _beam(low: Floats, high: Floats) -> list[tuple[Floats, int]]:
    """Faces (4, 3) of a box between two corners, each with the axis its outside faces (±1, ±2, ±3)."""
    faces = []
    for axis in range(3):
        for end, sign in ((low, -1), (high, 1)):
            others = [k for k in range(3) if k != axis]
            corner = np.repeat(end[None], 4, axis=0).astype(float)
            corner[:, others[0]] = [low[others[0]], high[others[0]], high[others[0]], low[others[0]]]
            corner[:, others[1]] = [low[others[1]], low[others[1]], high[others[1]], high[others[1]]]
            faces.append((corner, sign * (axis + 1)))
    return faces


def _frame_pieces() -> list[tuple[Floats, Floats, int]]:
    """Posts and bar as boxes of 20 cm in turn dark and light: low corner, high corner, stripe."""
    half, high, post = measure_of("half_goal"), measure_of("goal_height"), measure_of("post")
    pieces = []
    for x in (-half - post, half):
        for stripe, z in enumerate(np.arange(0.0, high, 0.2)):
            pieces.append((np.array([x, 0.0, z]), np.array([x + post, post, min(z + 0.2, high)]), stripe))
    for stripe, x in enumerate(np.arange(-half - post, half + post - 0.01, 0.2)):
        end = min(x + 0.2, half + post)
        pieces.append((np.array([x, 0.0, high]), np.array([end, post, high + post]), stripe))
    return pieces


def goal_overlay(camera: Camera) -> tuple[Image.Image, tuple[int, int, int, int]] | None:
    """The goal as an RGBA picture and its box in the camera's picture; None where it is out of sight."""
    fine = 4
    corners = camera.project(np.array([low for low, _, _ in _frame_pieces()]))
    ends = camera.project(np.concatenate([np.stack(line) for line in net_lines()]))
    every = np.concatenate([corners, ends])
    left, top = np.floor(every.min(axis=0)).astype(int) - 6
    right, low = np.ceil(every.max(axis=0)).astype(int) + 6
    box = max(left, 0), max(top, 0), min(right, camera.size[0]), min(low, camera.size[1])
    if box[0] >= box[2] or box[1] >= box[3]:
        return None
    canvas = Image.new("RGBA", ((box[2] - box[0]) * fine, (box[3] - box[1]) * fine), (214, 214, 204, 0))
    pen = ImageDraw.Draw(canvas)

    def flat(points: Floats) -> list[tuple[float, float]]:
        shifted = (camera.project(points) - np.array(box[:2])) * fine
        return [(float(x), float(y)) for x, y in shifted]

    for one, two in net_lines():
        pen.line(flat(np.stack([one, two])), fill=(228, 226, 214, 150), width=3)
    _draw_frame(pen, camera, flat)
    return canvas.resize((box[2] - box[0], box[3] - box[1]), Image.Resampling.BOX), box


def _draw_frame(pen: ImageDraw.ImageDraw, camera: Camera, flat) -> None:
    eye = np.array(camera.position)
    faces = []
    for low, high, stripe in _frame_pieces():
        colour = np.array([40, 92, 102] if stripe % 2 else [238, 232, 216])
        for corner, axis in _beam(low, high):
            normal = np.zeros(3)
            normal[abs(axis) - 1] = np.sign(axis)
            if normal @ (eye - corner.mean(axis=0)) > 0:
                light = 0.72 + 0.28 * max(0.0, float(normal @ np.array([0.45, -0.35, 0.82])))
                faces.append(
                    (float(np.linalg.norm(corner.mean(axis=0) - eye)), corner, (colour * light).astype(int))
                )
    for _, corner, colour in sorted(faces, key=lambda face: -face[0]):
        pen.polygon(flat(corner), fill=(*(int(c) for c in colour), 255))
