"""Muscles whose action turns over along a sweep, against what they do in the anatomical position."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from anatomy.muscles.body import Body, Reading
from anatomy.muscles.catalogue import Path, paths_on
from anatomy.muscles.coordinates import Coordinate, coordinates, key_of
from anatomy.muscles.doubts import doubts_in, doubts_of
from anatomy.muscles.position import ANATOMICAL, Posture

__all__ = ["flips"]

WORTH_TELLING = 0.002
"""Metres; a lever has to reach this on either side of the turn, or the turn is noise."""


def flips(
    body: Body, swept: Coordinate, readings: Sequence[Reading], bases: frozenset[str] | None = None
) -> list[dict[str, Any]]:
    """Each lever that makes one motion in the anatomical position and the opposite somewhere along the sweep.

    ``readings`` are those of the sweep, in order. ``at`` is where it turns over, in degrees of the swept coordinate, on a
    straight line between two neighbours; None where the whole sweep lies beyond. ``trust`` is low where a doubt about the
    lever holds at the turn or at either end.
    """
    if not readings:
        return []
    side = readings[0].posture.side
    standing = body.read(Posture(side, ANATOMICAL))
    found = []
    for place, path in enumerate(paths_on(side)):
        if bases is not None and path.base not in bases:
            continue
        for one in coordinates():
            if not one.has_lever or one.motion == "horizontal adduction":
                continue
            before = float(standing.levers[place, one.number])
            along = [float(reading.levers[place, one.number]) for reading in readings]
            against = min(along) if before > 0 else max(along)
            if abs(before) < WORTH_TELLING or abs(against) < WORTH_TELLING or before * against > 0:
                continue
            found.append(_flip(path, one, swept, readings, along, before))
    return found


def _flip(
    path: Path,
    one: Coordinate,
    swept: Coordinate,
    readings: Sequence[Reading],
    along: Sequence[float],
    before: float,
) -> dict[str, Any]:
    angles = [reading.posture.degrees[swept.number] for reading in readings]
    turns = [n for n in range(1, len(along)) if along[n - 1] * along[n] <= 0 and along[n - 1] != along[n]]
    at = None
    if turns:
        n = turns[0]
        at = angles[n - 1] + (angles[n] - angles[n - 1]) * along[n - 1] / (along[n - 1] - along[n])
    near = {0, len(readings) - 1} | {k for n in turns for k in (n - 1, n)}
    doubts = {
        doubt.why
        for k in near
        for doubt in doubts_of(path.base, frozenset({one.number}), doubts_in(readings[k].posture))
        if doubt.lowers
    }
    return {
        "muscle": path.muscle,
        "part": path.part,
        "model_name": path.name,
        "joint": one.joint,
        "anatomical": key_of(one.named(before)),
        "flipped": key_of(one.named(-before)),
        "at": None if at is None else round(at, 2),
        "trust": "low" if doubts else "high",
        "why_low": " ".join(sorted(doubts)) or None,
        "sentence": _sentence(path, one, swept, at, along[0], before),
    }


def _sentence(
    path: Path, one: Coordinate, swept: Coordinate, at: float | None, first: float, before: float
) -> str:
    name = f"{path.muscle} ({path.part})" if path.part else path.muscle
    usual, other = (one.doer, one.opposite_doer) if before > 0 else (one.opposite_doer, one.doer)
    if at is None:
        return f"{name}: {other} of the {one.joint} here, {usual} in the anatomical position."
    start, end = (usual, other) if first * before > 0 else (other, usual)
    where = f"about {abs(round(at))}° of {swept.joint} {swept.named(round(at))}"
    return f"{name}: {start} of the {one.joint} up to {where}, {end} beyond."
