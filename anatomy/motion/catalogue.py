"""The measures by name, each as an angle between directions of the body in the picture.

0° is the anatomical position wherever a joint is measured. Unsigned flexions can't tell bending from overstretching:
from one picture nobody can say on which side of straight a joint is.
"""

from __future__ import annotations

from anatomy.motion.angles import Angle, Direction
from anatomy.motion.points import at, middle

__all__ = ["JOINT_MOTIONS", "MEASURES", "SEGMENTS", "SIDES", "segment_direction"]

SIDES = ("left", "right")
_RIGHT, _UP, _DOWN = 0.0, 90.0, -90.0

_TRUNK = Direction(middle("hip"), middle("shoulder"))
_NECK = Direction(middle("shoulder"), middle("ear"))


def _across(part: str) -> Direction:
    """From the left landmark of a pair to the right one."""
    return Direction(at(f"left_{part}"), at(f"right_{part}"))


def _limb(side: str, proximal: str, distal: str) -> Direction:
    return Direction(at(f"{side}_{proximal}"), at(f"{side}_{distal}"))


# Segment → the landmarks of a side that it runs between.
_LIMBS = {
    "upper_arm": ("shoulder", "elbow"),
    "forearm": ("elbow", "wrist"),
    "thigh": ("hip", "knee"),
    "shank": ("knee", "ankle"),
    "foot": ("heel", "foot_index"),
}
SEGMENTS = ("pelvis", "trunk", "upper_arm", "forearm", "thigh", "shank")


def segment_direction(segment: str, side: str) -> Direction:
    """The line that stands for a segment: hip line, shoulder line, or proximal to distal. Raises KeyError."""
    if segment in ("pelvis", "trunk"):
        return _across("hip" if segment == "pelvis" else "shoulder")
    return _limb(side, *_LIMBS[segment])


def _on_both_sides() -> dict[str, Angle]:
    return {
        "hip_shoulder_separation": Angle(_across("hip"), _across("shoulder")),
        "shoulder_line_inclination": Angle(_RIGHT, _across("shoulder")),
        "hip_line_inclination": Angle(_RIGHT, _across("hip")),
        "head_line_inclination": Angle(_RIGHT, _across("ear")),
        # The same lines without head and tail: level is 0 whichever way the athlete faces.
        "shoulder_line_tilt": Angle(_RIGHT, _across("shoulder"), "line"),
        "hip_line_tilt": Angle(_RIGHT, _across("hip"), "line"),
        "head_line_tilt": Angle(_RIGHT, _across("ear"), "line"),
        "trunk_inclination": Angle(_UP, _TRUNK, "unsigned"),
        "trunk_lean": Angle(_UP, _TRUNK),
        "neck_inclination": Angle(_UP, _NECK, "unsigned"),
        "neck_to_trunk": Angle(_TRUNK, _NECK, "unsigned"),
    }


def _on_one_side(side: str) -> dict[str, Angle]:
    thigh, shank = _limb(side, *_LIMBS["thigh"]), _limb(side, *_LIMBS["shank"])
    upper_arm, forearm = _limb(side, *_LIMBS["upper_arm"]), _limb(side, *_LIMBS["forearm"])
    foot = _limb(side, *_LIMBS["foot"])
    trunk_down = _TRUNK.turned()
    return {
        f"{side}_knee_flexion": Angle(thigh, shank, "unsigned"),
        f"{side}_elbow_flexion": Angle(upper_arm, forearm, "unsigned"),
        f"{side}_hip_flexion": Angle(trunk_down, thigh, "unsigned"),
        # Sole at a right angle to the shank is 0; pointing the foot is negative.
        f"{side}_ankle_dorsiflexion": Angle(shank.turned(), foot, "unsigned", factor=-1.0, offset=90.0),
        f"{side}_shoulder_elevation": Angle(trunk_down, upper_arm, "unsigned"),
        f"{side}_thigh_inclination": Angle(_DOWN, thigh),
        f"{side}_shank_inclination": Angle(_DOWN, shank),
        f"{side}_upper_arm_inclination": Angle(_DOWN, upper_arm),
        f"{side}_forearm_inclination": Angle(_DOWN, forearm),
        f"{side}_foot_inclination": Angle(_RIGHT, foot),
    }


MEASURES: dict[str, Angle] = _on_both_sides() | {
    name: angle for side in SIDES for name, angle in _on_one_side(side).items()
}

# Measure of a side → joint, motion of its positive values, motion of its negative ones ("" has none). What a raised
# arm in one picture is, flexion or abduction, depends on the view, so the shoulder is not among them.
JOINT_MOTIONS: dict[str, tuple[str, str, str]] = {
    f"{side}_{name}": motions
    for side in SIDES
    for name, motions in {
        "knee_flexion": ("knee", "flexion", ""),
        "elbow_flexion": ("elbow", "flexion", ""),
        "hip_flexion": ("hip", "flexion", ""),
        "ankle_dorsiflexion": ("talocrural", "dorsiflexion", "plantarflexion"),
    }.items()
}
