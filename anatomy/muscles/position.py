"""A posture: which side is looked at, and its joint angles in anatomical words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from anatomy.muscles.coordinates import Coordinate, coordinates, find_joint, find_motion, key_of
from anatomy.muscles.faults import PostureError

__all__ = ["ANATOMICAL", "Posture", "checked", "posture_of"]


@dataclass(frozen=True)
class Posture:
    """Degrees by coordinate, in the order of ``coordinates()``; the other side of the body stands straight.

    Words count from the side looked at: bending and turning of the low back are positive towards it, so that a mirrored
    posture has the same numbers.
    """

    side: str
    degrees: tuple[float, ...]

    def value(self, joint: str, motion: str) -> float:
        """The angle of a motion, negative where its opposite is taken. Raises PostureError for an unknown one."""
        one, sign = find_motion(find_joint(joint), motion)
        return sign * self.degrees[one.number]

    def moved(self, coordinate: Coordinate, degrees: float) -> Posture:
        """The same posture with one coordinate at another angle; no limits are checked."""
        values = list(self.degrees)
        values[coordinate.number] = degrees
        return Posture(self.side, tuple(values))

    def mirrored(self) -> Posture:
        """The same posture of the other side."""
        return Posture("left" if self.side == "right" else "right", self.degrees)

    def angles(self) -> dict[str, dict[str, float]]:
        """Every settable angle by joint and motion, as JSON carries it."""
        found: dict[str, dict[str, float]] = {}
        for one in coordinates():
            if one.settable:
                found.setdefault(one.joint, {})[key_of(one.motion)] = self.degrees[one.number]
        return found


def posture_of(side: str, angles: Mapping[str, Mapping[str, float]]) -> Posture:
    """The posture of a side; what is not named is 0. Raises PostureError."""
    if side not in ("right", "left"):
        raise PostureError('The side must be "right" or "left".')
    values: dict[int, float] = {}
    for joint_name, motions in angles.items():
        joint = find_joint(joint_name)
        for motion, degrees in motions.items():
            one, sign = find_motion(joint, motion)
            if one.number in values:
                raise PostureError(
                    f"The {joint} has {one.motion} (or its opposite) twice: write one of the two."
                )
            values[one.number] = checked(one, sign * degrees)
    return Posture(side, tuple(values.get(one.number, 0.0) for one in coordinates()))


def checked(one: Coordinate, degrees: float) -> float:
    """The angle itself where the model reaches it. Raises PostureError with the range where it does not."""
    if not one.settable:
        raise PostureError(
            f"The {one.joint} takes no angle for {one.motion}: set its elevation, plane and internal_rotation."
        )
    if not math.isfinite(degrees) or not one.low <= degrees <= one.high:
        raise PostureError(
            f"{one.joint.capitalize()} {one.named(degrees)} {abs(degrees):g} is outside the model’s range: write "
            f"{key_of(one.motion)} from {one.low:g} to {one.high:g} degrees ({key_of(one.opposite)} is negative)."
        )
    return degrees + 0.0


def _anatomical() -> tuple[float, ...]:
    return tuple(-90.0 if one.joint == "radioulnar" else 0.0 for one in coordinates())


ANATOMICAL = _anatomical()
"""The anatomical position: everything 0 but the forearm, which is supinated; the angle 0 of the forearm is thumb up."""
