"""Landmarks in space to joint angles, with axes after the ISB as far as points on the joints allow.

Segment axes: X forward, Y up (distal to proximal), Z to the right (Wu et al., J. Biomech. 2002; 35:543-548 and 2005;
38:981-992). Hip: flexion about the pelvis's Z, adduction about the floating axis, rotation about the thigh's Y (Grood and
Suntay, J. Biomech. Eng. 1983; 105:136-144). Shoulder: humerus in the thorax, Y-X-Y, plane of elevation 0 abduction, 90
forward. Left limbs are mirrored first, so that a sign means the same motion on both sides.

Two points per segment leave its turn about its own length open. It is told from the plane of the bent knee or elbow, and
is None, with the reason, when that is too straight. Between two hip points and two shoulder points pelvis and trunk share
the line from mid-hip to mid-shoulder, so pelvic tilt and trunk flexion can't be told, and hip flexion is that of the thigh
against the trunk.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST_BEND", "SpaceAngle", "joint_angles"]

Floats = NDArray[np.float64]
Points = Mapping[str, Floats]

# Degrees. A plane through three points errs by about sd / (length x sin bend): at 20 degrees and 2 cm of error in a
# segment of 40 cm that is 8 degrees, and it grows without bound towards straight.
LEAST_BEND = 20.0
_LEAST_ELEVATION = 10.0  # below it, and as near to straight overhead, a plane of elevation has no direction
_STEP = 1e-5  # metres, for the gradient


@dataclass(frozen=True, slots=True)
class SpaceAngle:
    """Degrees, or None with the reason in ``why``. ``sd``: standard deviation in degrees where it was asked for."""

    value: float | None
    why: str = ""
    sd: float | None = None


class _Untold(ValueError):
    """An angle that these points don't tell; its text is the reason."""


def _unit(vector: Floats, what: str) -> Floats:
    length = float(np.linalg.norm(vector))
    if length < 1e-9:
        raise _Untold(f"{what} lie on one spot, so they have no direction")
    return vector / length


class _Body:
    """The points of one instant, with what is asked of them. Raises _Untold where a point is missing."""

    def __init__(self, points: Points, up: Floats) -> None:
        self._points, self.up = points, up

    def at(self, name: str) -> Floats:
        place = self._points.get(name)
        if place is None or not np.all(np.isfinite(place)):
            raise _Untold(f"the {name.replace('_', ' ')} is missing")
        return np.asarray(place, float)

    def middle(self, part: str) -> Floats:
        return (self.at(f"left_{part}") + self.at(f"right_{part}")) / 2

    def across(self, part: str) -> Floats:
        """Unit vector from the left landmark of a pair to the right one."""
        return _unit(self.at(f"right_{part}") - self.at(f"left_{part}"), f"both {part}s")

    def spine(self) -> Floats:
        return _unit(self.middle("shoulder") - self.middle("hip"), "mid-hip and mid-shoulder")

    def pelvis(self) -> Floats:
        """Axes as rows. Z is the hip line, Y as near to the line of the trunk as that allows."""
        z = self.across("hip")
        x = _unit(np.cross(self.spine(), z), "hip line and trunk line")
        return np.stack([x, np.cross(z, x), z])

    def trunk(self) -> Floats:
        """Axes as rows. Y is mid-hip to mid-shoulder, Z as near to the shoulder line as that allows."""
        y = self.spine()
        x = _unit(np.cross(y, self.across("shoulder")), "shoulder line and trunk line")
        return np.stack([x, y, np.cross(x, y)])

    def limb(self, side: str, *parts: str, axes: Floats | None = None) -> list[Floats]:
        """Unit vectors from each joint to the next; in ``axes``, mirrored to a right limb, where these are given."""
        places = [self.at(f"{side}_{part}") for part in parts]
        steps = [places[n + 1] - places[n] for n in range(len(places) - 1)]
        ways = [
            _unit(step, f"{side} {a} and {b}") for step, a, b in zip(steps, parts, parts[1:], strict=False)
        ]
        if axes is None:
            return ways
        return [axes @ way * (1.0, 1.0, -1.0 if side == "left" else 1.0) for way in ways]


def _between(one: Floats, two: Floats) -> float:
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(one, two))), float(one @ two)))


def _flexion(side: str, *parts: str) -> Callable[[_Body], float]:
    return lambda body: _between(*body.limb(side, *parts))


def _forward_axis(first: Floats, second: Floats, bends_forward: bool, joint: str) -> Floats:
    """X of a right limb's proximal segment, from the plane in which the next one is bent."""
    bend = _between(first, second)
    if not LEAST_BEND <= bend <= 180 - LEAST_BEND:
        raise _Untold(
            f"the {joint} is bent by {bend:.0f}°, too near to straight to tell the turn about the segment"
        )
    z = np.cross(first, second) if bends_forward else np.cross(second, first)
    return np.cross(-first, z / np.linalg.norm(z))


def _hip(side: str, which: str) -> Callable[[_Body], float]:
    """Cardan Z-X-Y of the thigh in the pelvis: Y of the thigh is (-sin f cos a, cos f cos a, sin a)."""

    def told(body: _Body) -> float:
        if which == "internal_rotation":
            thigh, shank = body.limb(side, "hip", "knee", "ankle", axes=body.pelvis())
        else:
            (thigh,) = body.limb(side, "hip", "knee", axes=body.pelvis())
        adduction = math.asin(float(np.clip(-thigh[2], -1, 1)))
        if which == "adduction":
            return math.degrees(adduction)
        if abs(adduction) > math.radians(85):
            raise _Untold("the thigh lies along the hip line, where flexion and rotation are the same turn")
        flexion = math.atan2(thigh[0], -thigh[1])
        if which == "flexion":
            return math.degrees(flexion)
        x = _forward_axis(thigh, shank, bends_forward=False, joint="knee")
        return math.degrees(_turn_left(x, _about_z(flexion) @ _about_x(adduction)))

    return told


def _shoulder(side: str, which: str) -> Callable[[_Body], float]:
    """Euler Y-X-Y of the humerus in the thorax, elevation counted positive (ISB: negative turn about X)."""

    def told(body: _Body) -> float:
        if which == "internal_rotation":
            arm, forearm = body.limb(side, "shoulder", "elbow", "wrist", axes=body.trunk())
        else:
            (arm,) = body.limb(side, "shoulder", "elbow", axes=body.trunk())
        elevation = _between(arm, np.array([0.0, -1.0, 0.0]))
        if which == "elevation":
            return elevation
        if not _LEAST_ELEVATION <= elevation <= 180 - _LEAST_ELEVATION:
            raise _Untold(f"the arm is raised by {elevation:.0f}°, where planes of elevation run together")
        plane = math.atan2(arm[0], arm[2])
        if which == "plane":
            return math.degrees(plane)
        x = _forward_axis(arm, forearm, bends_forward=True, joint="elbow")
        return math.degrees(_turn_left(x, _about_y(plane) @ _about_x(-math.radians(elevation))))

    return told


def _turn_left(x: Floats, before: Floats) -> float:
    """Radians about Y that turn the axes ``before`` (columns) so that X becomes ``x``."""
    seen = before.T @ x
    return math.atan2(-seen[2], seen[0])


def _about_x(angle: float) -> Floats:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])


def _about_y(angle: float) -> Floats:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def _about_z(angle: float) -> Floats:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def _ankle(side: str) -> Callable[[_Body], float]:
    def told(body: _Body) -> float:
        (shank,) = body.limb(side, "knee", "ankle")
        (foot,) = body.limb(side, "heel", "foot_index")
        return 90.0 - _between(-shank, foot)

    return told


def _lateral_flexion(body: _Body) -> float:
    return math.degrees(math.asin(float(np.clip(body.spine() @ body.across("hip"), -1, 1))))


def _axial_rotation(body: _Body) -> float:
    pelvis, trunk = body.pelvis(), body.trunk()
    lateral = math.asin(float(np.clip((pelvis @ trunk[1])[2], -1, 1)))
    return math.degrees(_turn_left(pelvis @ trunk[0], _about_x(lateral)))


def _never(why: str) -> Callable[[_Body], float]:
    def told(body: _Body) -> float:
        raise _Untold(why)

    return told


_ONE_PLANE = "hip, knee and ankle span one plane only, so what leaves it can't be told"
_NO_FOREARM = "the wrist is one point, so the turn of the forearm about its length can't be told"
_NO_TILT = "two hip points don't tell how the pelvis is tilted about the line between them"


def _measures() -> dict[str, Callable[[_Body], float]]:
    found: dict[str, Callable[[_Body], float]] = {
        "pelvis_tilt": _never(_NO_TILT),
        "pelvis_obliquity": lambda b: math.degrees(math.asin(float(np.clip(b.across("hip") @ b.up, -1, 1)))),
        "trunk_inclination": lambda b: _between(b.spine(), b.up),
        "trunk_flexion": _never(_NO_TILT),
        "trunk_lateral_flexion": _lateral_flexion,
        "trunk_axial_rotation": _axial_rotation,
    }
    for side in ("left", "right"):
        found |= {f"{side}_hip_{w}": _hip(side, w) for w in ("flexion", "adduction", "internal_rotation")}
        found |= {
            f"{side}_shoulder_{w}": _shoulder(side, w) for w in ("elevation", "plane", "internal_rotation")
        }
        found[f"{side}_knee_flexion"] = _flexion(side, "hip", "knee", "ankle")
        found |= {f"{side}_knee_{w}": _never(_ONE_PLANE) for w in ("adduction", "internal_rotation")}
        found[f"{side}_elbow_flexion"] = _flexion(side, "shoulder", "elbow", "wrist")
        found[f"{side}_radioulnar_pronation"] = _never(_NO_FOREARM)
        found[f"{side}_ankle_dorsiflexion"] = _ankle(side)
    return found


_MEASURES = _measures()


def joint_angles(
    points: Points, up: tuple[float, float, float] = (0.0, -1.0, 0.0), landmark_sd: float | None = None
) -> dict[str, SpaceAngle]:
    """Angles in degrees by name, from landmarks (3,) in metres in right-handed axes.

    ``up`` is the upward vertical in these axes; as preset that of a level camera whose y runs down. Only
    ``pelvis_obliquity`` (right side higher is positive) and ``trunk_inclination`` depend on it. Trunk against pelvis:
    lateral flexion to the right and rotation to the left are positive. ``landmark_sd`` (metres, independent in each
    direction) adds a standard deviation to first order; it is small change only, so near a limit it says too little.
    Flexions of knee and elbow are 0 to 180: points alone can't tell overstretching from bending.
    Raises ValueError when ``up`` has no length or a point is not three numbers.
    """
    for name, place in points.items():
        if np.shape(place) != (3,):
            raise ValueError(f"The point {name!r} has to be three numbers, metres in space.")
    length = float(np.linalg.norm(up))
    if not length > 0:
        raise ValueError("The upward direction has no length; give one such as (0, -1, 0).")
    upward = np.asarray(up, float) / length
    found = {name: _told(measure, _Body(points, upward)) for name, measure in _MEASURES.items()}
    if landmark_sd is None:
        return found
    return {name: _with_sd(name, angle, points, upward, landmark_sd) for name, angle in found.items()}


def _told(measure: Callable[[_Body], float], body: _Body) -> SpaceAngle:
    try:
        return SpaceAngle(measure(body))
    except _Untold as fault:
        return SpaceAngle(None, str(fault))


def _with_sd(name: str, angle: SpaceAngle, points: Points, up: Floats, sd: float) -> SpaceAngle:
    if angle.value is None:
        return angle
    total = 0.0
    for landmark, place in points.items():
        for axis in range(3):
            moved = np.array(place, float)
            moved[axis] += _STEP
            other = _told(_MEASURES[name], _Body({**points, landmark: moved}, up)).value
            if other is None:
                return replace(angle, why="no error can be given so near to where the angle ends")
            turned = (other - angle.value + 180.0) % 360.0 - 180.0
            total += (turned / _STEP) ** 2
    return replace(angle, sd=sd * math.sqrt(total))
