"""Which known word a misspelling stands for: a look-up by leaving letters out, then the edit distance."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache


class Speller:
    """Words that may be meant, and words that are right as they stand."""

    def __init__(self, wanted: Iterable[str], known: Iterable[str]) -> None:
        self.known = frozenset(known)
        by_gap: dict[str, set[str]] = defaultdict(set)
        for word in wanted:
            for gap in _gaps(word):
                by_gap[gap].add(word)
        self.by_gap = dict(by_gap)
        self.meant = lru_cache(maxsize=20_000)(self._meant)

    def _meant(self, word: str) -> str | None:
        """The word of the vocabulary that ``word`` is a slip for, or None: unknown, too short, or doubtful."""
        if not 6 <= len(word) <= 28 or word in self.known:
            return None
        allowed = 2 if len(word) >= 10 else 1
        near: dict[str, int] = {}
        for gap in _gaps(word):
            for other in self.by_gap.get(gap, ()):
                if other not in near and other[0] == word[0]:
                    near[other] = distance(word, other, allowed)
        close = sorted((steps, other) for other, steps in near.items() if steps <= allowed)
        if not close or (len(close) > 1 and close[0][0] == close[1][0]):
            return None
        return close[0][1]


def _gaps(word: str) -> set[str]:
    return {word} | {word[:place] + word[place + 1 :] for place in range(len(word))}


def distance(one: str, other: str, allowed: int) -> int:
    """How many slips (letter wrong, missing, added, or two swapped) lie between two words; stops above ``allowed``."""
    if abs(len(one) - len(other)) > allowed:
        return allowed + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        new = [i]
        for j, against in enumerate(other, 1):
            best = min(row[j] + 1, new[j - 1] + 1, row[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                best = min(best, before[j - 2] + 1)
            new.append(best)
        if min(new) > allowed:
            return allowed + 1
        before, row = row, new
    return row[-1]
