"""Tracks: gaps, key frames, unwrapping, the grid."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.motion.tracks import between_keys, central_velocity, grid_of, stretches, unwrapped


@given(st.lists(st.floats(-170, 170), min_size=1, max_size=60))
def test_unwrapping_gives_back_a_turn_of_any_length(steps: list[float]) -> None:
    turn = np.radians(np.cumsum(steps))
    shown = np.arctan2(np.sin(turn), np.cos(turn))
    found = unwrapped(shown)
    assert np.diff(found) == pytest.approx(np.diff(turn), abs=1e-9)
    assert np.exp(1j * found) == pytest.approx(np.exp(1j * turn), abs=1e-9)


@given(st.lists(st.one_of(st.none(), st.floats(-3, 3)), max_size=40))
def test_gaps_stay_gaps_and_stretches_hold_none(values: list[float | None]) -> None:
    series = np.array([np.nan if v is None else v for v in values])
    assert np.array_equal(np.isnan(unwrapped(series)), np.isnan(series))
    covered = np.zeros(len(series), bool)
    for start, end in stretches(series):
        assert end > start
        assert not covered[start:end].any()
        covered[start:end] = True
    assert np.array_equal(covered, np.isfinite(series))


def test_velocity_needs_both_neighbours() -> None:
    series = np.array([0, 1, 2, np.nan, 4, 5, 6, 7.0])
    assert central_velocity(series, 10.0) == pytest.approx(
        [np.nan, 10, np.nan, np.nan, np.nan, 10, 10, np.nan], nan_ok=True
    )


def marked(*places: tuple[int, float], count: int = 9) -> np.ndarray:
    track = np.full((count, 2), np.nan)
    for index, x in places:
        track[index] = x, -x
    return track


def test_only_named_key_frames_fill_a_gap_and_it_shows() -> None:
    track = marked((0, 0.0), (4, 8.0), (6, 1.0))
    assert not between_keys(track).made.any()
    filled = between_keys(track, [4, 0])
    assert filled.values[:5, 0] == pytest.approx([0, 2, 4, 6, 8])
    assert filled.made.tolist() == [False, True, True, True, False, False, False, False, False]
    assert np.isnan(filled.values[5, 0])
    # Half-way between two clicks their errors halve in variance.
    assert filled.click_share()[[0, 2]] == pytest.approx([1, 0.5**0.5])


def test_a_marked_place_between_key_frames_is_left_alone_and_a_missing_key_fills_nothing() -> None:
    track = marked((0, 0.0), (2, 50.0), (4, 8.0))
    assert between_keys(track, [0, 4]).values[:5, 0] == pytest.approx([0, 2, 50, 6, 8])
    assert np.isnan(between_keys(track, [0, 3]).values[1, 0])


@given(st.integers(0, 2**32 - 1))
def test_a_gradient_for_values_is_carried_to_the_clicks(dice_number: int) -> None:
    """Whatever depends on the filled values by g depends on the clicks by what onto_clicks says."""
    dice = np.random.default_rng(dice_number)
    track = marked((0, 3.0), (3, 1.0), (8, 2.0))
    gradient, shift = dice.normal(size=(9, 2)), dice.normal(size=(9, 2))
    shifted = track + shift
    change = np.nansum(
        gradient * (between_keys(shifted, [0, 3, 8]).values - between_keys(track, [0, 3, 8]).values)
    )
    clicks = between_keys(track, [0, 3, 8]).onto_clicks(gradient)
    assert np.nansum(clicks[[0, 3, 8]] * shift[[0, 3, 8]]) == pytest.approx(change)
    assert np.all(clicks[[1, 2, 4, 5, 6, 7]] == 0)


@given(st.sets(st.integers(0, 500), min_size=1, max_size=20))
def test_the_grid_meets_every_frame_at_the_widest_constant_step(frames: set[int]) -> None:
    grid = grid_of(frames, Fraction(30000, 1001))
    assert {grid.frame(n) for n in range(grid.count)} >= frames
    assert [grid.frame(grid.index(f)) for f in sorted(frames)] == sorted(frames)
    for wider in range(grid.step + 1, 30):
        assert any((f - min(frames)) % wider for f in frames) or len(frames) == 1


def test_a_grid_of_nothing_is_refused_and_one_tells_exact_seconds() -> None:
    with pytest.raises(ValueError, match="no frame"):
        grid_of([], Fraction(50))
    grid = grid_of([10, 14, 12], Fraction(50))
    assert (grid.first, grid.step, grid.count, grid.hertz) == (10, 2, 3, 25.0)
    assert grid.seconds(0.5) == pytest.approx(0.22)
