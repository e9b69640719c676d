"""The picture that the sentences of ``data/measured_*.txt`` speak of: an invented throw, measured with its errors."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from anatomy.motion.facts import Measured, MeasuredAngle, MeasuredOrder, MeasuredSpeed, measure_words

_ANGLES = {
    "right_knee_flexion": (56, 3), "left_knee_flexion": (25, 2), "right_elbow_flexion": (70, 3),
    "left_elbow_flexion": (70, 3), "hip_shoulder_separation": (-40, 2), "trunk_lean": (-20, 1.5),
    "hip_line_tilt": (3, 1.5), "shoulder_line_tilt": (12, 1.5), "right_thigh_inclination": (40, 3),
    "left_shank_inclination": (10, 3), "right_shoulder_elevation": (100, 3), "right_upper_arm_inclination": (110, 3),
    "left_upper_arm_inclination": (40, 3), "left_shoulder_elevation": (35, 3), "right_hip_flexion": (65, 3),
}  # fmt: skip

PICTURE = Measured(
    tuple(
        MeasuredAngle(name, measure_words(name), float(value), float(sd))
        for name, (value, sd) in _ANGLES.items()
    ),
    (
        MeasuredOrder("pelvis", "trunk", 0.050, 0.008, "settled"),
        MeasuredOrder("trunk", "upper_arm", 0.040, 0.008, "settled", "right"),
        MeasuredOrder("upper_arm", "forearm", 0.004, 0.010, "open", "right"),
    ),
    (
        MeasuredSpeed("pelvis", 540.0, 15.0),
        MeasuredSpeed("trunk", 960.0, 20.0),
        MeasuredSpeed("upper_arm", 1500.0, 60.0, side="right"),
        MeasuredSpeed("forearm", 2200.0, 90.0, side="right"),
    ),
    Fraction(50),
)

# That of the sentences written first: the same throw with the right knee at a right angle.
FIRST_PICTURE = replace(
    PICTURE,
    angles=tuple(
        replace(one, value=90.0) if one.name == "right_knee_flexion" else one for one in PICTURE.angles
    ),
)
