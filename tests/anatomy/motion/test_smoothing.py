"""Filter, cut-off and differences, against SciPy, an open library of the method, and published measurements."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from optcutfreq.optcutfreq import optcutfreq
from scipy import signal

from anatomy.motion.cutoff import FEWEST, residual_analysis
from anatomy.motion.smoothing import butterworth, smoothed, zero_lag
from anatomy.motion.tracks import central_velocity

from .made import columns

WINTER_RATE = 69.9
ARM_STEP = 0.0201


def scipy_filter(values: np.ndarray, cutoff: float, rate: float, pad: int) -> np.ndarray:
    """The same filter from SciPy: the two-pass correction of Winter 2009, section 3.5.4.2, on the pre-warped scale."""
    warped = math.tan(math.pi * cutoff / rate) / (2**0.5 - 1) ** 0.25
    b, a = signal.butter(2, 2 / math.pi * math.atan(warped))
    longer = np.pad(values, pad, mode="reflect", reflect_type="odd")
    return signal.filtfilt(b, a, longer, padlen=0)[pad:-pad]


@pytest.mark.parametrize(("cutoff", "rate"), [(6, 69.9), (2, 30), (12, 50), (24, 50), (0.5, 25), (14.9, 30)])
def test_both_passes_are_3_db_down_at_the_cutoff(cutoff: float, rate: float) -> None:
    c = butterworth(cutoff, rate)
    b, a = [float(x) for x in (c.b0, c.b1, c.b2)], [1.0, float(c.a1), float(c.a2)]
    _, response = signal.freqz(b, a, worN=[0.0, cutoff], fs=rate)
    both = np.abs(response) ** 2
    assert both[0] == pytest.approx(1, abs=1e-9)
    assert 20 * math.log10(both[1]) == pytest.approx(20 * math.log10(0.5**0.5), abs=1e-6)


def test_a_sine_at_the_cutoff_keeps_its_phase_and_seven_tenths_of_its_height() -> None:
    seconds = np.arange(1000) / 50
    wave = np.sin(2 * np.pi * 5 * seconds)
    middle = slice(300, 700)
    assert zero_lag(wave, 5.0, 50.0)[middle] == pytest.approx(wave[middle] / 2**0.5, abs=1e-6)


@pytest.mark.parametrize("cutoff", [1.0, 3.0, 6.0, 12.0, 30.0])
def test_the_filter_is_that_of_scipy_on_published_marker_data(cutoff: float) -> None:
    x = columns("winter_gait.csv")["ankle_x"]
    assert zero_lag(x, cutoff, WINTER_RATE) == pytest.approx(
        scipy_filter(x, cutoff, WINTER_RATE, 1000), abs=1e-4
    )


def test_differences_are_central() -> None:
    x = columns("winter_gait.csv")["hip_y"]
    ours = central_velocity(x, WINTER_RATE)
    assert ours[1:-1] == pytest.approx(np.gradient(x, 1 / WINTER_RATE)[1:-1], abs=1e-9)
    assert np.isnan(ours[[0, -1]]).all()


@given(st.floats(-500, 500), st.floats(-50, 50), st.floats(0.5, 20), st.integers(3, 80))
def test_a_steady_turn_stays_what_it_is(start: float, step: float, cutoff: float, count: int) -> None:
    line = start + step * np.arange(count, dtype=np.float64)
    allowed = 1e-6 * (1 + abs(start) + abs(step) * (count + 50 / cutoff))
    assert zero_lag(line, cutoff, 50.0) == pytest.approx(line, abs=allowed)


@given(st.integers(0, 2**32 - 1), st.integers(3, 60), st.floats(1, 24))
def test_filtering_is_linear_and_the_same_backwards(dice_number: int, count: int, cutoff: float) -> None:
    dice = np.random.default_rng(dice_number)
    one, two = dice.normal(size=(2, count))
    together = zero_lag(2 * one - 3 * two, cutoff, 50.0)
    assert together == pytest.approx(
        2 * zero_lag(one, cutoff, 50.0) - 3 * zero_lag(two, cutoff, 50.0), abs=1e-9
    )
    # Far from the ends; at them forwards first and backwards first differ, as in SciPy.
    long = dice.normal(size=600)
    assert zero_lag(long[::-1], cutoff, 50.0)[250:350] == pytest.approx(
        zero_lag(long, cutoff, 50.0)[::-1][250:350], abs=1e-6
    )


def test_gaps_stay_gaps_and_part_what_is_filtered() -> None:
    x = columns("winter_gait.csv")["knee_x"].copy()
    x[[20, 21, 50]] = np.nan
    ours = smoothed(x, 6.0, WINTER_RATE)
    assert np.array_equal(np.isnan(ours), np.isnan(x))
    assert ours[22:50] == pytest.approx(zero_lag(x[22:50], 6.0, WINTER_RATE))
    assert smoothed(x, None, WINTER_RATE) == pytest.approx(x, nan_ok=True)


@pytest.mark.parametrize("cutoff", [0.0, -1.0, 25.0, 40.0, float("nan")])
def test_a_cutoff_outside_the_band_is_refused(cutoff: float) -> None:
    with pytest.raises(ValueError, match="below half the rate"):
        butterworth(cutoff, 50.0)


def test_the_cutoff_for_gait_is_where_winter_and_an_open_library_have_it() -> None:
    """Winter 2009, section 3.5.4.3, finds some 3 to 8 Hz for the markers of gait (from memory)."""
    data = columns("winter_gait.csv")
    for name in ("hip_x", "knee_x", "ankle_x", "ankle_y"):
        found = residual_analysis(data[name], WINTER_RATE)
        assert found is not None
        assert 3 < found.cutoff_hz < 8, name
        # optcutfreq chooses the straight part another way, so the two agree only roughly.
        library = optcutfreq(data[name], freq=WINTER_RATE)
        assert 0.7 * library < found.cutoff_hz < 1.5 * library, name


@pytest.mark.parametrize("noise", [0.5, 1.0, 3.0])
def test_the_intercept_is_the_size_of_the_noise_and_the_cutoff_near_the_best(noise: float) -> None:
    """A slow turn under white noise: the truth is known, so the cut-off with the least error in velocity is too."""
    dice = np.random.default_rng(7)
    seconds = np.arange(300) / 50
    truth = 60 * np.sin(2 * np.pi * 0.7 * seconds) + 20 * np.sin(2 * np.pi * 1.9 * seconds)
    speed = np.gradient(truth) * 50
    tried = np.arange(1, 20, 0.25)
    ratios, sizes = [], []
    for _ in range(30):
        raw = truth + dice.normal(0, noise, 300)
        errors = [np.std((np.gradient(zero_lag(raw, f, 50.0)) * 50 - speed)[5:-5]) for f in tried]
        found = residual_analysis(raw, 50.0)
        assert found is not None
        ours = np.std((np.gradient(zero_lag(raw, found.cutoff_hz, 50.0)) * 50 - speed)[5:-5])
        ratios.append(ours / min(errors))
        sizes.append(found.noise)
    assert np.mean(sizes) == pytest.approx(noise, rel=0.1)
    assert np.median(ratios) < 1.2


def test_without_noise_nothing_much_is_smoothed_and_a_short_track_has_no_cutoff() -> None:
    seconds = np.arange(100) / 50
    smooth = residual_analysis(np.sin(2 * np.pi * seconds), 50.0)
    assert smooth is not None
    assert smooth.cutoff_hz > 6
    assert residual_analysis(np.arange(FEWEST - 1.0), 50.0) is None
    assert residual_analysis(np.full(40, np.nan), 50.0) is None
    assert residual_analysis(np.zeros(40), 50.0) is not None
