"""The 0/1 knapsack in whole numbers, solved exactly."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np

__all__ = ["best_subset"]

_SAFE = 2**62


def best_subset(costs: Sequence[int], values: Sequence[int], capacity: int) -> tuple[int, ...]:
    """Places of the subset with the greatest sum of values whose costs together are at most ``capacity``.

    Costs and values are positive whole numbers of any unit. Among subsets of the same value the one that costs less
    wins, then the one that comes first by its places (the earliest place at which two differ is taken). Raises
    ValueError where lengths differ or a number is below one (capacity: below nought).

    Dynamic programming over capacities (Bellman, Dynamic Programming, 1957; Kellerer, Pferschy and Pisinger,
    Knapsack Problems, 2004, section 2.3): time and memory grow with items x capacity, a bit being kept for each. Of
    items with the same cost w no solution holds more than capacity // w, and it loses nothing by holding the most
    valuable and earliest of them; the others are left out before.
    """
    if len(costs) != len(values):
        raise ValueError("As many costs as values are needed.")
    if capacity < 0 or any(one < 1 for one in costs) or any(one < 1 for one in values):
        raise ValueError("Costs and values are whole numbers from one on, the capacity from nought on.")
    kept = _worth_looking_at(costs, values, capacity)
    if sum(costs[place] for place in kept) <= capacity:
        return tuple(kept)
    # One unit of value outweighs all costs together, so that a lower cost only decides between equal values.
    joint = [values[place] * (capacity + 1) - costs[place] for place in kept]
    return tuple(kept[at] for at in _solved([costs[place] for place in kept], joint, capacity))


def _worth_looking_at(costs: Sequence[int], values: Sequence[int], capacity: int) -> list[int]:
    same: dict[int, list[int]] = defaultdict(list)
    for place, cost in enumerate(costs):
        if cost <= capacity:
            same[cost].append(place)
    kept: list[int] = []
    for cost, places in same.items():
        places.sort(key=lambda place: (-values[place], place))
        kept += places[: capacity // cost]
    return sorted(kept)


def _solved(costs: list[int], values: list[int], capacity: int) -> list[int]:
    fits = max(values) * min(len(values), capacity) < _SAFE
    best: Any = np.zeros(capacity + 1, dtype=np.int64 if fits else object)
    taken: list[Any] = []
    # From the last to the first: best[c] is then what the items from here on can bring within c.
    for cost, value in zip(reversed(costs), reversed(values), strict=True):
        with_it = best[: capacity + 1 - cost] + value
        takes = with_it >= best[cost:]
        best[cost:] = np.where(takes, with_it, best[cost:])
        taken.append(np.packbits(takes.astype(bool)))
    found, left = [], capacity
    for place, (cost, bits) in enumerate(zip(costs, reversed(taken), strict=True)):
        if cost <= left and (bits[(left - cost) >> 3] >> (7 - ((left - cost) & 7))) & 1:
            found.append(place)
            left -= cost
    return found
