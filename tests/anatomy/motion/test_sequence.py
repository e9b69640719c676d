"""Peaks, lags and their order, on turns whose truth is known, and under clicks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.motion.curves import AUTOMATIC, Smoothing
from anatomy.motion.sequence import Lag, LeftOut, Peak, fastest_turn, find_peak, lag_between, lags_between
from anatomy.motion.wording import lag_sentence, milliseconds

from .made import curve_of, line_points, turn

RATE = 50.0
SECONDS = np.arange(60) / RATE
GIVEN = Smoothing("given", 8.0)


def hips_and_shoulders(hips: np.ndarray, shoulders: np.ndarray, width: float = 120) -> dict[str, np.ndarray]:
    """Hip and shoulder lines (T,), degrees, as pixels."""
    points = {}
    for part, degrees, y in (("hip", hips, 300), ("shoulder", shoulders, 120)):
        points[f"left_{part}"], points[f"right_{part}"] = line_points(degrees, width, (320, y))
    return points


def throw(lag: float = 0.06) -> dict[str, np.ndarray]:
    return hips_and_shoulders(turn(SECONDS, 0.5, 0.4, 70), turn(SECONDS, 0.5 + lag, 0.4, 100))


def peak(
    points: dict[str, np.ndarray], segment: str, smoothing: Smoothing = AUTOMATIC, click_sd: float = 1.0
) -> Peak:
    found = find_peak(curve_of(points, segment, RATE, smoothing), click_sd)
    assert isinstance(found, Peak), found
    return found


def drawn(
    points: dict[str, np.ndarray],
    segments: tuple[str, ...],
    smoothing: Smoothing,
    click_sd: float,
    count: int = 1000,
) -> tuple[np.ndarray, np.ndarray]:
    """Times (count, segments), seconds, and speeds of the fastest turns under clicks; the same dice each time."""
    dice, times, speeds = np.random.default_rng(5), [], []
    for _ in range(count):
        draw = {name: p + dice.normal(0, click_sd, p.shape) for name, p in points.items()}
        tops = [fastest_turn(curve_of(draw, segment, RATE, smoothing)) for segment in segments]
        times.append([(top.index + top.place) / RATE for top in tops if top])
        speeds.append([top.height for top in tops if top])
    return np.array(times), np.array(speeds)


@settings(max_examples=40)
@given(
    st.floats(0.35, 0.75),
    st.floats(0.25, 0.5),
    st.floats(20, 170),
    st.sampled_from([1, -1]),
    st.floats(-180, 180),
)
def test_a_minimum_jerk_turn_peaks_half_way_between_frames_too(middle, lasting, degrees, sign, start) -> None:
    """Velocity of the minimum-jerk turn: greatest half-way, 15/8 of the mean (Flash and Hogan 1985)."""
    found = peak(
        hips_and_shoulders(start + sign * turn(SECONDS, middle, lasting, degrees), 0 * SECONDS),
        "pelvis",
        Smoothing("none"),
    )
    assert found.time_s == pytest.approx(middle, abs=0.001)
    # Central differences over 2/50 s flatten the top a little.
    assert sign * found.deg_per_s == pytest.approx(1.875 * degrees / lasting, rel=0.05)


def test_turning_further_than_half_a_turn_is_unwrapped() -> None:
    found = peak(
        hips_and_shoulders(100 + turn(SECONDS, 0.6, 1.0, 500), 0 * SECONDS), "pelvis", Smoothing("none")
    )
    assert found.time_s == pytest.approx(0.6, abs=0.001)
    assert found.deg_per_s == pytest.approx(1.875 * 500, rel=0.01)


@pytest.mark.parametrize("smoothing", [Smoothing("none"), GIVEN, AUTOMATIC])
def test_neither_place_nor_size_nor_heading_nor_mirror_moves_a_peak(smoothing: Smoothing) -> None:
    points = throw()
    base = peak(points, "trunk", smoothing)
    larger = peak({name: 3 * p + 40 for name, p in points.items()}, "trunk", smoothing)
    assert larger.time_s == pytest.approx(base.time_s, abs=1e-9)
    assert larger.sd_s == pytest.approx(base.sd_s / 3)
    mirrored = peak({name: p * (-1, 1) for name, p in points.items()}, "trunk", smoothing)
    assert mirrored.time_s == pytest.approx(base.time_s, abs=1e-9)
    assert mirrored.deg_per_s == pytest.approx(-base.deg_per_s)


@pytest.mark.parametrize(
    ("smoothing", "click_sd"),
    [(GIVEN, 0.3), (GIVEN, 1.5), (Smoothing("given", 6.0), 1.0), (Smoothing("none"), 0.05)],
)
def test_the_stated_error_of_time_speed_and_lag_is_the_spread_under_clicks(
    smoothing: Smoothing, click_sd: float
) -> None:
    """Monte Carlo, the same dice each time, within 10 %; the highest speed, a maximum, within 20 % where clicks are coarse."""
    points = throw()
    stated = [peak(points, segment, smoothing, click_sd) for segment in ("pelvis", "trunk")]
    lag = lag_between(stated[0], stated[1], click_sd, 1 / RATE)
    times, speeds = drawn(points, ("pelvis", "trunk"), smoothing, click_sd)
    lags = times[:, 1] - times[:, 0]
    assert [one.sd_s for one in stated] == pytest.approx(list(times.std(axis=0)), rel=0.1)
    assert [one.sd_deg_per_s for one in stated] == pytest.approx(
        list(speeds.std(axis=0)), rel=0.1 if click_sd < 1.5 else 0.2
    )
    assert lag.sd_s == pytest.approx(lags.std(), rel=0.1)
    assert lag.lag_s == pytest.approx(lags.mean(), abs=3 * lag.sd_s / len(lags) ** 0.5 + 0.001)


def test_segments_that_share_a_landmark_have_a_lag_of_its_own_error() -> None:
    """Upper arm and forearm share the elbow: the lag's variance isn't the sum of both. Monte Carlo, within 10 %."""
    angle = np.radians(np.stack([turn(SECONDS, 0.5, 0.4, 90), turn(SECONDS, 0.55, 0.4, 140)]))
    shoulder = np.full((60, 2), 300.0)
    elbow = shoulder + 90 * np.stack([np.cos(angle[0]), -np.sin(angle[0])], axis=-1)
    wrist = elbow + 80 * np.stack([np.cos(angle[1]), -np.sin(angle[1])], axis=-1)
    points = {"right_shoulder": shoulder, "right_elbow": elbow, "right_wrist": wrist}
    stated = [peak(points, segment, GIVEN) for segment in ("upper_arm", "forearm")]
    lag = lag_between(stated[0], stated[1], 1.0, 1 / RATE)
    assert abs(lag.sd_s - np.hypot(stated[0].sd_s, stated[1].sd_s)) > 0.1 * lag.sd_s
    times, _ = drawn(points, ("upper_arm", "forearm"), GIVEN, 1.0)
    assert lag.sd_s == pytest.approx(np.std(times[:, 1] - times[:, 0]), rel=0.1)


def test_confidence_is_the_share_of_draws_in_that_order() -> None:
    points, click_sd, smoothing = throw(0.008), 1.5, Smoothing("given", 5.0)
    stated = [peak(points, segment, smoothing, click_sd) for segment in ("pelvis", "trunk")]
    lag = lag_between(stated[0], stated[1], click_sd, 1 / RATE)
    times, _ = drawn(points, ("pelvis", "trunk"), smoothing, click_sd)
    assert 0.6 < lag.confidence < 0.99
    assert np.mean(times[:, 0] < times[:, 1]) == pytest.approx(lag.confidence, abs=0.05)


def lag_of(lag: float, click_sd: float) -> Lag:
    points = throw(lag)
    trunk, pelvis = (peak(points, segment, GIVEN, click_sd) for segment in ("trunk", "pelvis"))
    return lag_between(trunk, pelvis, click_sd, 1 / RATE)


def test_an_order_is_told_only_as_far_as_clicks_and_frames_settle_it() -> None:
    settled, likely, close, blurred = (
        lag_of(0.06, 1.0),
        lag_of(0.015, 0.2),
        lag_of(0.006, 0.05),
        lag_of(0.03, 12.0),
    )
    assert [one.order for one in (settled, likely, close, blurred)] == ["settled", "likely", "open", "open"]
    assert settled.first == "pelvis"
    assert lag_sentence(settled).startswith("pelvis leads trunk by 60 ± ")
    assert lag_sentence(likely).startswith("pelvis probably leads trunk, by 15 ± ")
    assert "less than one frame (20 ms)" in lag_sentence(likely)
    assert "less than half of one frame (20 ms)" in lag_sentence(close)
    for one in (close, blurred):
        assert lag_sentence(one).startswith("which of ")
        assert "leads" not in lag_sentence(one)


@pytest.mark.parametrize(
    ("lag", "sd", "said"),
    [
        (0.0462, 0.0117, "46 ± 12 ms"),
        (0.03, 0.0001, "30 ± 1 ms"),
        (0.1, 0.012, "100 ± 12 ms"),
        (0.0, 0.0, "0 ± 1 ms"),
    ],
)
def test_milliseconds_never_say_less_error_than_there_is(lag: float, sd: float, said: str) -> None:
    assert milliseconds(lag, sd) == said


def test_two_turns_of_the_same_speed_are_not_clear() -> None:
    twice = turn(SECONDS, 0.3, 0.3, 60) + turn(SECONDS, 0.85, 0.3, 61)
    found = peak(hips_and_shoulders(twice, 0 * SECONDS), "pelvis", GIVEN)
    assert "as fast" in found.unclear
    assert "0.3" in found.unclear
    points = hips_and_shoulders(twice, turn(SECONDS, 0.6, 0.4, 100))
    lag = lag_between(peak(points, "pelvis", GIVEN), peak(points, "trunk", GIVEN), 1.0, 1 / RATE)
    assert lag.order == "open"
    assert "not clear" in lag_sentence(lag)


def test_what_stands_still_under_clicks_and_what_ends_too_early_is_not_clear() -> None:
    dice, points = (
        np.random.default_rng(1),
        hips_and_shoulders(0 * SECONDS, turn(SECONDS, 1.3, 0.8, 120) + turn(SECONDS, 0.4, 0.2, 5)),
    )
    noisy = {name: p + dice.normal(0, 1.5, p.shape) for name, p in points.items()}
    assert (
        "click error alone" in peak(noisy, "pelvis", GIVEN, 1.5).unclear
        or "as fast" in peak(noisy, "pelvis", GIVEN, 1.5).unclear
    )
    assert "edge" in peak(points, "trunk", Smoothing("none"), 0.05).unclear


@pytest.mark.parametrize("degrees", [0 * SECONDS, 3 * SECONDS, 200 * SECONDS**2])
def test_a_segment_without_a_peak_is_left_out_with_the_reason(degrees: np.ndarray) -> None:
    found = find_peak(curve_of(hips_and_shoulders(degrees, degrees), "pelvis", RATE, Smoothing("none")), 1.0)
    assert isinstance(found, LeftOut)
    assert "no peak lies within" in found.why


def test_a_track_with_nine_tenths_gaps_says_so() -> None:
    points = throw()
    for name in points:
        points[name][np.arange(60) % 10 != 0] = np.nan
    found = find_peak(curve_of(points, "pelvis", RATE), 1.0)
    assert isinstance(found, LeftOut)
    assert "at most 1 frames in a row" in found.why


def test_a_gap_beside_the_throw_leaves_its_peak_where_it_is() -> None:
    points = throw()
    whole = peak(points, "pelvis", Smoothing("none")).time_s
    for name in points:
        points[name][[3, 4, 50]] = np.nan
    assert peak(points, "pelvis", Smoothing("none")).time_s == pytest.approx(whole)


def test_long_tracks_are_reckoned_like_short_ones() -> None:
    """Beyond 400 frames the filter is written out only around the peak."""
    seconds = np.arange(900) / RATE
    long = hips_and_shoulders(turn(seconds, 9.0, 0.4, 70), turn(seconds, 9.06, 0.4, 100))
    short = {name: p[400:500] for name, p in long.items()}
    one, other = peak(long, "pelvis", GIVEN), peak(short, "pelvis", GIVEN)
    assert one.time_s - 8.0 == pytest.approx(other.time_s, abs=1e-6)
    assert one.sd_s == pytest.approx(other.sd_s, rel=1e-3)


def test_lags_come_for_every_pair_neighbours_first() -> None:
    points = throw()
    points |= {
        "right_elbow": points["right_shoulder"] + line_points(turn(SECONDS, 0.65, 0.4, 120), 160, (0, 0))[1]
    }
    peaks = [peak(points, segment, GIVEN) for segment in ("upper_arm", "trunk", "pelvis")]
    lags = lags_between(peaks, 1.0, 1 / RATE)
    assert [(one.first, one.second) for one in lags] == [
        ("pelvis", "trunk"),
        ("trunk", "upper_arm"),
        ("pelvis", "upper_arm"),
    ]
    assert all(one.lag_s >= 0 for one in lags)
    assert lags[2].lag_s == pytest.approx(lags[0].lag_s + lags[1].lag_s)
