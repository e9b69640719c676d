"""A reading put into words: for every muscle part its length, levers, place on its curve, and how far to trust them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

import numpy as np

from anatomy.muscles.body import Reading
from anatomy.muscles.catalogue import Path, paths_on
from anatomy.muscles.coordinates import coordinates, key_of
from anatomy.muscles.doubts import Doubt, curve_doubt, doubts_in, doubts_of

__all__ = ["ASSUMPTIONS", "NO_LEVER", "muscle_rows"]

Told = tuple[int, str, str, str]
NO_LEVER = 1e-7
"""Metres; below it a path makes neither a motion nor its opposite."""
ASSUMPTIONS = (
    "One average adult in an open model: use directions and orders of magnitude, never a figure for a person on film.",
    "A lever is not an activity: a muscle that could make a motion may be silent, braking or pulling against it.",
    "The low back’s angle is shared over five joints, shares summing to 1: for flexion 12.5 % at L5-S1, for lateral flexion "
    "13.5 %, the model’s own above; for rotation 86 % at L5-S1, which is an assumption.",
    "Lateral flexion and rotation of the low back are positive towards the side looked at; the other side stands straight.",
    "The forearm’s 0 is thumb up; the shoulder blade follows the raised arm and has no muscle; chest, neck and head do not move.",
    "The hip’s adduction axis turns with the bent thigh: at 90 degrees of flexion it is horizontal adduction.",
)


def muscle_rows(reading: Reading, bases: Iterable[str] | None = None) -> list[dict[str, Any]]:
    """One row for each part, of all muscles or of the paths with these base names."""
    wanted = None if bases is None else frozenset(bases)
    posture = reading.posture
    held = doubts_in(posture)
    # Swinging across the chest is a motion of the raised arm; of the hanging arm it would be a turn about itself.
    raised = posture.value("shoulder", "elevation") >= 45
    told = [one for one in _told() if raised or one[2] != "horizontal_adduction"]
    levers = reading.levers.tolist()
    return [
        _row(reading, place, path, levers[place], told, held)
        for place, path in enumerate(paths_on(posture.side))
        if wanted is None or path.base in wanted
    ]


@cache
def _told() -> tuple[Told, ...]:
    return tuple(
        (one.number, one.joint, key_of(one.motion), key_of(one.opposite))
        for one in coordinates()
        if one.has_lever
    )


def _row(
    reading: Reading, place: int, path: Path, levers: list[float], told: list[Told], held: tuple[Doubt, ...]
) -> dict[str, Any]:
    arms: dict[str, dict[str, float]] = {}
    made: dict[int, tuple[str, str]] = {}
    for number, joint, motion, opposite in told:
        lever = levers[number]
        if abs(lever) > NO_LEVER:
            made[number] = joint, (motion if lever > 0 else opposite)
            arms.setdefault(joint, {})[made[number][1]] = round(1000 * abs(lever), 6)
    doubts = doubts_of(path.base, made.keys(), held)
    low = list(dict.fromkeys(doubt.why for doubt in doubts if doubt.lowers))
    unread = curve_doubt(path.base)
    return {
        "muscle": path.muscle,
        "part": path.part,
        "model_name": path.name,
        "vocabulary": path.vocabulary or None,
        "length_m": round(float(reading.lengths[place]), 9),
        "normalised_fibre_length": _unless(unread, reading.fibres[place]),
        "force_length_factor": _unless(unread, reading.active[place]),
        "passive_factor": _unless(unread, reading.passive[place]),
        "why_no_force_length": unread,
        "moment_arms_mm": arms,
        "trust": "low" if low else "high",
        "why_low": " ".join(low) or None,
        "doubted_levers": [
            {
                "joint": made[number][0],
                "motion": made[number][1],
                "usable": "nothing" if doubt.lowers else "direction",
                "why": doubt.why,
            }
            for doubt in doubts
            for number in sorted(doubt.numbers & made.keys())
        ],
        "note": path.note or None,
    }


def _unless(why: str | None, value: np.float64) -> float | None:
    return None if why else round(float(value), 9)
