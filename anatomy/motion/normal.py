"""A measured joint angle beside the published normal ranges of the vocabulary."""

from __future__ import annotations

from dataclasses import dataclass

from anatomy.motion.catalogue import JOINT_MOTIONS
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Range

__all__ = ["NormalShare", "as_motion", "motion_of", "normal_share", "published_ranges"]


@dataclass(frozen=True)
class NormalShare:
    """A joint angle in per cent of the end of normal range: of the widest published one, and of the narrowest.

    ``sd`` belongs to ``of_narrowest``, the larger of the two.
    """

    joint: str
    motion: str
    degrees: float
    of_widest: float
    of_narrowest: float
    sd: float
    ranges: tuple[Range, ...]


def as_motion(degrees: float, opposite: bool) -> float:
    """A joint angle told by the opposite motion: 10° of extension are −10° of flexion; 0° is the anatomical position."""
    return -degrees if opposite else degrees


def motion_of(measure: str, degrees: float) -> tuple[str, str, float] | None:
    """Joint, motion, and the angle as a positive number of that motion; None where the measure is no joint's."""
    if measure not in JOINT_MOTIONS:
        return None
    joint, motion, opposite = JOINT_MOTIONS[measure]
    if degrees < 0 and opposite:
        return joint, opposite, as_motion(degrees, opposite=True)
    return joint, motion, degrees


def published_ranges(vocabulary: Vocabulary, joint: str, motion: str) -> tuple[Range, ...]:
    """The published ends of range that a share can be taken of: those above 0°."""
    return tuple(one for one in vocabulary.ranges_of(joint, motion) if one.low > 0)


def normal_share(vocabulary: Vocabulary, measure: str, degrees: float, sd: float) -> NormalShare | None:
    """The share of normal range, or None where the measure is no joint's or nothing is published."""
    told = motion_of(measure, degrees)
    if told is None:
        return None
    joint, motion, angle = told
    ranges = published_ranges(vocabulary, joint, motion)
    if not ranges:
        return None
    widest, narrowest = max(one.high for one in ranges), min(one.low for one in ranges)
    return NormalShare(
        joint, motion, angle, 100 * angle / widest, 100 * angle / narrowest, 100 * sd / narrowest, ranges
    )
