"""Nobody waits past the bound that planning.promise states, over a year at three times more questions than minutes."""

from __future__ import annotations

import random
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.questions.planning import Waiting, Weights, can_promise, plan, sittings_at_most

from .weeks import simulate

WEEKS = int(Weights.load().promised_weeks)


def longest_wait(outcome) -> int:
    return max([*outcome.answered.values(), *outcome.told.values(), outcome.oldest])


@pytest.mark.parametrize("number", range(8))
def test_over_a_year_at_three_times_the_minutes_nobody_waits_past_the_promised_weeks(number):
    found = simulate(random.Random(number))
    assert found.asked_minutes >= 3 * 52 * 20
    assert longest_wait(found) <= WEEKS
    assert set(found.promised) - set(found.answered) <= {
        key for key, week in found.promised.items() if week + WEEKS > 52
    }
    assert all(found.answered[key] <= WEEKS for key in found.promised if key in found.answered)
    assert not set(found.promised) & set(found.told)
    assert found.urgent_left == 0
    assert found.minutes >= Fraction(97, 100) * 52 * 20  # the minutes are used, not merely kept in order


@pytest.mark.parametrize("number", range(3))
def test_it_reaches_more_people_than_first_come_first_served(number):
    in_order = simulate(
        random.Random(number), weights=Weights.load({"person": 1, "waiting": 1000, "reserved_share": 0.5})
    )
    usual = simulate(random.Random(number))
    assert usual.people > in_order.people


@pytest.mark.parametrize("number", range(3))
def test_what_helps_most_alone_would_break_the_bound(number):
    """The promise stands on the share: take it away in the choosing and promised ones wait too long."""

    def without(items, minutes, weights, today):
        return plan(
            items, minutes, Weights.load({"waiting": 0, "passed_over": 0}), today=today, reserved_minutes=0
        )

    found = simulate(random.Random(number), choosing=without)
    assert found.oldest > WEEKS


def test_if_nobody_is_let_go_no_choosing_bounds_the_wait():
    """Two thirds of three times the minutes stay: the oldest wait grows with the year, as the docstring says."""
    half, whole = (simulate(random.Random(1), weeks=weeks, let_go=False).oldest for weeks in (26, 52))
    assert half > WEEKS
    assert whole > half


def test_with_enough_minutes_everybody_is_promised_and_answered():
    found = simulate(random.Random(2), load=Fraction(1, 2))
    assert not found.told
    assert longest_wait(found) <= WEEKS


lines = st.lists(st.integers(1, 130), min_size=1, max_size=30)


@settings(max_examples=80)
@given(lines, st.lists(st.integers(0, 4), min_size=60, max_size=60), st.randoms(), st.integers(1, 5))
def test_the_bound_of_each_place_in_the_line_whatever_comes_after(line, flags, chance, tenths_of_share):
    """Any line, any later rush of people, red flags up to what the bound allows: every place is answered in time."""
    minutes = Fraction(20)
    weights = Weights.load({"reserved_share": Fraction(tenths_of_share, 10)})
    day = date(2026, 1, 1)
    line = [Fraction(one, 10) for one in line]
    waiting = {
        f"p{n:02d}": Waiting(
            f"p{n:02d}", day + timedelta(days=n), 1, None, one, promised_at=day + timedelta(days=n)
        )
        for n, one in enumerate(line)
    }
    bounds = {f"p{n:02d}": sittings_at_most(line[:n], one, minutes, weights) for n, one in enumerate(line)}
    room_for_flags = minutes - 2 * minutes * weights.reserved_share
    for sitting in range(1, 61):
        today = day + timedelta(weeks=10 + sitting)
        rush = [
            Waiting(f"r{sitting}-{n}", today, 500, None, Fraction(chance.randrange(5, 60), 10))
            for n in range(12)
        ]
        flag = [Waiting(f"f{sitting}", today, 1, "emergency now", room_for_flags * flags[sitting - 1] / 4)] if flags[sitting - 1] and room_for_flags else []  # fmt: skip
        found = plan([*waiting.values(), *rush, *flag], minutes, weights, today=today)
        for key in found.chosen:
            waiting.pop(key, None)
        late = [key for key in waiting if bounds[key] is not None and bounds[key] <= sitting]
        assert not late


def test_the_bound_is_met_with_equality_somewhere():
    """It is no loose figure: here the last in the line is answered exactly in the last sitting that the bound allows."""
    weights, minutes, day = (
        Weights.load(),
        Fraction(20),
        date(2026, 1, 1),
    )  # 8 minutes of 20 belong to the line
    line = [Fraction(8)] * 3 + [Fraction(2)]
    bound = sittings_at_most(line[:3], line[3], minutes, weights)
    waiting = {
        n: Waiting(str(n), day, 1, None, one, promised_at=day + timedelta(days=n))
        for n, one in enumerate(line)
    }
    for sitting in range(1, 10):
        rush = [Waiting(f"r{n}", day, 1000, None, 3) for n in range(8)]
        found = plan([*waiting.values(), *rush], minutes, weights, today=day + timedelta(weeks=sitting))
        waiting = {n: one for n, one in waiting.items() if str(n) not in found.chosen}
        if 3 not in waiting:
            break
    assert sitting == bound == 4


def test_no_share_and_too_long_an_answer_get_no_promise():
    assert sittings_at_most([], 3, 20, Weights.load({"reserved_share": 0})) is None
    assert sittings_at_most([], 16, 20, Weights.load()) == 2
    assert sittings_at_most([], 16.1, 20, Weights.load()) is None
    assert can_promise([3] * 13, 3, 20, Weights.load())
    assert not can_promise([3] * 16, 3, 20, Weights.load())
