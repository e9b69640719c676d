"""The knapsack against every subset, against a solver that did not come from here, and at its edges."""

from __future__ import annotations

import random
from itertools import combinations

import highspy
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.questions.planning import best_subset

items = st.lists(st.tuples(st.integers(1, 12), st.integers(1, 9)), max_size=9)


def every_subset(costs: list[int], values: list[int], capacity: int) -> tuple[int, ...]:
    """The best by looking at all: most value, then least cost, then the earliest places."""
    fitting = [
        chosen
        for count in range(len(costs) + 1)
        for chosen in combinations(range(len(costs)), count)
        if sum(costs[one] for one in chosen) <= capacity
    ]

    def rank(chosen: tuple[int, ...]) -> tuple[int, int, list[int]]:
        taken = [0 if place in chosen else 1 for place in range(len(costs))]
        return -sum(values[one] for one in chosen), sum(costs[one] for one in chosen), taken

    return min(fitting, key=rank)


@given(items, st.integers(0, 40))
def test_it_is_the_best_of_all_subsets_ties_and_all(made, capacity):
    costs, values = [one[0] for one in made], [one[1] for one in made]
    assert best_subset(costs, values, capacity) == every_subset(costs, values, capacity)


def by_highs(costs: list[int], values: list[int], capacity: int) -> int:
    """The best value found by HiGHS (Huangfu and Hall 2018), an independent solver, to proven optimality."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)
    count = len(costs)
    solver.addVars(count, np.zeros(count), np.ones(count))
    for place in range(count):
        solver.changeColIntegrality(place, highspy.HighsVarType.kInteger)
        solver.changeColCost(place, float(-values[place]))
    solver.addRow(-highspy.kHighsInf, float(capacity), count, np.arange(count), np.array(costs, dtype=float))
    solver.run()
    chosen = [place for place, taken in enumerate(solver.getSolution().col_value) if taken > 0.5]
    assert sum(costs[place] for place in chosen) <= capacity
    return sum(values[place] for place in chosen)


@pytest.mark.parametrize("number", range(6))
def test_an_independent_solver_finds_nothing_better(number):
    chance = random.Random(number)
    costs = [chance.randrange(5, 130) for _ in range(150)]
    values = [cost * 3 + chance.randrange(1, 60) for cost in costs]  # value follows cost: the hard kind
    capacity = chance.choice((200, 300, 600))
    found = best_subset(costs, values, capacity)
    assert sum(costs[one] for one in found) <= capacity
    assert sum(values[one] for one in found) == by_highs(costs, values, capacity)


def test_numbers_beyond_a_machine_word_stay_exact():
    huge = 10**30
    assert best_subset([3, 3, 3], [huge, huge + 1, huge], 6) == (0, 1)
    assert best_subset([3, 3, 4], [huge, huge, 2 * huge - 1], 6) == (0, 1)
    assert best_subset([3, 3, 4], [huge, huge, 2 * huge + 1], 6) == (2,)


def test_nothing_fits_or_everything_does():
    assert best_subset([], [], 5) == ()
    assert best_subset([6, 7], [1, 1], 5) == ()
    assert best_subset([1, 2], [1, 1], 0) == ()
    assert best_subset([1, 2], [1, 1], 3) == (0, 1)


@pytest.mark.parametrize(
    ("costs", "values", "capacity"), [([0], [1], 1), ([1], [0], 1), ([1], [1], -1), ([1], [], 1)]
)
def test_numbers_that_mean_nothing_are_refused(costs, values, capacity):
    with pytest.raises(ValueError, match=r"needed|whole numbers"):
        best_subset(costs, values, capacity)
