"""Cameras and movement of the demonstration's figure, held to calculations made another way."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deploy.demonstration.camera import Camera
from deploy.demonstration.court import hall_picture, measure_of
from deploy.demonstration.motion import Knot, MotionError, Step, Track
from deploy.demonstration.views import demonstration_views, view_offset

VIEWS = demonstration_views()


def homogeneous_projection(camera: Camera, points: np.ndarray) -> np.ndarray:
    """x = K [R | -R C] X with R from pan and tilt, Hartley and Zisserman, Multiple View Geometry, 2nd ed., (6.7).

    Made apart from the code under test: angles of pan, tilt and roll instead of vector products.
    """
    view = np.subtract(camera.target, camera.position).astype(float)
    pan, tilt = np.arctan2(view[0], view[1]), np.arcsin(-view[2] / np.linalg.norm(view))
    turn = np.array([[np.cos(pan), -np.sin(pan), 0], [np.sin(pan), np.cos(pan), 0], [0, 0, 1]])
    # Court (right, ahead, up) to camera (right, down, ahead), then nodding by the tilt.
    swap = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]])
    nod = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    rotation = nod @ swap @ turn
    width, height = camera.size
    k = np.array([[camera.focal, 0, width / 2], [0, camera.focal, height / 2], [0, 0, 1]])
    matrix = k @ np.hstack([rotation, -rotation @ np.array(camera.position, float)[:, None]])
    image = np.hstack([points, np.ones((len(points), 1))]) @ matrix.T
    return image[:, :2] / image[:, 2:]


@given(st.lists(st.tuples(*[st.floats(-4, 4), st.floats(3, 14), st.floats(0, 3)]), min_size=1, max_size=8))
def test_projection_agrees_with_a_homogeneous_matrix(points):
    camera, points = VIEWS["baseline"].camera, np.array(points)
    assert camera.project(points) == pytest.approx(homogeneous_projection(camera, points), abs=1e-6)


def test_overhead_projection_is_similar_triangles():
    # A camera straight above: pixels = focal * metres / distance, worked by hand. Right in the picture is
    # away from the goal, up in the picture is to the attacker's right.
    camera = VIEWS["overhead"].camera
    (x, y) = camera.project(np.array([0.5, 9.8, 1.4]))
    assert x == pytest.approx(640 + 1750 * 1.0 / 8.0)
    assert y == pytest.approx(360 + 1750 * 0.5 / 8.0)


@given(st.floats(0, 1280), st.floats(0, 720), st.floats(1, 40))
def test_a_point_on_a_line_of_sight_projects_back(x, y, distance):
    for view in VIEWS.values():
        point = np.array(view.camera.position) + distance * view.camera.rays(np.array([x, y]))
        assert view.camera.project(point) == pytest.approx([x, y], abs=1e-6)


def test_what_lies_behind_a_camera_has_no_pixel():
    assert np.isnan(VIEWS["baseline"].camera.project(np.array([9.0, -14.0, 2.0]))).all()


def test_a_camera_cannot_look_along_its_upward_direction():
    with pytest.raises(ValueError, match="upward direction"):
        Camera("none", (0, 0, 5), (0, 0, 0), (0, 0, 1), 100.0, (64, 36))


def test_lines_are_painted_where_the_rules_put_them():
    # IHF Rules of the Game, rule 1: goal-area line 6 m from the goal line, its 5 cm part of the area; 7 m line
    # of 1 m; a line is lighter than the floor beside it.
    camera = VIEWS["overhead"].camera
    picture = hall_picture(camera).mean(axis=2)

    def light(x, y):
        column, row = np.floor(camera.project(np.array([x, y, 0.0]))).astype(int)
        return picture[row, column]

    for x, y in ((0.0, 5.975), (-1.0, 5.975), (0.3, 6.975), (0.0, 8.975)):
        assert light(x, y) > light(x, y + 0.12) + 0.15
        assert light(x, y) > light(x, y - 0.12) + 0.15
    assert light(0.7, 6.975) == pytest.approx(light(0.7, 7.1), abs=0.03)
    # A gap of the dashed line, 15 cm beside the dash.
    assert light(0.15, 8.975) < light(0.0, 8.975) - 0.15
    assert (measure_of("half_goal"), measure_of("goal_height")) == (1.5, 2.0)


def test_the_views_stand_to_each_other_by_an_exact_offset():
    baseline, overhead = VIEWS["baseline"], VIEWS["overhead"]
    assert (baseline.rate, overhead.rate) == (50, Fraction(30000, 1001))
    assert view_offset(baseline, overhead) == Fraction(137, 300)
    moment = Fraction(519, 100)
    frame = overhead.frame_at(moment).count
    assert abs(overhead.event_seconds(frame) - moment) <= 1 / (2 * overhead.rate)


@given(st.floats(-3, 3), st.floats(-3, 3), st.floats(-5, 5), st.floats(0.2, 3))
def test_a_quintic_under_gravity_is_the_parabola(height, velocity, start, length):
    # Constant acceleration: s = s0 + v t + g t^2 / 2 (Galileo; common practice, no source).
    g, t0 = -9.81, Fraction(start).limit_denominator(1000)
    h = Fraction(length).limit_denominator(1000)
    end = height + velocity * float(h) + g * float(h) ** 2 / 2
    track = Track([Knot(t0, height, velocity, g), Knot(t0 + h, end, velocity + g * float(h), g)])
    t = np.linspace(0, float(h), 9)
    assert track.at(t + float(t0)) == pytest.approx(height + velocity * t + g * t**2 / 2, abs=1e-7)


def test_a_step_is_the_minimum_jerk_curve():
    # Flash and Hogan, J. Neurosci. 1985; 5:1688-1703: 10 s^3 - 15 s^4 + 6 s^5; peak velocity 1.875 of the mean, half-way.
    step = Step(Fraction(1), Fraction(2), 8.0)
    assert step.at(np.array([0.5, 1.0, 1.25, 1.5, 2.0, 9.0])) == pytest.approx([0, 0, 0.828125, 4, 8, 8])
    t = np.linspace(1, 2, 20001)
    rate = np.gradient(step.at(t), t)
    assert t[rate.argmax()] == pytest.approx(float(step.peak_time), abs=1e-4)
    assert rate.max() == pytest.approx(1.875 * 8, rel=1e-6)
    assert step.peak_velocity == pytest.approx(15.0)


def test_knots_that_do_not_follow_each_other_are_refused():
    with pytest.raises(MotionError, match="follow each other"):
        Track([Knot(Fraction(1), 0.0), Knot(Fraction(1), 1.0)])
    with pytest.raises(MotionError, match="end after it starts"):
        Step(Fraction(1), Fraction(1), 2.0)
