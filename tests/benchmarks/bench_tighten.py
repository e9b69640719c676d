"""How long tightening a ten-minute piece with 40 excerpts takes, and how near the best its answer is proved to be.

Run: ``python -m tests.benchmarks.bench_tighten``. Prints for each set of limits the time, the share of the
weighted seconds kept, the gap, and the ratio of the time to a named baseline measured in the same run:
the ledger of the same piece with its verdicts.
"""

from __future__ import annotations

import random
from fractions import Fraction
from time import perf_counter

from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import ExcerptSegment, Narration, OwnSegment, Plan, PlanSource, Segment, View
from breakdowns.excerpts.policies import Limit, Policy
from breakdowns.excerpts.rules import rules
from breakdowns.excerpts.tighten import Tightened, tighten
from breakdowns.excerpts.verdicts import judge

RATES = (Fraction(25), Fraction(30000, 1001), Fraction(50), Fraction(60000, 1001))
LIMITS: dict[str, dict[str, str]] = {
    "seconds of the event": {"sum_union_seconds": "90"},
    "house rules": {
        "sum_union_seconds": "90",
        "longest_excerpt_seconds": "8",
        "longest_timeline_run_seconds": "12",
        "times_repeated": "1",
        "excerpt_share_of_piece": "1/2",
    },
    "replays": {"replayed_seconds": "4", "union_seconds": "40", "longest_any_source_run_seconds": "20"},
    "movement": {"longest_moving_run_seconds": "6", "share_of_piece": "1/8", "stills_outside_union": "0"},
    "ratio": {"commentary_to_excerpt_ratio": "3/2", "sum_union_seconds": "120"},
    "words": {"bare_excerpt_seconds": "20", "longest_uncommented_run_seconds": "4"},
}


def ten_minutes(excerpts: int = 40, seed: int = 1) -> Plan:
    """Excerpts from all over four recordings of a match, a third of them shown again slower."""
    chance = random.Random(seed)
    sources = [
        PlanSource(f"camera {n}", Fraction(5400), rate, "semi-final", attributed=True)
        for n, rate in enumerate(RATES)
    ]
    segments: list[Segment] = []
    first: list[tuple[PlanSource, int, int]] = []
    for _ in range(excerpts):
        if first and chance.random() < 0.35:
            source, start, length = chance.choice(first)
            start += chance.randrange(0, length // 2)
            length = chance.randrange(length // 4, length)
            speed = Fraction(1, 2)
        else:
            source = chance.choice(sources)
            start = chance.randrange(0, int(5000 * (source.rate or 1)))
            length = chance.randrange(int(4 * (source.rate or 1)), int(14 * (source.rate or 1)))
            first.append((source, start, length))
            speed = Fraction(1)
        frame = 1 / (source.rate or Fraction(1))
        contact = (start + length // 3) * frame
        keep = ((contact, contact + 10 * frame),) if chance.random() < 0.3 else ()
        view = View(
            source.id,
            start * frame,
            (start + length) * frame,
            speed,
            Fraction(chance.choice([0, 0, 1, 2])),
            muted=chance.random() < 0.5,
            keep=keep,
            weight=Fraction(chance.choice([1, 1, 2, 3])),
        )
        segments.append(ExcerptSegment(view, None, "none", "how the shoulder leads"))
        if chance.random() < 0.5:
            segments.append(OwnSegment(Fraction(chance.randrange(3, 12))))
    spoken = IntervalSet((Fraction(15 * n), Fraction(15 * n + chance.randrange(4, 13))) for n in range(40))
    return Plan(tuple(sources), tuple(segments), Narration(spoken))


def policy(values: dict[str, str]) -> Policy:
    limits = []
    for name, value in values.items():
        rule = rules()[name]
        limits.append(Limit(name, rule.scopes[0], rule.senses[0], Fraction(value)))
    return Policy("bench", "Bench", tuple(limits))


def main() -> None:
    for seed in (1, 2):
        plan = ten_minutes(seed=seed)
        print(f"piece {seed}: {float(compute(plan).piece_seconds):.0f} s, 40 excerpts")
        for name, values in LIMITS.items():
            start = perf_counter()
            judge(compute(plan), policy(values))
            baseline = perf_counter() - start
            start = perf_counter()
            found = tighten(plan, policy(values))
            taken = perf_counter() - start
            if isinstance(found, Tightened):
                said = f"keeps {float(found.kept / found.given):.1%}, gap {float(found.gap / found.given):.1%} of it all"
            else:
                said = type(found).__name__.lower()
            print(
                f"  {name}: {taken:.2f} s, {taken / baseline:.0f} times the ledger with verdicts "
                f"({baseline:.3f} s); {said}",
                flush=True,
            )


if __name__ == "__main__":
    main()
