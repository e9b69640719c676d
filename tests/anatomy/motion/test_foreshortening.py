"""How far the picture can mislead: derived bounds against segments turned in space."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from anatomy.motion.foreshortening import Tilted, shortening, space_bounds, worst_error

SEEN = np.arange(0.0, 181.0, 7.5)


def between(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    cross = np.linalg.norm(np.cross(one, other), axis=-1)
    return np.degrees(np.arctan2(cross, np.sum(one * other, axis=-1)))


def tilted(heading: np.ndarray | float, tilt: np.ndarray | float) -> np.ndarray:
    """Unit directions that show at ``heading`` in the picture and stand ``tilt`` out of it, degrees."""
    h, t = np.radians(heading), np.radians(tilt)
    return np.stack(np.broadcast_arrays(np.cos(t) * np.cos(h), np.cos(t) * np.sin(h), np.sin(t)), axis=-1)


@pytest.mark.parametrize("tilt", [10, 20, 30])
@pytest.mark.parametrize("kind", ["one", "both"])
def test_no_tilt_leaves_the_bounds_and_they_are_reached(tilt: float, kind: Tilted) -> None:
    tilts = np.linspace(-tilt, tilt, 61)
    first, second = np.meshgrid(tilts, tilts if kind == "both" else [0.0])
    for seen in SEEN:
        space = between(tilted(0.0, second), tilted(seen, first))
        low, high = space_bounds(seen, tilt, kind)
        assert space.min() == pytest.approx(float(low), abs=1e-6)
        assert space.max() == pytest.approx(float(high), abs=1e-6)


@pytest.mark.parametrize("tilt", [10, 20, 30])
def test_a_joint_turned_with_its_plane_stays_in_its_bounds(tilt: float) -> None:
    """The plane of the joint turned (scipy rotations) about every line of the picture; the angle seen is projected."""
    axes = np.radians(np.arange(0, 180, 0.5))
    turns = Rotation.from_rotvec(np.radians(tilt) * np.stack([np.cos(axes), np.sin(axes), 0 * axes], axis=-1))
    for space in (20.0, 60.0, 90.0, 135.0):
        one, other = (turns.apply(tilted(h, 0.0))[:, :2] for h in (0.0, space))
        flat = [np.pad(line, ((0, 0), (0, 1))) for line in (one, other)]
        seen = between(*flat)
        low, high = space_bounds(seen, tilt, "plane")
        assert np.all((low <= space + 1e-9) & (space <= high + 1e-9))
        assert np.min(np.abs(high - space)) < 1e-3
        assert np.min(np.abs(space - low)) < 1e-3


@pytest.mark.parametrize(("seen", "tilt", "kind", "error"), [
    # By hand: a straight line seen, one end tilted by 30, is bent by 30; both ways, by 60.
    (0, 30, "one", 30), (0, 30, "both", 60), (180, 20, "one", 20), (180, 20, "both", 40), (90, 30, "one", 0),
    # At a right angle cos θ = ∓ sin² 30 = ∓ 1/4: 104.4775 or 75.5225.
    (90, 30, "both", 14.477512), (45, 20, "one", 3.358857), (0, 30, "plane", 0),
    # 2 atan(1 / cos 30) - 90.
    (90, 30, "plane", 8.213211),
])  # fmt: skip
def test_worked_examples(seen: float, tilt: float, kind: Tilted, error: float) -> None:
    assert float(worst_error(seen, tilt, kind)) == pytest.approx(error, abs=1e-4)


def test_lengths_are_seen_too_short_by_the_cosine() -> None:
    assert [round(100 * shortening(tilt), 2) for tilt in (10, 20, 30)] == [1.52, 6.03, 13.4]


@pytest.mark.parametrize("tilt", [-1, 90, 120])
def test_a_tilt_that_cannot_be_is_refused(tilt: float) -> None:
    with pytest.raises(ValueError, match="from 0 to below 90"):
        space_bounds(20.0, tilt, "one")
