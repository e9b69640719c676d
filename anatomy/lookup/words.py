"""Words as they are compared in a search: folded, cut to their stems, forgiven a slip of the finger."""

from __future__ import annotations

import csv
import re
import unicodedata
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from anatomy.vocabulary.naming import fold

__all__ = ["EMPTY_WORDS", "WordBook", "distance", "plain_words", "stem", "words_of"]

_WORD = re.compile(r"[^\W_]+")
# Words of a question that say nothing about what is looked for.
_EMPTY = """
a about after all an and are as at be by called can do does during for from get gets go goes how i into is it its let
lets made make makes me move movement moves muscle muscles my named of on or say show that the their them this to use
used using was what when where which while who why with word you your
"""
# Mostly a preposition, sometimes a direction.
_DIRECTIONS = frozenset({"in", "on", "off", "up"})
_AS_PREPOSITION = 0.5
EMPTY_WORDS = frozenset(_EMPTY.split())
_ENDINGS = ("ations", "ation", "ings", "ing", "wards", "ward", "edly", "ed", "ies", "es", "s", "ly")
_SHORTEST_STEM = 3


def words_of(text: str) -> tuple[str, ...]:
    """Folded words without accents: ``"Glúteo-máximo"`` → ``("gluteo", "maximo")``."""
    plain = unicodedata.normalize("NFD", fold(text))
    return tuple(_WORD.findall("".join(sign for sign in plain if not unicodedata.combining(sign))))


@cache
def stem(word: str) -> str:
    """The part that forms of a word share: turns, turning, turned → turn; rotation, rotate → rotat."""
    if word.endswith(("ator", "ators")):
        return word[: word.rindex("or")]
    if word.endswith(("ation", "ations")):
        return word[: word.rindex("ion")]
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST_STEM:
            return _without_double(word[: -len(ending)])
    return word[:-1] if word.endswith("e") and len(word) > _SHORTEST_STEM else word


def _without_double(word: str) -> str:
    doubled = len(word) > _SHORTEST_STEM and word[-1] == word[-2] and word[-1] not in "lsu"
    word = word[:-1] if doubled else word
    return word[:-1] if word.endswith("e") and len(word) > _SHORTEST_STEM else word


@cache
def plain_words() -> dict[str, frozenset[str]]:
    """Everyday word (its stem) → stems of the words of the trade that it stands for."""
    text = files("anatomy.lookup").joinpath("data", "plain_words.csv").read_text(encoding="utf-8")
    found: dict[str, set[str]] = defaultdict(set)
    for row in csv.DictReader(text.splitlines(), strict=True):
        found[stem(row["word"])].add(stem(row["means"]))
    return {word: frozenset(means) for word, means in found.items()}


def distance(one: str, other: str, most: int) -> int:
    """Slips between two words: a letter more, less, other, or two swapped; ``most`` + 1 where there are more.

    The restricted edit distance (Damerau 1964; optimal string alignment).
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, start=1):
        earlier, before, row = before, row, [i]
        for j, against in enumerate(other, start=1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                cost = min(cost, earlier[j - 2] + 1)
            row.append(cost)
        if min(*row, *before) > most:  # a swap reaches back over one row
            return most + 1
    return min(row[-1], most + 1)


class WordBook:
    """All words of an index, found again by themselves, their stem, their beginning, or nearly.

    ``misheard`` are words that are nothing but errors: what is close to them may be meant as well.
    """

    def __init__(self, words: Iterable[str], misheard: Iterable[str] = ()) -> None:
        self.words, self._misheard = frozenset(words), frozenset(misheard)
        self._sorted = sorted(self.words)
        self._by_stem: dict[str, set[str]] = defaultdict(set)
        self._by_pair: dict[str, set[str]] = defaultdict(set)
        for word in self.words:
            self._by_stem[stem(word)].add(word)
            for pair in _pairs(word):
                self._by_pair[pair].add(word)

    def like(self, word: str) -> dict[str, float]:
        """Words of the book that may be meant, with how surely: 1 the word itself, less the further away."""
        found = dict.fromkeys(self._by_stem.get(stem(word), ()), 0.94)
        for meant in plain_words().get(stem(word), ()):
            found |= {near: 0.8 for near in self._by_stem.get(meant, ()) if near not in found}
        if len(word) >= 2:
            found |= {longer: 0.72 for longer in self._beginning(word) if longer not in found}
        if word in self.words:
            found[word] = _AS_PREPOSITION if word in _DIRECTIONS else 1.0
        if word in self._misheard or not any(sure > 0.5 for sure in found.values()):
            found = self._nearly(word) | found
        return found

    def _beginning(self, word: str) -> list[str]:
        start = bisect_left(self._sorted, word)
        found = []
        for longer in self._sorted[start : start + 60]:
            if not longer.startswith(word):
                break
            if len(word) >= 3 or len(longer) <= len(word) + 2:
                found.append(longer)
        return found

    def _nearly(self, word: str) -> dict[str, float]:
        most = 0 if len(word) < 4 else 1 if len(word) < 7 else 2
        if not most:
            return {}
        candidates: dict[str, int] = defaultdict(int)
        pairs = _pairs(word)
        for pair in pairs:
            for near in self._by_pair.get(pair, ()):
                candidates[near] += 1
        wanted = max(1, len(pairs) - 3 * most)
        found = {}
        for near, shared in candidates.items():
            if shared >= wanted and (slips := distance(word, near, most)) <= most:
                found[near] = 0.86 - 0.14 * slips
        return found


def _pairs(word: str) -> set[str]:
    closed = f"^{word}$"
    return {closed[at : at + 2] for at in range(len(closed) - 1)}
