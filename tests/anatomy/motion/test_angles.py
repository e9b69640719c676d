"""Angles in the picture: by hand, against SciPy's rotations, as properties, and their errors three ways."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from uncertainties import ufloat
from uncertainties import umath as um

from anatomy.motion.angles import angle_series
from anatomy.motion.catalogue import MEASURES
from anatomy.motion.points import Picture, wrapped

from .made import STANDING, clicked, columns, on_plane

Points = dict[str, list[float]]


def value(name: str, points: Points, picture: Picture | None = None) -> float:
    return float(angle_series(MEASURES[name], on_plane(points, picture)).degrees[0])


def sd(name: str, points: Points, click_sd: float) -> float:
    return float(angle_series(MEASURES[name], on_plane(points)).sd(click_sd)[0])


def lines(hip: float, shoulder: float, length: float = 100) -> Points:
    """A hip line and a shoulder line at these angles, counter-clockwise on the screen, pixels with y down."""
    points: Points = {}
    for part, degrees, y in (("hip", hip, 300), ("shoulder", shoulder, 100)):
        dx, dy = length / 2 * math.cos(math.radians(degrees)), -length / 2 * math.sin(math.radians(degrees))
        points |= {f"left_{part}": [200 - dx, y - dy], f"right_{part}": [200 + dx, y + dy]}
    return points


# Worked by hand: pixels, y down.
BY_HAND = [
    ("shoulder_line_inclination", {"left_shoulder": [0, 0], "right_shoulder": [10, 0]}, 0),
    ("shoulder_line_inclination", {"left_shoulder": [0, 0], "right_shoulder": [10, -10]}, 45),
    ("shoulder_line_inclination", {"left_shoulder": [0, 0], "right_shoulder": [10, 10]}, -45),
    ("shoulder_line_inclination", {"left_shoulder": [10, 0], "right_shoulder": [0, 0]}, 180),
    ("shoulder_line_tilt", {"left_shoulder": [10, 0], "right_shoulder": [0, -10]}, -45),
    ("shoulder_line_tilt", {"left_shoulder": [10, 0], "right_shoulder": [0, 0]}, 0),
    ("hip_line_inclination", {"left_hip": [5, 5], "right_hip": [5, 25]}, -90),
    ("left_knee_flexion", {"left_hip": [0, 0], "left_knee": [0, 10], "left_ankle": [0, 20]}, 0),
    ("left_knee_flexion", {"left_hip": [0, 0], "left_knee": [0, 10], "left_ankle": [10, 10]}, 90),
    ("left_knee_flexion", {"left_hip": [0, 0], "left_knee": [0, 10], "left_ankle": [-10, 10]}, 90),
    # 3-4-5: the shank points back up by acos(4/5) from the thigh turned round, so 180 - 36.8699.
    ("left_knee_flexion", {"left_hip": [0, 0], "left_knee": [0, 50], "left_ankle": [30, 10]}, 143.130102),
    ("right_elbow_flexion", {"right_shoulder": [0, 0], "right_elbow": [10, 0], "right_wrist": [20, -10]}, 45),
    ("trunk_inclination", lines(0, 0), 0),
    ("left_ankle_dorsiflexion", {"left_knee": [0, 0], "left_ankle": [0, 100], "left_heel": [-20, 110], "left_foot_index": [80, 110]}, 0),
    ("left_ankle_dorsiflexion", {"left_knee": [0, 0], "left_ankle": [0, 100], "left_heel": [-20, 110], "left_foot_index": [80, 10]}, 45),
    ("left_ankle_dorsiflexion", {"left_knee": [0, 0], "left_ankle": [0, 100], "left_heel": [0, 110], "left_foot_index": [10, 120]}, -45),
    ("right_shoulder_elevation", lines(0, 0) | {"right_elbow": [300, 100]}, 90),
    ("right_hip_flexion", lines(0, 0) | {"right_knee": [350, 300]}, 90),
    ("right_thigh_inclination", {"right_hip": [0, 0], "right_knee": [10, 10]}, 45),
    ("left_foot_inclination", {"left_heel": [0, 0], "left_foot_index": [10, 10]}, -45),
]  # fmt: skip


@pytest.mark.parametrize(("name", "points", "degrees"), BY_HAND)
def test_worked_examples(name: str, points: Points, degrees: float) -> None:
    assert value(name, points) == pytest.approx(degrees, abs=1e-6)


@pytest.mark.parametrize(("hip", "shoulder", "separation"), [
    (0, 30, 30), (30, 0, -30), (170, -170, 20), (-170, 170, -20), (10, -170, 180), (0, 180, 180), (90, -100, 170),
])  # fmt: skip
def test_hip_shoulder_separation_runs_counter_clockwise_from_hips_to_shoulders(
    hip, shoulder, separation
) -> None:
    assert value("hip_shoulder_separation", lines(hip, shoulder)) == pytest.approx(separation, abs=1e-6)


def test_pixel_aspect_comes_before_everything() -> None:
    """A line of 16:15 pixels: 15 across and 16 down are a square, so 45 degrees."""
    points: Points = {"left_hip": [0, 0], "right_hip": [15, 16]}
    assert value("hip_line_inclination", points, Picture(pixel_aspect=16 / 15)) == pytest.approx(-45)


@pytest.mark.parametrize("turn", [90, 180, 270, -90, 2.5])
def test_a_turned_recording_reads_like_the_upright_one(turn: float) -> None:
    """The stored picture is the upright one turned clockwise by ``turn``."""
    angle = cmath.exp(-1j * math.radians(turn))
    stored = {}
    for name, (x, y) in STANDING.items():
        place = complex(x, -y) * angle
        stored[name] = [place.real, -place.imag]
    for name in MEASURES:
        assert value(name, stored, Picture(rotation=turn)) == pytest.approx(
            value(name, STANDING), abs=1e-6
        ), name


coordinates = st.floats(-2000, 2000)
bodies = st.fixed_dictionaries({name: st.tuples(coordinates, coordinates).map(list) for name in STANDING})
_TO_UPRIGHT = ("inclination", "tilt", "lean")


def _clear(name: str, points: Points) -> bool:
    """Whether no line of the measure is so short that rounding decides."""
    plane = on_plane(points)
    return all(
        np.hypot(*(direction.end.of(plane) - direction.start.of(plane))[0]) > 1
        for direction in MEASURES[name].directions
    )


def _moved(points: Points, move: Callable[[complex], complex]) -> Points:
    return {name: [(p := move(complex(x, y))).real, p.imag] for name, (x, y) in points.items()}


def _apart(one: float, other: float, whole: float = 360) -> float:
    return abs((one - other + whole / 2) % whole - whole / 2)


@settings(max_examples=60)
@given(bodies, st.sampled_from(sorted(MEASURES)), st.complex_numbers(max_magnitude=500), st.floats(0.3, 4))
def test_moving_and_enlarging_change_nothing(points: Points, name: str, shift: complex, scale: float) -> None:
    if _clear(name, points):
        moved = _moved(points, lambda z: scale * z + shift)
        assert _apart(value(name, moved), value(name, points), 180 if "tilt" in name else 360) < 1e-5


@settings(max_examples=60)
@given(bodies, st.sampled_from(sorted(MEASURES)), st.floats(-180, 180))
def test_turning_the_picture_changes_only_what_is_told_against_upright(
    points: Points, name: str, turn: float
) -> None:
    if not _clear(name, points):
        return
    turned = _moved(points, lambda z: z * cmath.exp(-1j * math.radians(turn)))
    before, after = value(name, points), value(name, turned)
    if name in ("trunk_inclination", "neck_inclination"):
        assert abs(after - before) <= abs(turn) + 1e-5
    else:
        expected = before + (turn if any(word in name for word in _TO_UPRIGHT) else 0)
        assert _apart(after, expected, 180 if "tilt" in name else 360) < 1e-5


@settings(max_examples=60)
@given(bodies, st.sampled_from(sorted(MEASURES)))
def test_a_mirrored_picture_turns_the_signs(points: Points, name: str) -> None:
    """Mirrored left to right: signs turn; lines told against the horizontal turn about the vertical."""
    if not _clear(name, points):
        return
    before, after = value(name, points), value(name, _moved(points, lambda z: complex(-z.real, z.imag)))
    if MEASURES[name].fold == "unsigned":
        assert after == pytest.approx(before, abs=1e-5)
    elif MEASURES[name].first == 0.0 and MEASURES[name].fold == "signed":
        assert _apart(after, 180 - before) < 1e-5
    else:
        assert _apart(after, -before, 180 if "tilt" in name else 360) < 1e-5


@settings(max_examples=60)
@given(bodies)
def test_values_lie_in_their_ranges(points: Points) -> None:
    for name, angle in MEASURES.items():
        found = value(name, points)
        if math.isnan(found):
            continue
        low, high = {"signed": (-180, 180), "unsigned": (0, 180), "line": (-90, 90)}[angle.fold]
        ends = sorted(angle.offset + angle.factor * end for end in (low, high))
        assert ends[0] - 1e-9 <= found <= ends[1] + 1e-9, name


def test_joint_angles_are_those_of_scipy_rotations() -> None:
    """The rotation that brings one segment onto the next (scipy.spatial.transform), for 500 poses in the picture."""
    dice = np.random.default_rng(3)
    for _ in range(500):
        points = {name: dice.uniform(0, 700, 2).tolist() for name in STANDING}
        p = {name: np.array([x, -y, 0.0]) for name, (x, y) in points.items()}
        knee = Rotation.align_vectors([p["left_ankle"] - p["left_knee"]], [p["left_knee"] - p["left_hip"]])[0]
        assert value("left_knee_flexion", points) == pytest.approx(np.degrees(knee.magnitude()), abs=1e-4)
        hips, shoulders = (p[f"right_{part}"] - p[f"left_{part}"] for part in ("hip", "shoulder"))
        turned = Rotation.from_euler("z", value("hip_shoulder_separation", points), degrees=True).apply(hips)
        assert np.cross(turned, shoulders)[2] / np.linalg.norm(turned) / np.linalg.norm(
            shoulders
        ) == pytest.approx(0, abs=1e-9)
        assert turned @ shoulders > 0


@given(st.lists(st.floats(-1e4, 1e4), min_size=1))
def test_wrapping_keeps_the_direction_and_the_half_open_range(angles: list[float]) -> None:
    found = wrapped(np.array(angles))
    assert np.all((found > -np.pi - 1e-12) & (found <= np.pi))
    assert np.exp(1j * found) == pytest.approx(np.exp(1j * np.array(angles)), abs=1e-9)


@pytest.mark.parametrize("name", sorted(MEASURES))
@pytest.mark.parametrize("click_sd", [0.5, 1.5])
def test_the_stated_error_is_the_spread_of_clicked_points(name: str, click_sd: float) -> None:
    """Monte Carlo, 20 000 draws, the same dice each time: within 3 % at half a pixel, within 10 % at one and a half."""
    draws = clicked(STANDING, 20_000, click_sd, np.random.default_rng(11))
    found = angle_series(MEASURES[name], on_plane(draws)).degrees
    spread = np.std((found - value(name, STANDING) + 180) % 360 - 180)
    assert sd(name, STANDING, click_sd) == pytest.approx(spread, rel=0.03 if click_sd < 1 else 0.1)


def test_errors_are_those_of_an_open_library_of_propagation() -> None:
    """uncertainties (linear propagation with correlations) on the same formula, shared knee included."""
    p = {name: (ufloat(x, 1.5), ufloat(-y, 1.5)) for name, (x, y) in STANDING.items()}

    def heading(one: str, other: str):
        return um.atan2(p[other][1] - p[one][1], p[other][0] - p[one][0])

    knee = heading("left_knee", "left_ankle") - heading("left_hip", "left_knee")
    assert sd("left_knee_flexion", STANDING, 1.5) == pytest.approx(math.degrees(knee.s), rel=1e-6)
    apart = heading("left_shoulder", "right_shoulder") - heading("left_hip", "right_hip")
    assert sd("hip_shoulder_separation", STANDING, 1.5) == pytest.approx(math.degrees(apart.s), rel=1e-6)
    ends = [
        [(p[f"left_{part}"][k] + p[f"right_{part}"][k]) / 2 for k in (0, 1)] for part in ("hip", "shoulder")
    ]
    trunk = um.atan2(ends[1][1] - ends[0][1], ends[1][0] - ends[0][0])
    assert sd("trunk_inclination", STANDING, 1.5) == pytest.approx(math.degrees(trunk.s), rel=1e-6)


def test_error_of_one_line_by_hand() -> None:
    """Two clicks of 1.5 px at the ends of 100 px: sqrt(2) · 1.5 / 100 rad = 1.2155°."""
    assert sd("hip_line_inclination", lines(20, 0), 1.5) == pytest.approx(math.degrees(2**0.5 * 0.015))


def test_what_is_undefined_is_nan_and_never_zero() -> None:
    same = STANDING | {"left_knee": STANDING["left_hip"]}
    assert math.isnan(value("left_knee_flexion", same))
    assert math.isnan(sd("left_knee_flexion", same, 1.5))
    assert math.isnan(value("left_knee_flexion", STANDING | {"left_ankle": [math.nan, 3.0]}))


def test_the_knee_of_a_published_walk_bends_as_in_the_books() -> None:
    """Markers of Winter 2009, Table A.1. Greatest flexion in swing 60 to 70°, in early stance some 15 to 25°, nearly straight
    at heel contact: Perry and Burnfield, Gait Analysis, 2nd ed. 2010 (from memory)."""
    data = columns("winter_gait.csv")
    points = {
        f"left_{part}": np.stack([data[f"{part}_x"], -data[f"{part}_y"]], axis=-1)
        for part in ("hip", "knee", "ankle")
    }
    flexion = angle_series(MEASURES["left_knee_flexion"], on_plane(points)).degrees
    swing, stance = flexion[:28], flexion[28:50]
    assert 58 < swing.max() < 72
    assert 10 < stance.max() < 28
    assert flexion[20:30].min() < 8
