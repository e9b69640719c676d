"""The exact rate behind a list of frame times."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from breakdowns.footage.media.grid import find_grid
from breakdowns.footage.media.limits import limits, standard_rates

MILLISECOND = Fraction(1, 1000)
NTSC = Fraction(30000, 1001)


def even(rate: Fraction, count: int, time_base: Fraction, start: Fraction = Fraction(0)) -> list[int]:
    return [round((start + n / rate) / time_base) for n in range(count)]


rates = st.sampled_from([rate for rate in standard_rates() if rate <= 240])


@given(
    rates, st.integers(2, 400), st.sampled_from([1000, 600, 90000, 12800, 48000]), st.integers(-5000, 5000)
)
def test_a_stated_rate_that_rounding_explains_is_believed(rate, count, ticks, start):
    base = Fraction(1, ticks)
    assume(base < 1 / (4 * rate))
    grid = find_grid(even(rate, count, base, start * base), base, rate)
    assert (grid.rate, grid.is_variable) == (rate, False)
    assert grid.deviation <= base
    assert abs(grid.start - start * base) <= base


@settings(max_examples=25)
@given(rates, st.integers(-1000, 1000))
def test_without_a_statement_two_minutes_tell_the_rates_apart(rate, start):
    # 30 and 30000/1001 part by 120 ms in two minutes, far more than a millisecond of rounding.
    count = int(120 * rate)
    grid = find_grid(even(rate, count, MILLISECOND, Fraction(start, 7)), MILLISECOND, None)
    assert (grid.rate, grid.is_variable) == (rate, False)


@given(rates, st.integers(8, 200), st.data())
def test_one_lost_frame_makes_a_rate_variable(rate, count, data):
    lost = data.draw(st.integers(1, count - 2))
    base = Fraction(1, 90000)
    ticks = even(rate, count, base)
    del ticks[lost]
    grid = find_grid(ticks, base, rate)
    assume(len(ticks) > 4)
    assert grid.is_variable
    assert grid.deviation > limits().grid_tolerance_frames / rate


@given(
    st.lists(st.integers(-100, 100), min_size=10, max_size=60),
    st.sampled_from([Fraction(1, 500), Fraction(1, 300), Fraction(1, 250)]),
    st.sampled_from([Fraction(25), Fraction(30), NTSC, Fraction(60)]),
)
def test_the_tolerance_is_what_keeps_frames_one_to_one(steps, size, rate):
    """What is called even has every frame within half a frame of its place: resampling changes nothing."""
    base = Fraction(1, 90000)
    ticks = [round((n + step * size) / rate / base) for n, step in enumerate(steps)]
    grid = find_grid(ticks, base, rate)
    if not grid.is_variable:
        places = [(tick * base - grid.start) * grid.rate for tick in ticks]
        assert [(2 * p.numerator + p.denominator) // (2 * p.denominator) for p in places] == list(
            range(len(ticks))
        )


def test_a_phone_that_drops_frames_is_given_the_standard_rate():
    # Even at 30, but now and then a frame is missing, as in dim light (common practice, no source).
    ticks = [round(Fraction(n * 1000, 30)) for n in range(90) if n % 7 != 3]
    grid = find_grid(ticks, MILLISECOND, None)
    assert (grid.rate, grid.is_variable) == (Fraction(30), True)


def test_an_unusual_even_rate_stays_exact():
    assert find_grid(
        even(Fraction(25, 2), 50, Fraction(1, 90000)), Fraction(1, 90000), None
    ).rate == Fraction(25, 2)
    assert find_grid([33 * n for n in range(40)], MILLISECOND, Fraction(1000, 33)).rate == Fraction(1000, 33)


def test_a_small_step_in_time_does_not_bend_a_standard_rate():
    """Two recordings joined 5 ms apart: 25 a second, not the average."""
    ticks = [3600 * n + (450 if n >= 25 else 0) for n in range(50)]
    assert find_grid(ticks, Fraction(1, 90000), Fraction(25)).rate == 25
    assert find_grid(ticks, Fraction(1, 90000), None).rate == 25


def test_a_coarse_clock_does_not_hide_a_lost_frame():
    """One tick for each frame, as in AVI: a gap is one tick, yet a whole frame."""
    ticks = [n for n in range(60) if n != 30]
    assert find_grid(ticks, Fraction(1, 25), Fraction(25)).is_variable


def test_an_irregular_rate_far_from_any_standard_one_is_the_average():
    ticks = [n * 100 + (40 if n % 2 else 0) + (90 if n % 7 == 0 else 0) for n in range(70)]
    grid = find_grid(ticks, MILLISECOND, None)
    assert grid.is_variable
    assert grid.rate == find_grid(ticks, MILLISECOND, Fraction(1000)).rate


@pytest.mark.parametrize(("stated", "rate"), [(NTSC, NTSC), (None, Fraction(25))])
def test_a_single_frame_takes_the_stated_rate(stated, rate):
    grid = find_grid([90], MILLISECOND, stated)
    assert (grid.rate, grid.is_variable, grid.start) == (rate, False, Fraction(90, 1000))


def test_time_that_stands_still_or_runs_back_is_variable():
    assert find_grid([5, 5, 5], MILLISECOND, Fraction(25)).is_variable
    assert find_grid([90, 60, 30], MILLISECOND, None).is_variable
