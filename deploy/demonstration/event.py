"""When things happen: the key moments of the invented event, in exact seconds of its own clock."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from .motion import Step, data_rows

__all__ = ["CHAIN", "chain_peaks", "key_moments"]

# The segments of the ground-up chain and the track whose turn about the vertical axis is placed by a step.
CHAIN = {
    "pelvis": "pelvis_heading",
    "trunk": "trunk_heading",
    "upper_arm": "arm_r_upper_az",
    "forearm": "arm_r_fore_az",
}


@cache
def key_moments() -> dict[str, Fraction]:
    """plant, take_off, release, contact, landing: exact seconds."""
    return {row["name"]: Fraction(row["seconds"]) for row in data_rows("event.csv")}


@cache
def chain_peaks() -> dict[str, Step]:
    """For each segment of the chain the step that turns it through the throw: the fastest one.

    Its ``peak_time`` is exact, and no other turn of that segment runs at that moment.
    """
    rows = [row for row in data_rows("steps.csv") if row["figure"] == "attacker"]
    found = {}
    for segment, track in CHAIN.items():
        steps = [
            Step(Fraction(row["start"]), Fraction(row["end"]), float(row["change"]))
            for row in rows
            if row["track"] == track
        ]
        found[segment] = max(steps, key=lambda step: abs(step.peak_velocity))
    return found
