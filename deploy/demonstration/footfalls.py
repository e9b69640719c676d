"""Where and how a foot stands: planted without sliding, rolled over heel and ball, swung to the next place.

A footfall holds the foot at one place from its first to its last contact. The foot rolls about the heel
while the toes are up and about the ball while the heel is up, so the point on the floor stays where it is;
the toes stay flat. Between footfalls the foot swings on a minimum-jerk course. By construction the lowest
point of the sole is at the height of the swing, never below the floor.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from .axes import Floats, direction
from .motion import MotionError, data_rows, smooth_rise

__all__ = ["FootPath", "Footfall", "SoleShape", "foot_path", "footfalls_of"]


@dataclass(frozen=True, slots=True)
class Footfall:
    """Contact from ``start`` to ``end`` (s) at (x, y) (m, under the ankle), toes towards ``yaw`` (deg)."""

    start: Fraction
    end: Fraction
    x: float
    y: float
    yaw: float
    strike: float
    off: float
    lift: float


@dataclass(frozen=True, slots=True)
class SoleShape:
    """Metres: ankle above the sole, heel behind it, ball and toe tip ahead of it."""

    ankle: float
    heel: float
    ball: float
    toe: float


@dataclass(frozen=True, slots=True)
class FootPath:
    """Over time: ankle (T, 3), foot forward and up directions (T, 3), toes forward (T, 3), planted (T,)."""

    ankle: Floats
    forward: Floats
    up: Floats
    toes: Floats
    planted: np.ndarray


def footfalls_of(figure: str, side: str) -> list[Footfall]:
    """The footfalls of one foot in order of time, from ``footfalls.csv``."""
    found = [
        Footfall(
            Fraction(r["from"]),
            Fraction(r["until"]),
            *(float(r[k]) for k in ("x", "y", "yaw", "strike", "off", "lift")),
        )
        for r in data_rows("footfalls.csv")
        if (r["figure"], r["side"]) == (figure, side)
    ]
    if not found or any(a.end >= b.start for a, b in pairwise(found)):
        raise MotionError(f"The {side} footfalls of {figure!r} are missing or overlap.")
    return found


def _between(a: float, b: float, share: Floats) -> Floats:
    return a + (b - a) * smooth_rise(share)


def _place(falls: list[Footfall], times: Floats) -> tuple[Floats, ...]:
    """x, y, yaw, pitch, lift and planted over time."""
    x, y, yaw, pitch, lift = (np.zeros_like(times) for _ in range(5))
    planted = np.zeros(times.shape, bool)
    for i, fall in enumerate(falls):
        start, end = float(fall.start), float(fall.end)
        on = (times >= start if i else True) & ((times <= end) if i < len(falls) - 1 else True)
        x[on], y[on], yaw[on], planted[on] = fall.x, fall.y, fall.yaw, True
        roll = min(0.12, 0.4 * (end - start))
        leave = min(0.22, 0.5 * (end - start))
        down = _between(fall.strike, 0.0, (times - start) / roll)
        pitch[on] = (down + _between(0.0, fall.off, (times - end + leave) / leave))[on]
        if i < len(falls) - 1:
            after = falls[i + 1]
            air = (times > end) & (times < float(after.start))
            s = (times[air] - end) / (float(after.start) - end)
            for out, one, two in ((x, fall.x, after.x), (y, fall.y, after.y), (yaw, fall.yaw, after.yaw)):
                out[air] = _between(one, two, s)
            pitch[air] = _between(fall.off, after.strike, s)
            lift[air] = fall.lift * 64 * (s * (1 - s)) ** 3
    return x, y, yaw, pitch, lift, planted


def foot_path(falls: list[Footfall], sole: SoleShape, times: Floats, heel: Floats) -> FootPath:
    """The foot over ``times`` (T,), seconds. Pitch is positive with the heel up; ``heel`` (T,) adds to it."""
    x, y, yaw, pitch, lift, planted = _place(falls, np.asarray(times, float))
    pitch = pitch + heel
    ahead = direction(yaw)
    c, s = np.cos(np.radians(pitch)), np.sin(np.radians(pitch))
    pivot = np.where(pitch >= 0, sole.ball, -sole.heel)
    run = pivot - pivot * c + sole.ankle * s
    rise = pivot * s + sole.ankle * c
    ankle = np.stack([x, y, np.zeros_like(x)], -1) + ahead * run[:, None]
    up_axis = np.zeros_like(ahead)
    up_axis[:, 2] = 1.0
    forward = ahead * c[:, None] - up_axis * s[:, None]
    up = up_axis * c[:, None] + ahead * s[:, None]
    ankle[:, 2] = rise + lift
    bend = np.where(pitch > 0, 1 / (1 + (lift / 0.05) ** 2), 0.0)[:, None]
    toes = ahead * (c + (1 - c) * bend[:, 0])[:, None] - up_axis * s[:, None] * (1 - bend)
    toes /= np.linalg.norm(toes, axis=-1, keepdims=True)
    foot = FootPath(ankle, forward, up, toes, planted)
    foot.ankle[:, 2] += np.where(planted, 0.0, lift - lowest_point(foot, sole))
    return foot


def lowest_point(foot: FootPath, sole: SoleShape) -> Floats:
    """Height (T,) of the lowest of heel, ball and toe tip."""
    base = foot.ankle - foot.up * sole.ankle
    ball = base + foot.forward * sole.ball
    tips = (base - foot.forward * sole.heel, ball, ball + foot.toes * (sole.toe - sole.ball))
    return np.min([tip[:, 2] for tip in tips], axis=0)
