"""Geometry of drawn marks: every line as a chain of points, so that any of them can be drawn on from its start.

Units are those of the drawing: square, y down. Chains are lists of (x, y).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

__all__ = [
    "arc",
    "chain_length",
    "crossing",
    "cut_to",
    "direction_at_end",
    "rounded_off",
    "through_three",
]

Point = tuple[float, float]
_STEP = math.radians(3)  # of an arc at most
_OFF = 0.1  # units that a chord may leave its arc
_MOST = 2_000  # chords of one arc
_FLAT = 1e-9


def chain_length(chain: Sequence[Point]) -> float:
    """Length along the chain."""
    return sum(math.dist(a, b) for a, b in pairwise(chain))


def cut_to(chain: Sequence[Point], share: float) -> list[Point]:
    """The first ``share`` (0 to 1) of the chain's length; empty at 0."""
    if share >= 1 or len(chain) < 2:
        return list(chain) if share > 0 else []
    left = share * chain_length(chain)
    if left <= 0:
        return []
    found = [chain[0]]
    for a, b in pairwise(chain):
        step = math.dist(a, b)
        if step >= left:
            part = left / step
            found.append((a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part))
            return found
        left -= step
        found.append(b)
    return found


def direction_at_end(chain: Sequence[Point], over: float) -> float | None:
    """The angle (radians, in the drawing) in which the last ``over`` units of the chain run; None for a single place."""
    end = chain[-1] if chain else (0.0, 0.0)
    before = None
    for point in reversed(chain[:-1]):
        if math.dist(point, end) > _FLAT:
            before = point
        if math.dist(point, end) >= over:
            break
    return None if before is None else math.atan2(end[1] - before[1], end[0] - before[0])


def arc(centre: Point, radius: float, start: float, sweep: float) -> list[Point]:
    """From the angle ``start`` by ``sweep`` radians about the centre."""
    step = min(_STEP, 2 * math.acos(max(-1.0, 1 - _OFF / radius))) if radius > _OFF else _STEP
    count = max(2, min(_MOST, math.ceil(abs(sweep) / step) + 1))
    return [
        (
            centre[0] + radius * math.cos(start + sweep * k / (count - 1)),
            centre[1] + radius * math.sin(start + sweep * k / (count - 1)),
        )
        for k in range(count)
    ]


def through_three(a: Point, b: Point, c: Point) -> list[Point]:
    """The arc of a circle from a over b to c; a chain of straight lines where they lie (almost) on one."""
    ax, ay, bx, by = a[0] - c[0], a[1] - c[1], b[0] - c[0], b[1] - c[1]
    cross = 2 * (ax * by - ay * bx)
    longest = max(math.dist(a, b), math.dist(b, c), math.dist(a, c))
    if abs(cross) < 1e-4 * longest**2 or longest < _FLAT:
        return [a, b, c]
    one, two = ax * ax + ay * ay, bx * bx + by * by
    centre = (c[0] + (by * one - ay * two) / cross, c[1] + (ax * two - bx * one) / cross)
    start, middle, end = (math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in (a, b, c))
    sweep = (end - start) % math.tau
    if (middle - start) % math.tau > sweep:
        sweep -= math.tau
    return arc(centre, math.dist(centre, a), start, sweep)


def rounded_off(chain: Sequence[Point], times: int = 2) -> list[Point]:
    """A hand-drawn chain with its corners cut (Chaikin 1974): it never leaves the corners' own triangles."""
    found = list(chain)
    for _ in range(times):
        if len(found) < 3:
            return found
        cut = [found[0]]
        for a, b in pairwise(found):
            cut.append((0.75 * a[0] + 0.25 * b[0], 0.75 * a[1] + 0.25 * b[1]))
            cut.append((0.25 * a[0] + 0.75 * b[0], 0.25 * a[1] + 0.75 * b[1]))
        found = [*cut, found[-1]]
    return found


def crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where the straight lines through ab and cd cross; None where they are parallel or no lines."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    cross = ux * vy - uy * vx
    if abs(cross) <= 1e-6 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return None
    along = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / cross
    return a[0] + along * ux, a[1] + along * uy
