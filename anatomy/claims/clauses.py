"""Where the clause of a claim begins, so that its span does not reach over what is said before it."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.items import Item

FAR = 9
"""Items that a claim may reach back over; further back its own clause is enough."""


def clause_start(items: Sequence[Item], i: int, k: int) -> int:
    """Where a claim that reaches from ``i`` to the word at ``k`` should begin.

    That is ``i`` unless it lies far back and a clause of its own, with a verb or a person, holds the word.
    """
    if k - i <= FAR:
        return i
    for m in range(k - 2, i, -1):
        if items[m].is_("COMMA", "BUT", "SUB", "AND", "DASH") and any(
            item.is_("AUX", "PERSON", "IT", "COP") for item in items[m + 1 : k]
        ):
            return m + 1
    return i
