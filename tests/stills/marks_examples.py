"""Marks of every kind for the tests, on pictures of many looks. Everything is invented."""

from __future__ import annotations

from typing import Any

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from breakdowns.stills.document import read_document
from breakdowns.stills.marks import MarksDocument

SIZE = (1280, 720)


def point(x: float, y: float) -> dict[str, Any]:
    return {"at": [x, y]}


def landmarks() -> dict[str, Any]:
    return {
        "left_shoulder": {"at": [480, 250]},
        "right_shoulder": {"at": [700, 180], "state": "suggested", "visibility": 0.9},
        "left_hip": {"at": [510, 420]},
        "right_hip": {"at": [640, 440]},
        "left_knee": {"at": [480, 560]},
        "left_ankle": {"at": [520, 690]},
    }


def every_kind(shift: float = 0.0, tone: int = 1) -> dict[str, Any]:
    """A document with a mark of every kind, moved by ``shift`` pixels."""

    def p(x: float, y: float) -> dict[str, Any]:
        return point(x + shift, y + shift / 2)

    follow = [{"landmark": name} for name in ("left_hip", "right_hip", "left_shoulder", "right_shoulder")]
    knee = [{"landmark": name} for name in ("left_hip", "left_knee", "left_ankle")]
    marks = [
        {"kind": "pair", "points": follow, "text": "hips; shoulders", "value": True},
        {"kind": "angle", "points": knee, "text": "knee", "value": True},
        {"kind": "turn", "points": [p(800, 300), p(880, 220), p(960, 320)], "text": "trunk turns"},
        {"kind": "arrow", "points": [p(900, 600), p(1100, 450)], "text": "throw"},
        {"kind": "freehand", "points": [p(100 + 8 * k, 500 + (k * 37 % 23) * 3) for k in range(30)]},
        {"kind": "zone", "points": [p(120, 100), p(300, 80), p(330, 220), p(150, 260)], "text": "goal area"},
        {"kind": "label", "points": [p(1000, 120)], "text": "attacker, back court"},
        {"kind": "point", "points": [p(1150, 330)], "text": "ball"},
        {"kind": "polyline", "points": [p(1000, 650), p(1100, 600), p(1180, 670)], "value": True},
        {"kind": "line", "points": [p(60, 650), p(330, 640)], "text": "floor", "value": True},
    ]
    for number, mark in enumerate(marks):
        mark |= {"id": f"m{number}", "tone": (tone + number - 1) % 3 + 1}
    return {"version": 1, "landmarks": landmarks(), "marks": marks}


def documents(count: int) -> list[MarksDocument]:
    return [read_document(every_kind(3.7 * n, n % 3 + 1), SIZE) for n in range(count)]


def backdrops(count: int) -> list[Image.Image]:
    """Pictures to draw on: light, dark, noise, stripes, a court, soft spots."""
    found = []
    for n in range(count):
        look = np.random.default_rng(n)
        if n % 5 == 0:
            picture = Image.new("RGB", SIZE, (232, 230, 222))
        elif n % 5 == 1:
            picture = Image.new("RGB", SIZE, (28, 30, 33))
        elif n % 5 == 2:
            spots = look.integers(0, 255, (18, 32, 3), dtype=np.uint8)
            picture = Image.fromarray(spots).resize(SIZE, Image.Resampling.BICUBIC)
        elif n % 5 == 3:
            picture = Image.new("RGB", SIZE, (94, 110, 92))
            draw = ImageDraw.Draw(picture)
            draw.ellipse((300, 400, 1500, 1400), outline=(190, 200, 180), width=6)
            draw.rectangle((500, 100, 640, 500), fill=(230, 220, 205))
        else:
            grain = look.integers(0, 255, (SIZE[1], SIZE[0], 3), dtype=np.uint8)
            picture = Image.fromarray(grain).filter(ImageFilter.GaussianBlur(2))
        found.append(picture)
    return found
