"""Published joint angles of greatest isometric torque beside what the model says: lever × force–length × greatest force.

Muscles whose curve can't be read count with the factor 1, as in the ranking; passive force is left out. People differ from
the model: what does not agree stands in ``DIFFER`` with what the model gives instead and the likely reason, and fails here
when that changes.
"""

from __future__ import annotations

import numpy as np
import pytest

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
pytest.importorskip("mujoco", reason=WHY)
pytest.importorskip("myo_sim", reason=WHY)

from anatomy.muscles.body import open_body  # noqa: E402
from anatomy.muscles.catalogue import paths_on  # noqa: E402
from anatomy.muscles.coordinates import find_joint, find_motion  # noqa: E402
from anatomy.muscles.doubts import curve_doubts  # noqa: E402
from anatomy.muscles.position import posture_of  # noqa: E402

Angles = dict[str, dict[str, float]]


def torque(joint: str, motion: str, angles: Angles) -> float:
    """Newton metres that all muscles which make the motion could give together."""
    reading = open_body().read(posture_of("right", angles))
    one, sign = find_motion(find_joint(joint), motion)
    unread = np.array([path.base in curve_doubts() for path in paths_on("right")])
    pull = np.where(unread, 1.0, reading.active) * open_body().forces("right")
    return float((np.maximum(sign * reading.levers[:, one.number], 0) * pull).sum())


def peak(joint: str, motion: str, swept: str, angles: tuple[float, ...], base: Angles) -> float:
    """Of the angles tested, the one with the greatest torque; ``swept`` is the motion that the angles are of."""
    given = {value: base | {joint: {**base.get(joint, {}), swept: value}} for value in angles}
    return max(angles, key=lambda value: torque(joint, motion, given[value]))


SEATED: Angles = {"hip": {"flexion": 80}}
AGREE: list[tuple[str, str, str, tuple[float, ...], Angles, tuple[float, ...], str]] = [
    ("elbow", "flexion", "flexion", (30, 50, 75, 90, 100, 120), {}, (75, 90, 100), "Kulig, Andrews & Hay 1984, Exerc Sport Sci Rev 12:417, from memory"),
    ("hip", "internal rotation", "flexion", (10, 40, 90), {}, (90,), "Johnson & Hoffman 2010, J Sport Rehabil 19:12"),
    ("hip", "flexion", "flexion", (0, 30, 60, 90), {}, (0, 30), "Neumann, Kinesiology, from memory; Ito et al. 2024 found the contrary, see DIFFER"),
]  # fmt: skip
DIFFER: list[tuple[str, str, str, tuple[float, ...], Angles, float, float, str, str]] = [
    ("knee", "extension", "flexion", (15, 30, 60, 90), SEATED, 30, 60, "Sosnoff, Voudrie & Ebersole 2009, J Mot Behav 42:5", "the curves of three of the four heads can't be read, so that the lever decides, which is greatest near 30"),
    # joint, motion, swept, tested, base, the model's, published, source, reason
    ("hip", "flexion", "flexion", (0, 30, 60, 90, 105), {}, 30, 105, "Ito et al. 2024, Isokinet Exerc Sci 32:359", "sources disagree; flexors shorten below their best length"),
    ("hip", "extension", "flexion", (0, 30, 60, 90), {}, 30, 90, "Worrell et al. 2001, JOSPT 31:730, from memory", "wrapping of gluteus maximus was taken out; its curve and most hamstrings’ can't be read"),
    ("hip", "abduction", "abduction", (-10, 0, 20, 40), {}, 20, 0, "Neumann, Kinesiology, from memory", "the model's curves of the abductors are broad and fitted"),
    ("talocrural", "plantarflexion", "dorsiflexion", (-40, -25, 0, 15, 25), {}, 0, 25, "Solianik et al., Baltic J Sport Health Sci", "the tendon does not stretch here, passive force is left out"),
    ("talocrural", "dorsiflexion", "dorsiflexion", (-40, -25, 0, 15, 25), {}, 0, -25, "Solianik et al., Baltic J Sport Health Sci", "the tendon does not stretch here"),
    ("elbow", "extension", "flexion", (30, 50, 70, 90, 110), {}, 30, 80, "Neumann, Kinesiology, from memory", "the curve of no head of triceps can be read"),
]  # fmt: skip


@pytest.mark.parametrize(("joint", "motion", "swept", "tested", "base", "published", "source"), AGREE)
def test_the_model_peaks_where_people_do(
    joint: str,
    motion: str,
    swept: str,
    tested: tuple[float, ...],
    base: Angles,
    published: tuple[float, ...],
    source: str,
) -> None:
    assert peak(joint, motion, swept, tested, base) in published, source


@pytest.mark.parametrize(
    ("joint", "motion", "swept", "tested", "base", "here", "published", "source", "reason"), DIFFER
)
def test_where_the_model_peaks_elsewhere_is_known_with_its_reason(
    joint: str,
    motion: str,
    swept: str,
    tested: tuple[float, ...],
    base: Angles,
    here: float,
    published: float,
    source: str,
    reason: str,
) -> None:
    assert peak(joint, motion, swept, tested, base) == here, (source, reason)
    assert here != published


def test_the_biceps_has_its_greatest_lever_as_a_supinator_near_a_right_angle() -> None:
    """Greatest near 90 degrees: Neumann, Kinesiology, from memory; taken as 70 to 115."""
    place = [path.name for path in paths_on("right")].index("BIClong")
    turn, sign = find_motion("radioulnar", "supination")
    angles = tuple(range(30, 131, 5))
    levers = [
        sign * open_body().read(posture_of("right", {"elbow": {"flexion": v}})).levers[place, turn.number]
        for v in angles
    ]
    assert 70 <= angles[int(np.argmax(levers))] <= 115
