"""Interval sets: normal form, and the laws of set algebra."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.excerpts.intervals import IntervalSet

moments = st.fractions(min_value=-5, max_value=20, max_denominator=12)
pairs = st.lists(st.tuples(moments, moments).map(lambda pair: tuple(sorted(pair))), max_size=6)
sets = pairs.map(IntervalSet)


def test_touching_intervals_join_and_empty_ones_vanish():
    assert IntervalSet([(3, 4), (1, 3), (9, 9)]).intervals == ((1, 4),)


def test_an_interval_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="ends before it starts"):
        IntervalSet([(3, 1)])


def test_gaps_lie_between():
    assert IntervalSet([(0, 1), (2, 3), (5, 6)]).gaps().intervals == ((1, 2), (3, 5))


def test_the_closure_holds_both_ends():
    held = IntervalSet([(1, 2), (4, 5)])
    assert [held.closure_contains(Fraction(n)) for n in range(7)] == [
        False,
        True,
        True,
        False,
        True,
        True,
        False,
    ]


@given(pairs)
def test_normal_form_is_sorted_disjoint_and_apart(given_pairs):
    flat = [moment for interval in IntervalSet(given_pairs) for moment in interval]
    assert flat == sorted(set(flat))


@given(pairs, st.randoms())
def test_order_does_not_matter(given_pairs, random):
    shuffled = list(given_pairs)
    random.shuffle(shuffled)
    assert IntervalSet(shuffled) == IntervalSet(given_pairs)


@given(sets, sets)
def test_measure_of_union_and_intersection(a, b):
    assert (a | b).measure + (a & b).measure == a.measure + b.measure


@given(sets, sets, sets)
def test_set_algebra(a, b, c):
    assert a & (b | c) == (a & b) | (a & c)
    assert a - (b | c) == (a - b) & (a - c)
    assert (a - b) | (a & b) == a
    assert not (a - b) & b
    assert (a | b) - b == a - b


@given(sets, moments)
def test_membership_agrees_with_operations(a, moment):
    inside = any(start <= moment < end for start, end in a)
    point = IntervalSet([(moment, moment + Fraction(1, 1000))])
    assert inside == bool((a & point).closure_contains(moment) and a & point)
    assert a.longest <= a.measure
    assert a.gaps().measure + a.measure == (a.intervals[-1][1] - a.intervals[0][0] if a else 0)
