"""Points and turns that the tests of measuring are built from."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from anatomy.motion.catalogue import segment_direction
from anatomy.motion.curves import AUTOMATIC, SegmentCurve, Smoothing, segment_curve
from anatomy.motion.points import Picture
from anatomy.motion.tracks import Grid, between_keys

DATA = Path(__file__).parent / "data"

# One frame, pixels, y down, invented: a player seen from the side, looking to the right.
STANDING: dict[str, list[float]] = {
    "nose": [360, 90], "left_ear": [330, 92], "right_ear": [354, 100], "left_eye": [352, 84], "right_eye": [356, 86],
    "left_shoulder": [296, 150], "right_shoulder": [318, 156], "left_elbow": [262, 214], "right_elbow": [360, 200],
    "left_wrist": [300, 262], "right_wrist": [404, 168], "left_hip": [290, 280], "right_hip": [312, 284],
    "left_knee": [256, 370], "right_knee": [346, 366], "left_ankle": [160, 430], "right_ankle": [340, 462],
    "left_heel": [146, 436], "right_heel": [330, 474], "left_foot_index": [186, 458], "right_foot_index": [372, 478],
}  # fmt: skip


def document(*frames: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A document for the command: the standing player in one frame unless told otherwise."""
    rows = [{"frame": n, "points": points} for n, points in enumerate(frames or (STANDING,))]
    whole: dict[str, Any] = {
        "rate": "50",
        "width": 640,
        "height": 560,
        "pixel_aspect": "1",
        "click_sd_px": 1.5,
    }
    whole["frames"] = rows
    return whole | changes


def on_plane(points: dict[str, Any], picture: Picture | None = None) -> dict[str, np.ndarray]:
    """Pixels by landmark, one place or (T, 2), as (T, 2) on the plane."""
    plane = (picture or Picture()).on_plane
    return {name: np.atleast_2d(plane(np.asarray(place, float))) for name, place in points.items()}


def clicked(
    points: dict[str, Any], draws: int, sd: float, dice: np.random.Generator
) -> dict[str, np.ndarray]:
    """Each landmark (draws, 2) pixels with an error of its own in each draw."""
    return {name: np.asarray(p, float) + dice.normal(0, sd, (draws, 2)) for name, p in points.items()}


def rise(share: np.ndarray) -> np.ndarray:
    """Minimum-jerk course from 0 to 1 (Flash and Hogan, J. Neurosci. 1985; 5: 1688-1703); fastest half-way."""
    s = np.clip(share, 0.0, 1.0)
    return s**3 * (10 - 15 * s + 6 * s**2)


def turn(seconds: np.ndarray, middle: float, lasting: float, degrees: float) -> np.ndarray:
    """Degrees over time of a turn that is fastest at ``middle``, at 1.875 degrees / lasting."""
    return degrees * rise((seconds - middle) / lasting + 0.5)


def line_points(
    degrees: np.ndarray, length: float, centre: tuple[float, float] = (320, 240)
) -> tuple[np.ndarray, ...]:
    """Both ends (T, 2), pixels, of a line that stands at ``degrees`` (T,), counter-clockwise on the screen."""
    angle = np.radians(degrees)
    half = length / 2 * np.stack([np.cos(angle), -np.sin(angle)], axis=-1)
    return np.array(centre) - half, np.array(centre) + half


def curve_of(
    points: dict[str, Any], segment: str, rate: float, smoothing: Smoothing = AUTOMATIC
) -> SegmentCurve:
    """The curve of one segment of the right side from pixels (T, 2), frame 0 first."""
    tracks = {name: between_keys(track) for name, track in on_plane(points).items()}
    count = len(next(iter(tracks.values())).values)
    grid = Grid(0, 1, count, Fraction(rate))
    return segment_curve(segment, segment_direction(segment, "right"), tracks, grid, smoothing)


def columns(name: str) -> dict[str, np.ndarray]:
    """The columns of one of the data files as numbers."""
    lines = [
        line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")
    ]
    rows = list(csv.DictReader(lines))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}
