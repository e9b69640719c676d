"""Which muscles can make a motion in a posture, the best placed first: a model's estimate."""

from __future__ import annotations

from typing import Any

from anatomy.muscles.body import Body, Reading
from anatomy.muscles.catalogue import paths_on
from anatomy.muscles.coordinates import find_joint, find_motion, key_of
from anatomy.muscles.doubts import curve_doubt, doubts_in, doubts_of
from anatomy.muscles.faults import PostureError
from anatomy.muscles.records import NO_LEVER

__all__ = ["ranking"]


def ranking(body: Body, reading: Reading, joint: str, motion: str) -> list[dict[str, Any]]:
    """Muscles by their share of lever × force–length factor × greatest force over all that make the motion here.

    The shares sum to 1. Where the factor is not known it is taken as 1, and ``assumed`` says so. ``lever_mm`` is the mean
    over the parts, weighed by force. Raises PostureError for an unknown joint or motion and one that no muscle can have.
    """
    one, sign = find_motion(find_joint(joint), motion)
    if not one.has_lever:
        raise PostureError(
            f"No lever is told for {key_of(one.motion)}: ask for elevation or horizontal_adduction."
        )
    if one.motion == "horizontal adduction" and reading.posture.value("shoulder", "elevation") < 45:
        raise PostureError(
            "Horizontal adduction is a motion of the raised arm: set the shoulder’s elevation to 45 or more."
        )
    side = reading.posture.side
    held, forces = doubts_in(reading.posture), body.forces(side)
    muscles: dict[str, dict[str, Any]] = {}
    for place, path in enumerate(paths_on(side)):
        lever = sign * float(reading.levers[place, one.number])
        if lever <= NO_LEVER:
            continue
        known = curve_doubt(path.base) is None
        factor = float(reading.active[place]) if known else 1.0
        force = float(forces[place])
        row = muscles.setdefault(path.muscle, _empty(path.muscle))
        row["parts"].append({"part": path.part, "model_name": path.name, "lever_mm": round(1000 * lever, 3)})
        row["weight"] += lever * factor * force
        row["pull"] += lever * force
        row["force"] += force
        row["assumed"] = row["assumed"] or not known
        row["why"] += [d.why for d in doubts_of(path.base, frozenset({one.number}), held) if d.lowers]
    whole = sum(row["weight"] for row in muscles.values())
    found = sorted(muscles.values(), key=lambda row: (-row["weight"], row["muscle"]))
    return [_finished(row, whole) for row in found]


def _empty(muscle: str) -> dict[str, Any]:
    return {
        "muscle": muscle,
        "parts": [],
        "weight": 0.0,
        "pull": 0.0,
        "force": 0.0,
        "assumed": False,
        "why": [],
    }


def _finished(row: dict[str, Any], whole: float) -> dict[str, Any]:
    return {
        "muscle": row["muscle"],
        "share": round(row["weight"] / whole, 6) if whole else 0.0,
        "lever_mm": round(1000 * row["pull"] / row["force"], 3),
        "force_length_assumed": row["assumed"],
        "trust": "low" if row["why"] else "high",
        "why_low": " ".join(dict.fromkeys(row["why"])) or None,
        "parts": row["parts"],
    }
