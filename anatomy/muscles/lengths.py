"""Length and tension by the book: the sarcomere's landmarks and the published angles of greatest torque, from data.

Both tables carry their sources and how each value was seen (read, or from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from anatomy.muscles.body import Body, Floats
from anatomy.muscles.coordinates import Coordinate, find_motion, table
from anatomy.muscles.position import Posture, posture_of
from anatomy.muscles.sweeping import torque_sweep

__all__ = [
    "MID_RANGE",
    "Landmark",
    "PeakTorque",
    "length_says",
    "peak_torques",
    "sarcomere_landmarks",
    "sarcomere_share",
]

MID_RANGE = (
    "Strongest near the middle of its joint’s range, weaker at both ends (common practice, no source)."
)
NEAR_BEST = 0.1
"""Optimal lengths to either side within which a fibre is said to be near its best; own choice, no source."""


@dataclass(frozen=True)
class Landmark:
    """A sarcomere length in micrometres and the share of greatest active force there."""

    length_um: float
    share: float
    what: str
    species: str
    status: str
    source: str


@cache
def sarcomere_landmarks(species: str) -> tuple[Landmark, ...]:
    """The landmarks of a species' curve (``frog``, ``human``), by length."""
    rows = [
        Landmark(
            float(row["length_um"]),
            float(row["share"]),
            row["what"],
            row["species"],
            row["status"],
            row["source"],
        )
        for row in table("sarcomere")
    ]
    return tuple(sorted((row for row in rows if row.species == species), key=lambda row: row.length_um))


def sarcomere_share(length_um: Floats | float) -> Floats:
    """Active force of a frog's sarcomere over its greatest: straight between the landmarks, nothing beyond them.

    Gordon, Huxley & Julian (1966), J Physiol 184:170, as drawn after McMahon (1984).
    """
    marks = sarcomere_landmarks("frog")
    share = np.interp(length_um, [m.length_um for m in marks], [m.share for m in marks], left=0.0, right=0.0)
    return np.asarray(share, dtype=np.float64)


@dataclass(frozen=True)
class PeakTorque:
    """Where people give the greatest isometric torque: degrees ``low`` to ``high`` of ``swept``'s own motion."""

    about: Coordinate
    sign: int
    swept: Coordinate
    swept_sign: int
    low: float
    high: float
    tested: str
    base: tuple[tuple[str, str, float], ...]
    status: str
    source: str
    note: str

    @property
    def motion(self) -> str:
        """ "knee extension"."""
        return f"{self.about.joint} {self.about.motion if self.sign > 0 else self.about.opposite}"

    def model(self, body: Body, side: str = "right") -> tuple[float, Floats, Floats]:
        """(angle of the model's greatest torque, degrees (T,), newton metres (T,)) in the posture of the study."""
        angles: dict[str, dict[str, float]] = {}
        for joint, motion, value in self.base:
            angles.setdefault(joint, {})[motion] = value
        posture: Posture = posture_of(side, angles)
        degrees, torque = torque_sweep(body, posture, self.about, self.sign, self.swept)
        return float(degrees[int(np.argmax(torque))]), degrees, torque


@cache
def peak_torques() -> tuple[PeakTorque, ...]:
    """Every published angle, in the order of the table."""
    found = []
    for row in table("peak_torque"):
        about, sign = find_motion(row["joint"], row["motion"])
        swept, swept_sign = find_motion(row["swept_joint"], row["swept_motion"])
        base = tuple(
            (joint, motion.strip(), float(value))
            for part in row["standing"].split(";")
            if part.strip()
            for joint, motion, value in [_placed(part.strip())]
        )
        ends = sorted((swept_sign * float(row["low"]), swept_sign * float(row["high"])))
        found.append(
            PeakTorque(
                about,
                sign,
                swept,
                swept_sign,
                ends[0],
                ends[1],
                row["tested"],
                base,
                row["status"],
                row["source"],
                row["note"],
            )
        )
    return tuple(found)


def _placed(text: str) -> tuple[str, str, str]:
    joint, motion, value = text.rsplit(" ", 2)
    return joint, motion, value


def length_says(fibre: float) -> str:
    """Where a fibre stands, in words; ``fibre`` in optimal lengths."""
    if abs(fibre - 1) <= NEAR_BEST:
        return "near its best length"
    return "shorter than its best" if fibre < 1 else "longer than its best"
