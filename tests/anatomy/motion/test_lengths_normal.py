"""Lengths as shares or by a known length, and joint angles beside published ranges."""

from __future__ import annotations

import numpy as np
import pytest
from uncertainties import ufloat
from uncertainties import umath as um

from anatomy.motion.angles import Direction
from anatomy.motion.lengths import Length, length_series
from anatomy.motion.normal import as_motion, motion_of, normal_share
from anatomy.motion.points import at
from anatomy.vocabulary.packaged import packaged_vocabulary

from .made import STANDING, clicked, on_plane


def line(one: str, other: str) -> Direction:
    return Direction(at(one), at(other))


THIGH, SHANK, STEP = (
    line("left_hip", "left_knee"),
    line("left_knee", "left_ankle"),
    line("left_heel", "right_heel"),
)
LENGTHS = [
    Length(STEP),
    Length(STEP, THIGH),
    Length(SHANK, THIGH),  # they share the knee
    Length(THIGH, THIGH),
    Length(SHANK, THIGH, known=0.43, known_sd=0.01, unit="m"),
]


def by_library(length: Length, click_sd: float):
    """The same by the uncertainties package: linear propagation with shared points."""
    p = {name: (ufloat(x, click_sd), ufloat(y, click_sd)) for name, (x, y) in STANDING.items()}

    def distance(direction: Direction):
        (one,), (other,) = direction.start.landmarks, direction.end.landmarks
        return um.sqrt((p[one][0] - p[other][0]) ** 2 + (p[one][1] - p[other][1]) ** 2)

    value = distance(length.between)
    if length.of is not None:
        value = value / distance(length.of)
    return value if length.known is None else value * ufloat(length.known, length.known_sd)


@pytest.mark.parametrize("length", LENGTHS)
def test_values_and_errors_are_those_of_an_open_library(length: Length) -> None:
    value, sd = (float(series[0]) for series in length_series(length, on_plane(STANDING), 1.5))
    expected = by_library(length, 1.5)
    assert value == pytest.approx(expected.n)
    assert sd == pytest.approx(expected.s, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("length", LENGTHS[:3])
def test_errors_are_the_spread_of_clicked_points(length: Length) -> None:
    """Monte Carlo, 20 000 draws, the same dice each time, within 5 %."""
    draws = on_plane(clicked(STANDING, 20_000, 1.5, np.random.default_rng(6)))
    _, sd = length_series(length, on_plane(STANDING), 1.5)
    assert float(sd[0]) == pytest.approx(float(np.std(length_series(length, draws, 1.5)[0])), rel=0.05)


def test_ends_at_one_place_have_no_length_to_divide_by() -> None:
    same = on_plane(STANDING | {"left_knee": STANDING["left_hip"]})
    assert np.isnan(length_series(Length(STEP, THIGH), same, 1.5)[0][0])


def test_joint_angles_are_told_by_the_motion_they_belong_to() -> None:
    assert motion_of("left_ankle_dorsiflexion", 12.0) == ("talocrural", "dorsiflexion", 12.0)
    assert motion_of("right_ankle_dorsiflexion", -30.0) == ("talocrural", "plantarflexion", 30.0)
    assert motion_of("left_knee_flexion", 60.0) == ("knee", "flexion", 60.0)
    assert motion_of("hip_shoulder_separation", 60.0) is None
    assert as_motion(10.0, opposite=True) == -10.0


def test_shares_of_range_lie_between_the_published_ends() -> None:
    """Elbow flexion: 140 (AMA) to 160 (Kapandji) among the vocabulary's sources, 143 in Boone and Azen 1979."""
    share = normal_share(packaged_vocabulary(), "left_elbow_flexion", 71.5, 3.0)
    assert share is not None
    assert (share.joint, share.motion) == ("elbow", "flexion")
    assert share.of_widest == pytest.approx(100 * 71.5 / 160)
    assert share.of_narrowest == pytest.approx(100 * 71.5 / 140)
    assert share.sd == pytest.approx(100 * 3 / 140)
    boone = next(one for one in share.ranges if "boone-azen-1979" in one.sources)
    assert 71.5 / boone.high == pytest.approx(0.5)
    assert normal_share(packaged_vocabulary(), "trunk_lean", 10, 1) is None


def test_every_joint_measure_has_published_ranges() -> None:
    for measure in ("knee_flexion", "elbow_flexion", "hip_flexion", "ankle_dorsiflexion"):
        for side in ("left", "right"):
            for degrees in (20.0, -20.0) if measure.startswith("ankle") else (20.0,):
                share = normal_share(packaged_vocabulary(), f"{side}_{measure}", degrees, 1.0)
                assert share is not None
                assert 0 < share.of_widest <= share.of_narrowest
