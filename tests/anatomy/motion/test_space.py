"""Landmarks in space to joint angles, against SciPy's rotations and the demonstration's moving figure.

Axes and orders: Wu et al. 2002 and 2005, Grood and Suntay 1983 (as named in the module). Lengths are invented.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from anatomy.motion.space import LEAST_BEND, joint_angles
from deploy.demonstration.scene import attacker_at
from deploy.demonstration.truth import landmark_points, true_angles

UP = (0.0, 1.0, 0.0)  # the figures below stand in ISB axes: X forward, Y up, Z right
turns = st.lists(st.floats(-180, 180), min_size=3, max_size=3)


def figure(side: str = "right", **angles: float) -> dict[str, np.ndarray]:
    """A figure in ISB axes with the given angles (degrees; 0 = standing, arms down), built with SciPy alone."""
    a = lambda name: angles.get(name, 0.0)  # noqa: E731
    points = {f"{s}_hip": np.array([0, 0, sign * 0.09]) for s, sign in (("left", -1), ("right", 1))}
    trunk = Rotation.from_euler("XY", [a("lateral"), a("axial")], degrees=True)
    middle = trunk.apply([0, 0.5, 0])
    points |= {
        f"{s}_shoulder": middle + trunk.apply([0, 0, z]) for s, z in (("left", -0.18), ("right", 0.18))
    }
    mirror = np.array([1, 1, -1]) if side == "left" else np.ones(3)

    def right(name: str) -> np.ndarray:
        return points[f"{side}_{name}"] * mirror

    thigh = Rotation.from_euler("ZXY", [a("flexion"), a("adduction"), a("rotation")], degrees=True)
    shank = thigh * Rotation.from_euler("Z", -a("knee"), degrees=True)
    places = {"knee": right("hip") + thigh.apply([0, -0.43, 0])}
    places["ankle"] = places["knee"] + shank.apply([0, -0.41, 0])
    places["heel"] = places["ankle"] + shank.apply([-0.05, -0.05, 0])
    places["foot_index"] = places["heel"] + shank.apply(
        0.2 * np.array([np.cos(np.radians(a("dorsi"))), np.sin(np.radians(a("dorsi"))), 0])
    )
    seated = Rotation.from_matrix(np.diag(mirror) @ trunk.as_matrix() @ np.diag(mirror))
    arm = seated * Rotation.from_euler("YXY", [a("plane"), -a("elevation"), a("arm_rotation")], degrees=True)
    places["elbow"] = right("shoulder") + arm.apply([0, -0.3, 0])
    fore = arm * Rotation.from_euler("Z", a("elbow"), degrees=True)
    places["wrist"] = places["elbow"] + fore.apply([0, -0.26, 0])
    return points | {f"{side}_{name}": place * mirror for name, place in places.items()}


def turned(points: dict[str, np.ndarray], by: list[float]) -> dict[str, np.ndarray]:
    rotation = Rotation.from_euler("XYZ", by, degrees=True)
    return {name: rotation.apply(place) + np.array([1, 2, 3]) for name, place in points.items()}


@pytest.mark.parametrize("side", ["left", "right"])
@given(
    turns, st.floats(-60, 120), st.floats(-40, 30), st.floats(-50, 50), st.floats(25, 150), st.floats(-40, 25)
)
def test_the_hip_reads_as_scipy_built_it(side, by, flexion, adduction, rotation, knee, dorsi) -> None:
    made = figure(side, flexion=flexion, adduction=adduction, rotation=rotation, knee=knee, dorsi=dorsi)
    found = joint_angles(turned(made, by))
    wanted = {"hip_flexion": flexion, "hip_adduction": adduction, "hip_internal_rotation": rotation}
    for name, value in (wanted | {"knee_flexion": knee, "ankle_dorsiflexion": dorsi}).items():
        assert found[f"{side}_{name}"].value == pytest.approx(value, abs=1e-6), name


@pytest.mark.parametrize("side", ["left", "right"])
@given(
    turns, st.floats(-30, 120), st.floats(15, 160), st.floats(-80, 80), st.floats(25, 150), st.floats(-20, 20)
)
def test_the_shoulder_reads_as_scipy_built_it(side, by, plane, elevation, rotation, elbow, lateral) -> None:
    given_ = {"plane": plane, "elevation": elevation, "arm_rotation": rotation, "elbow": elbow}
    found = joint_angles(turned(figure(side, **given_, lateral=lateral, axial=15), by))
    wanted = {"shoulder_plane": plane, "shoulder_elevation": elevation, "elbow_flexion": elbow}
    for name, value in (wanted | {"shoulder_internal_rotation": rotation}).items():
        assert found[f"{side}_{name}"].value == pytest.approx(value, abs=1e-6), name


@given(turns, st.floats(-40, 40), st.floats(-80, 80))
def test_the_trunk_reads_as_scipy_built_it(by, lateral, axial) -> None:
    found = joint_angles(turned(figure(lateral=lateral, axial=axial), by))
    # A turn about X takes Y towards Z, the right.
    assert found["trunk_lateral_flexion"].value == pytest.approx(lateral, abs=1e-6)
    assert found["trunk_axial_rotation"].value == pytest.approx(axial, abs=1e-6)


def test_signs_in_plain_postures() -> None:
    """Forward is flexion, towards the middle adduction, on both sides; knee behind bends; right hip higher is positive."""
    for side, out in (("left", -1.0), ("right", 1.0)):
        points = figure(side)
        points[f"{side}_knee"] = points[f"{side}_hip"] + (0.3, -0.3, -0.1 * out)
        points[f"{side}_elbow"] = points[f"{side}_shoulder"] + (0.3, 0, 0)
        found = joint_angles(points, UP)
        assert found[f"{side}_hip_flexion"].value == pytest.approx(45)
        assert found[f"{side}_hip_adduction"].value > 5
        assert found[f"{side}_shoulder_plane"].value == pytest.approx(90)
        assert found[f"{side}_shoulder_elevation"].value == pytest.approx(90)
        points[f"{side}_elbow"] = points[f"{side}_shoulder"] + (0, 0, 0.3 * out)
        assert joint_angles(points, UP)[f"{side}_shoulder_plane"].value == pytest.approx(0)
    tilted = turned(figure(), [10, 0, 0])
    assert joint_angles(tilted, UP)["pelvis_obliquity"].value == pytest.approx(-10)


def test_what_cannot_be_told_is_none_with_its_reason() -> None:
    found = joint_angles(figure(knee=LEAST_BEND - 1, elbow=5), UP)
    for name in ("right_hip_internal_rotation", "right_shoulder_plane", "pelvis_tilt", "trunk_flexion"):
        assert found[name].value is None
        assert found[name].why
    assert "19°" in found["right_hip_internal_rotation"].why
    for name in ("right_knee_adduction", "right_radioulnar_pronation"):
        assert found[name].value is None
    assert found["left_knee_flexion"].why == "the left knee is missing"
    spot = figure() | {"right_knee": figure()["right_hip"]}
    assert "one spot" in joint_angles(spot, UP)["right_hip_flexion"].why
    with pytest.raises(ValueError, match="three numbers"):
        joint_angles({"nose": np.zeros(2)})
    with pytest.raises(ValueError, match="upward"):
        joint_angles(figure(), (0, 0, 0))


def test_the_stated_spread_is_that_of_noisy_points() -> None:
    made = figure(
        flexion=40, adduction=-10, rotation=10, knee=70, plane=60, elevation=80, elbow=80, arm_rotation=20
    )
    dice, sd = np.random.default_rng(7), 0.004
    stated = joint_angles(made, UP, landmark_sd=sd)
    draws = [
        joint_angles({name: place + dice.normal(0, sd, 3) for name, place in made.items()}, UP)
        for _ in range(1500)
    ]
    checked = 0
    for name, angle in stated.items():
        if (
            angle.value is None or name == "trunk_inclination"
        ):  # unsigned and 0 here, so not even nearly normal
            continue
        spread = np.std([draw[name].value for draw in draws])
        assert spread == pytest.approx(angle.sd, rel=0.1), name
        checked += 1
    assert checked == 12


def test_the_moving_figure_of_the_demonstration_reads_true() -> None:
    """Knee, elbow and trunk as its own record tells; axes of thigh and pelvis as its own segments have them."""
    times = np.arange(0.2, 3.0, 0.1)
    skeleton = attacker_at(times)
    truth, points = true_angles(skeleton), landmark_points(skeleton)
    told = 0
    for n in range(len(times)):
        found = joint_angles({name: place[n] for name, place in points.items()}, (0, 0, 1))
        for name in ("right_knee_flexion", "left_knee_flexion", "right_elbow_flexion", "trunk_inclination"):
            assert found[name].value == pytest.approx(truth[name][n], abs=1e-6)
        lean = np.degrees(np.arcsin(skeleton.frames["pelvis"][n][2, 2]))
        assert found["pelvis_obliquity"].value == pytest.approx(lean, abs=1e-6)
        # The pelvis of the points has the figure's Z axis, and Y from the trunk.
        z, up = skeleton.frames["pelvis"][n][:, 2], points["left_shoulder"][n] + points["right_shoulder"][n]
        x = np.cross(up - points["left_hip"][n] - points["right_hip"][n], z)
        pelvis = np.stack([x, np.cross(z, x), z], 1) / (np.linalg.norm(x), np.linalg.norm(x), 1)
        thigh = pelvis.T @ skeleton.frames["thigh_r"][n]
        flexion, adduction, rotation = Rotation.from_matrix(thigh).as_euler("ZXY", degrees=True)
        assert found["right_hip_flexion"].value == pytest.approx(flexion, abs=1e-6)
        assert found["right_hip_adduction"].value == pytest.approx(adduction, abs=1e-6)
        if found["right_hip_internal_rotation"].value is not None:
            assert found["right_hip_internal_rotation"].value == pytest.approx(rotation, abs=1e-6)
            told += 1
    assert told >= 5
