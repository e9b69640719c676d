"""Where the joints lie in a posture, for a small figure: the model's own bodies, by anatomical names."""

from __future__ import annotations

from functools import lru_cache

from anatomy.muscles.body import Floats, open_body
from anatomy.muscles.position import Posture

__all__ = ["JOINT_PLACES", "joint_places"]

_MIDDLE = {"pelvis": "pelvis", "low back": "lumbar3", "neck": "cervical_spine", "head": "head"}
_OF_SIDE = {
    "shoulder": "humerus",
    "elbow": "ulna",
    "wrist": "lunate",
    "knuckles": "thirdmc",
    "fingertips": "distph3",
    "hip": "femur",
    "knee": "tibia",
    "ankle": "talus",
    "heel": "calcn",
    "ball of the foot": "toes",
}
JOINT_PLACES: dict[str, str] = _MIDDLE | {
    f"{side} {place}": f"{body}_{side[0]}" for side in ("right", "left") for place, body in _OF_SIDE.items()
}
"""Anatomical name → body of the model whose origin lies there."""


@lru_cache(maxsize=256)
def joint_places(posture: Posture) -> dict[str, Floats]:
    """Each joint's place (3,) in metres: x forward, y up, z to the right; the pelvis stands still.

    Raises ModelNotInstalled.
    """
    found = open_body().places(posture, tuple(JOINT_PLACES.values()))
    return dict(zip(JOINT_PLACES, found, strict=True))
