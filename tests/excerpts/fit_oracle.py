"""Every way to fit small pictures to words on the grid of frames, tried one by one. Shares nothing with the engine."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from breakdowns.excerpts.fit_plan import FitPlan

Cost = tuple[Fraction, Fraction]


def spots(plan: FitPlan) -> list[tuple[int, Fraction, bool]]:
    """(picture, moment, marked): all places where a picture may stop."""
    made = []
    for number, picture in enumerate(plan.pictures):
        if picture.start == picture.end:
            made.append((number, picture.start, True))
            continue
        made += [(number, moment, True) for moment in picture.marks]
        if picture.end not in picture.marks:
            made.append((number, picture.end, False))
    return made


def best_of_all(plan: FitPlan, frames: int) -> Cost | None:
    """(seconds held where nothing is marked, farthest speed from 1 as a ratio of 1 or more); None for no way."""
    limits, rate = plan.limits, plan.rate
    places = spots(plan)
    lengths = [picture.end - picture.start for picture in plan.pictures]
    holds = [n for n in range(frames + 1) if limits.min_hold <= n / rate <= limits.max_hold]
    moves = [
        [n for n in range(1, frames + 1) if limits.min_speed <= length * rate / n <= limits.max_speed]
        if length
        else [0]
        for length in lengths
    ]
    best = None
    for moved in product(*moves):
        if sum(moved) > frames:
            continue
        speeds = [length * rate / n for length, n in zip(lengths, moved, strict=True) if n]
        for held in product([0, *holds], repeat=len(places)):
            if sum(moved) + sum(held) != frames:
                continue
            stops = [place for place, n in zip(places, held, strict=True) if n]
            elsewhere = [n / rate for place, n in zip(places, held, strict=True) if n and not place[2]]
            must = {n for n, length in enumerate(lengths) if not length}
            if must - {number for number, _, _ in stops}:
                continue
            free = [place for place in stops if place[0] not in must]
            if len(stops) > limits.max_holds or len(elsewhere) > limits.max_holds_elsewhere:
                continue
            if free and any(speed > 1 for speed in speeds):
                continue
            far = max((max(speed, 1 / speed) for speed in speeds), default=Fraction(1))
            cost = (sum(elsewhere, Fraction(0)), far)
            best = cost if best is None else min(best, cost)
    return best
