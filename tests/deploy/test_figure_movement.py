"""The invented movement: a body that keeps its lengths, feet that stand, a throw in its constructed order."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from deploy.demonstration.ball import ball_course, bounce_times, release_point
from deploy.demonstration.event import chain_peaks, key_moments
from deploy.demonstration.scene import PLAYERS, attacker_at, flank_point, players_at
from deploy.demonstration.truth import lag_seconds, landmark_points, true_angles
from deploy.demonstration.views import demonstration_views

TIMES = np.arange(0, 11, 0.02)
STATURE = {player.role: player.stature for player in PLAYERS}


@pytest.fixture(scope="module")
def players():
    return players_at(TIMES)


# Drillis and Contini 1966, in Winter, Biomechanics and Motor Control of Human Movement, 4th ed. 2009, fig. 4.1:
# thigh 0.530 - 0.285, shank 0.285 - 0.039, upper arm 0.186, forearm 0.146, all of stature.
@pytest.mark.parametrize(
    ("one", "two", "fraction"),
    [
        ("hip", "knee", 0.245),
        ("knee", "ankle", 0.246),
        ("shoulder", "elbow", 0.186),
        ("elbow", "wrist", 0.146),
    ],
)
def test_limbs_keep_the_published_length_at_all_times(players, one, two, fraction):
    for role, skeleton in players.items():
        for side in "lr":
            length = np.linalg.norm(
                skeleton.joints[f"{one}_{side}"] - skeleton.joints[f"{two}_{side}"], axis=1
            )
            assert length == pytest.approx(np.full_like(length, fraction * STATURE[role]), abs=1e-9)


def test_head_and_trunk_keep_their_measures(players):
    for role, skeleton in players.items():
        j = skeleton.joints
        for one, two in (
            ("hip_l", "hip_r"),
            ("root", "lumbar"),
            ("thorax", "mid_shoulder"),
            ("neck", "head"),
        ):
            assert np.ptp(np.linalg.norm(j[one] - j[two], axis=1)) < 1e-9, (role, one, two)


def test_segment_axes_are_right_handed_and_unit(players):
    for skeleton in players.values():
        for name, frames in skeleton.frames.items():
            assert frames.transpose(0, 2, 1) @ frames == pytest.approx(
                np.tile(np.eye(3), (len(TIMES), 1, 1)), abs=1e-9
            ), name
            assert np.linalg.det(frames) == pytest.approx(np.ones(len(TIMES)), abs=1e-9), name


def test_no_foot_hand_or_knee_is_below_the_floor(players):
    for role, skeleton in players.items():
        for side in "lr":
            for point in ("heel", "ball", "toe"):
                assert skeleton.joints[f"{point}_{side}"][:, 2].min() > -0.002, (role, point, side)
            assert skeleton.joints[f"knee_{side}"][:, 2].min() > 0.05
            assert skeleton.joints[f"hand_{side}"][:, 2].min() > 0.05


def test_a_planted_foot_does_not_slide(players):
    for role, skeleton in players.items():
        for side in "lr":
            down = skeleton.planted[side]
            for first in np.flatnonzero(down[1:] & down[:-1]):
                moved = [
                    np.linalg.norm(
                        skeleton.joints[f"{p}_{side}"][first + 1] - skeleton.joints[f"{p}_{side}"][first]
                    )
                    for p in ("heel", "ball")
                ]
                # It stands on its heel or on its ball; the other may roll about it.
                assert min(moved) < 0.003, (role, side, TIMES[first])


def test_the_attacker_flies_between_take_off_and_landing():
    moments = key_moments()
    start, end = float(moments["take_off"]), float(moments["landing"])
    t = np.linspace(start, end, 61)
    skeleton = attacker_at(t)
    height = skeleton.joints["root"][:, 2]
    # Free flight: 9.81 m/s2 (standard gravity 9.80665, ISO 80000-3), taken twice from the height.
    assert np.gradient(np.gradient(height, t), t)[3:-3] == pytest.approx(np.full(55, -9.81), abs=1e-6)
    inside = (t > start) & (t < end)
    for side in "lr":
        assert not skeleton.planted[side][inside].any()
    lowest = np.min(
        [skeleton.joints[f"{p}_{s}"][:, 2] for p in ("heel", "ball", "toe") for s in "lr"], axis=0
    )
    assert lowest[20:45].min() > 0.15


def test_knees_and_elbows_bend_within_human_range():
    # Largest flexion of knee about 140 and elbow about 150 degrees (AAOS joint motion values; from memory).
    angles = true_angles(attacker_at(TIMES))
    for side in ("left", "right"):
        assert angles[f"{side}_knee_flexion"].max() < 140
        assert angles[f"{side}_elbow_flexion"].max() < 150


def test_the_chain_runs_from_the_ground_up():
    # Order pelvis, trunk, arm: Wagner et al., J. Sports Sci. Med. 2011; 10:73-80. Lags are our own, exact.
    peaks = chain_peaks()
    assert list(peaks) == sorted(peaks, key=lambda segment: peaks[segment].peak_time)
    assert list(peaks) == ["pelvis", "trunk", "upper_arm", "forearm"]
    assert lag_seconds("pelvis", "trunk") == Fraction(46, 1000)
    assert lag_seconds("trunk", "upper_arm") == Fraction(44, 1000)
    assert lag_seconds("upper_arm", "forearm") == Fraction(35, 1000)
    assert max(step.peak_time for step in peaks.values()) < key_moments()["release"]


@pytest.mark.parametrize(
    ("segment", "angle", "apart"),
    [
        ("pelvis", "hip_line_heading", 0.0006),
        # The shoulder joints also ride on the trunk, so the line between them is a little later.
        ("trunk", "shoulder_line_heading", 0.004),
        ("upper_arm", "right_upper_arm_heading", 0.0006),
        ("forearm", "right_forearm_heading", 0.0006),
    ],
)
def test_the_body_turns_fastest_when_it_was_made_to(segment, angle, apart):
    step = chain_peaks()[segment]
    # The throw, from take-off to the blow; upper arm and forearm point down later, where a heading says nothing.
    t = np.arange(float(key_moments()["take_off"]), float(key_moments()["contact"]), 0.0005)
    rate = np.gradient(true_angles(attacker_at(t))[angle], t)
    assert t[np.abs(rate).argmax()] == pytest.approx(float(step.peak_time), abs=apart)
    assert rate.max() == pytest.approx(step.peak_velocity, rel=0.09 if segment == "trunk" else 0.002)


def test_seen_from_above_the_order_stays():
    camera = demonstration_views()["overhead"].camera
    t = np.arange(float(key_moments()["take_off"]), float(key_moments()["contact"]), 0.0005)
    points = landmark_points(attacker_at(t))
    lines = [("left_hip", "right_hip"), ("left_shoulder", "right_shoulder")]
    lines += [("right_shoulder", "right_elbow"), ("right_elbow", "right_wrist")]
    seen = []
    for one, two in lines:
        gap = camera.project(points[two]) - camera.project(points[one])
        rate = np.gradient(np.unwrap(np.arctan2(-gap[:, 1], gap[:, 0])), t)
        assert rate[np.abs(rate).argmax()] > 0  # counter-clockwise on the screen
        seen.append(t[np.abs(rate).argmax()])
    assert seen == sorted(seen)
    assert seen == pytest.approx([float(s.peak_time) for s in chain_peaks().values()], abs=0.008)


def test_the_elbow_lands_on_the_left_flank_in_the_air():
    contact = float(key_moments()["contact"])
    t = np.array([contact - 0.3, contact])
    placed = players_at(t)
    attacker, defender = placed["attacker"], placed["defender"]
    gap = np.linalg.norm(defender.joints["elbow_l"] - flank_point(attacker), axis=1)
    assert gap[0] > 0.4
    assert gap[1] < 0.05
    flank = flank_point(attacker)[1]
    assert attacker.joints["hip_l"][1, 2] < flank[2] < attacker.joints["shoulder_l"][1, 2]
    assert np.linalg.norm(flank - attacker.joints["hip_l"][1]) < np.linalg.norm(
        flank - attacker.joints["hip_r"][1]
    )
    for point in ("heel", "toe"):
        for side in "lr":
            assert attacker.joints[f"{point}_{side}"][1, 2] > 0.1


def test_the_ball_is_bounced_carried_thrown_and_netted():
    t = np.arange(0, 7, 0.005)
    ball, attacker = ball_course(attacker_at(t)), attacker_at(t)
    radius = 0.095  # size 3 is 58 to 60 cm round (IHF rule 3): 9.2 to 9.5 cm
    assert ball[:, 2].min() >= radius - 1e-6
    for moment in bounce_times():
        assert ball[np.abs(t - moment).argmin(), 2] == pytest.approx(radius, abs=0.03)
    release = float(key_moments()["release"])
    before = (t > 4.7) & (t < release)
    held = np.linalg.norm(ball - attacker.joints["hand_r"], axis=1)[before]
    assert held.max() < radius + 0.05
    after = (t > release) & (t < release + 0.3)
    speed = np.linalg.norm(np.gradient(ball[after], t[after], axis=0), axis=1)
    assert 15 < speed.mean() < 35
    crossing = ball[(ball[:, 1] < 0.05) & (ball[:, 1] > -0.05) & (t > release)]
    assert (np.abs(crossing[:, 0]) < 1.5).all()
    assert (crossing[:, 2] < 2.0).all()
    assert np.linalg.norm(ball[np.abs(t - release).argmin()] - release_point()) < 0.12
    assert -1.3 < ball[-1, 1] < 0
