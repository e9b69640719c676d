"""How long it takes to plan the minutes with 10,000 questions waiting, beside a solver that did not come from here.

Run: ``python -m tests.benchmarks.bench_planning``. For sittings of 20, 60 and 480 minutes it prints the median time of the
whole plan in milliseconds, that of its knapsack alone, and the ratio of the knapsack to a named baseline measured in
the same run: HiGHS (highspy) on the same whole-number program to proven optimality, whose best value has to be the same.
"""

from __future__ import annotations

import random
import statistics
from collections.abc import Callable
from datetime import date, timedelta
from time import perf_counter

import highspy
import numpy as np

from breakdowns.questions.planning import Waiting, best_subset, plan

TODAY = date(2026, 11, 26)


def ten_thousand(seed: int = 1) -> list[Waiting]:
    """Waiting up to two months, mostly alone, half a minute to twelve."""
    chance = random.Random(seed)
    return [
        Waiting(
            f"q{n:05d}", TODAY - timedelta(days=chance.randrange(60)), 1 + int(chance.random() ** 6 * 20), None,
            round(chance.uniform(0.5, 12), 1), chance.randrange(5),
        )
        for n in range(10_000)
    ]  # fmt: skip


def by_highs(costs: list[int], values: list[int], capacity: int) -> int:
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)
    count = len(costs)
    solver.addVars(count, np.zeros(count), np.ones(count))
    places = np.arange(count)
    solver.changeColsIntegrality(count, places, np.array([highspy.HighsVarType.kInteger] * count))
    solver.changeColsCost(count, places, -np.array(values, dtype=float))
    solver.addRow(-highspy.kHighsInf, float(capacity), count, places, np.array(costs, dtype=float))
    solver.run()
    return sum(
        value for value, taken in zip(values, solver.getSolution().col_value, strict=True) if taken > 0.5
    )


def median(run: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        start = perf_counter()
        run()
        taken.append(1000 * (perf_counter() - start))
    return statistics.median(taken)


def main() -> None:
    items = ten_thousand()
    costs = [round(float(one.minutes) * 10) for one in items]
    values = [one.people * (7 + (TODAY - one.asked_on).days) + 3 * one.times_passed_over for one in items]
    print("minutes  plan, ms  knapsack, ms  HiGHS, ms  knapsack to HiGHS")
    for minutes in (20, 60, 480):
        whole = median(lambda minutes=minutes: plan(items, minutes, today=TODAY), 5)  # type: ignore[misc]
        ours = median(lambda minutes=minutes: best_subset(costs, values, 10 * minutes), 5)  # type: ignore[misc]
        found = sum(values[place] for place in best_subset(costs, values, 10 * minutes))
        theirs = median(lambda minutes=minutes: by_highs(costs, values, 10 * minutes), 3)  # type: ignore[misc]
        best = by_highs(costs, values, 10 * minutes)
        same = "" if found == best else f"  DIFFERENT: {found} and {best}"
        print(f"{minutes:7}  {whole:8.0f}  {ours:12.1f}  {theirs:9.0f}  {ours / theirs:17.3f}{same}")


if __name__ == "__main__":
    main()
