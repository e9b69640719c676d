"""Phrases that stand for a concept: everyday words from our own lexicon, names from the anatomical vocabulary."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cache

from anatomy.lookup.words import distance
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.questions.sorting.words import phrase_stems, table

__all__ = ["Lexicon", "Phrase", "lexicon", "with_parents"]

_FILES = ("lexicon_body.csv", "lexicon_symptoms.csv", "lexicon_activity.csv", "lexicon_rest.csv")
_NAMED_KINDS = frozenset({"muscle", "group", "joint", "nerve", "structure"})
_SHORTEST_NAME = 3
_SHORTEST_MISSPELT = 5
_LONG_WORD = 8


@dataclass(frozen=True, slots=True)
class Phrase:
    """Stems that follow each other, and the concepts that they stand for."""

    stems: tuple[str, ...]
    keys: tuple[str, ...]


def with_parents(key: str) -> tuple[str, ...]:
    """A concept with the wider ones it lies in: ``symptom.pain.sharp`` → itself and ``symptom.pain``."""
    parts = key.split(".")
    return tuple(".".join(parts[:length]) for length in range(len(parts), 1, -1))


class Lexicon:
    """Every phrase by its first stem, the longest first, and its words for whoever misspells them."""

    def __init__(self, said: dict[tuple[str, ...], tuple[str, ...]]) -> None:
        by_first: dict[str, list[Phrase]] = defaultdict(list)
        for stems, keys in said.items():
            by_first[stems[0]].append(Phrase(stems, keys))
        self.by_first = {
            first: tuple(sorted(phrases, key=lambda phrase: (-len(phrase.stems), phrase.stems)))
            for first, phrases in by_first.items()
        }
        self.stems = frozenset(one for stems in said for one in stems)
        self._by_gap: dict[str, set[str]] = defaultdict(set)
        for one in self.stems:
            if len(one) >= _SHORTEST_MISSPELT - 1 and one.isalpha():
                for gap in _gaps(one):
                    self._by_gap[gap].add(one)

    @cache  # noqa: B019 - one lexicon lives as long as the process
    def nearest(self, misspelt: str) -> str | None:
        """The one stem that a strange word may be a slip of, or None when there is none or more than one."""
        if len(misspelt) < _SHORTEST_MISSPELT or not misspelt.isalpha():
            return None
        near = {one for gap in _gaps(misspelt) for one in self._by_gap.get(gap, ())}
        close = sorted(one for one in near if one[0] == misspelt[0] and distance(one, misspelt, 1) <= 1)
        return close[0] if len(close) == 1 or (close and len(misspelt) >= _LONG_WORD) else None


def _gaps(word: str) -> set[str]:
    return {word} | {word[:at] + word[at + 1 :] for at in range(len(word))}


@cache
def lexicon() -> Lexicon:
    """The packaged lexicon with the names of the packaged vocabulary, read once for each process."""
    said: dict[tuple[str, ...], dict[str, None]] = defaultdict(dict)
    for file in _FILES:
        for row in table(file):
            for phrase in row["said_as"].split("; "):
                said[phrase_stems(phrase)][row["concept"]] = None
    for term in packaged_vocabulary().terms:
        if term.kind not in _NAMED_KINDS or len(term.text) < _SHORTEST_NAME:
            continue
        stems = phrase_stems(term.text)
        if stems and not (term.style == "dictation" and len(stems) == 1):
            said[stems][f"{term.kind}.{term.of}"] = None
    return Lexicon({stems: tuple(keys) for stems, keys in said.items()})
