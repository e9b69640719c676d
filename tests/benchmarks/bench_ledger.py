"""How long the ledger of a ten-minute piece with 500 excerpts takes.

Run: ``python -m tests.benchmarks.bench_ledger``. Prints each time and its ratio to a named baseline
measured in the same run: sorting and joining the same source intervals once, with the same exact
numbers.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from fractions import Fraction
from time import perf_counter

from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import (
    ExcerptSegment,
    Narration,
    Plan,
    PlanSource,
    View,
    plan_from_json,
    plan_to_json,
)
from breakdowns.excerpts.policies import preset
from breakdowns.excerpts.verdicts import judge

RATES = (Fraction(25), Fraction(30000, 1001), Fraction(50), Fraction(60000, 1001))


def ten_minutes(excerpts: int = 500, seed: int = 1) -> Plan:
    """600 s of picture from four cameras, overlapping at random."""
    chance = random.Random(seed)
    sources = tuple(PlanSource(f"camera {n}", Fraction(5400), rate, "cup") for n, rate in enumerate(RATES))
    segments = []
    for _ in range(excerpts):
        source = chance.choice(sources)
        start = chance.randrange(0, 300 * 25)
        length = chance.randrange(10, 50)
        view = View(
            source.id,
            start / source.rate,
            (start + length) / source.rate,
            chance.choice([Fraction(1, 2), Fraction(1)]),
            Fraction(chance.choice([0, 0, 1])),
        )
        segments.append(ExcerptSegment(view, annotated=chance.choice(["none", "hold", "all"])))
    spoken = IntervalSet((Fraction(n), Fraction(n) + Fraction(7, 10)) for n in range(600))
    return Plan(sources, tuple(segments), Narration(spoken))


def best_of(times: int, work: Callable[[], object]) -> float:
    """Seconds of the fastest of several runs."""
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return min(taken)


def main() -> None:
    plan = ten_minutes()
    document = plan_to_json(plan)
    pairs = [(segment.main.start, segment.main.end) for segment in plan.segments]
    work = {
        "baseline: sort and join the source intervals": lambda: IntervalSet(pairs),
        "read the plan": lambda: plan_from_json(document),
        "all figures of the ledger": lambda: compute(plan).as_json(),
        "figures, verdicts and mends, organiser_2011": lambda: judge(
            compute(plan), preset("organiser_2011")
        ).as_json(),
        "figures, verdicts and mends, eu_short_news": lambda: judge(
            compute(plan), preset("eu_short_news")
        ).as_json(),
    }
    taken = {name: best_of(5, one) for name, one in work.items()}
    baseline = next(iter(taken.values()))
    for name, seconds in taken.items():
        print(f"{seconds * 1000:9.2f} ms  {seconds / baseline:8.1f} x  {name}")


if __name__ == "__main__":
    main()
