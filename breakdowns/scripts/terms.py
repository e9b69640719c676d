"""Where words name entries of the vocabulary: the longest term at each place. Imports no Django."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.naming import fold
from breakdowns.scripts.tables import rows

__all__ = ["FoundTerm", "everyday_words", "find_terms", "meanings_of", "plain_texts"]

_TOKEN: Final = re.compile(r"[^\W_][\w'’‐‑–/-]*")
_BREAK: Final = re.compile(r"[.!?;:,\n][\s\"”’)]")
# A short term in capitals ("VM", "QF") is meant only where it is written so.
_LONGEST_INITIALS: Final = 4


@dataclass(frozen=True, slots=True)
class FoundTerm:
    """Half-open characters [start, end) of the words that name an entry, with every meaning they may have."""

    start: int
    end: int
    terms: tuple[Term, ...]


Index = Mapping[str, tuple[tuple[tuple[str, ...], tuple[Term, ...]], ...]]


@lru_cache(maxsize=4)
def _index(vocabulary: Vocabulary) -> Index:
    """First word of a term → (its words, its meanings), the longest first."""
    grouped: dict[tuple[str, ...], list[Term]] = defaultdict(list)
    for term in vocabulary.terms:
        words = tuple(_TOKEN.findall(fold(term.text)))
        if words:
            grouped[words].append(term)
    index: dict[str, list[tuple[tuple[str, ...], tuple[Term, ...]]]] = defaultdict(list)
    for words, terms in grouped.items():
        index[words[0]].append((words, tuple(terms)))
    return {first: tuple(sorted(found, key=lambda one: -len(one[0]))) for first, found in index.items()}


def _singulars(word: str) -> tuple[str, ...]:
    """The word itself, and what it may be the genitive or the plural of."""
    bare = word.removesuffix("'s").removesuffix("'")
    cut = bare.removesuffix("s")
    return tuple(dict.fromkeys((word, bare, cut, cut.removesuffix("e"))))


def _written_so(term: Term, said: str) -> bool:
    initials = term.text.isupper() and len(term.text) <= _LONGEST_INITIALS
    return not initials or said.rstrip("s").isupper()


@dataclass(frozen=True, slots=True)
class _Words:
    text: str
    spans: tuple[tuple[int, int], ...]
    said: tuple[str, ...]

    def fits(self, at: int, words: tuple[str, ...]) -> bool:
        """Whether the term's words stand at word ``at``, the last one perhaps in the plural, in one breath."""
        last = at + len(words) - 1
        if last >= len(self.said) or self.said[at:last] != words[:-1]:
            return False
        start, end = self.spans[at][0], self.spans[last][1]
        return words[-1] in _singulars(self.said[last]) and not _BREAK.search(self.text[start:end])


def _found_at(index: Index, words: _Words, at: int) -> FoundTerm | None:
    candidates = [found for first in _singulars(words.said[at]) for found in index.get(first, ())]
    for parts, terms in sorted(candidates, key=lambda one: -len(one[0])):
        if not words.fits(at, parts):
            continue
        start, end = words.spans[at][0], words.spans[at + len(parts) - 1][1]
        meant = tuple(term for term in terms if _written_so(term, words.text[start:end]))
        if meant:
            return FoundTerm(start, end, meant)
    return None


def _walk(index: Index, words: _Words) -> Iterator[FoundTerm]:
    at = 0
    while at < len(words.said):
        found = _found_at(index, words, at)
        at += 1
        if found is not None:
            yield found
            while at < len(words.said) and words.spans[at][0] < found.end:
                at += 1


@lru_cache(maxsize=2048)
def find_terms(words: str, vocabulary: Vocabulary) -> tuple[FoundTerm, ...]:
    """Every term of the vocabulary in ``words``, in order and without overlaps; the longest stands."""
    spans = tuple(match.span() for match in _TOKEN.finditer(words))
    said = tuple(fold(words[start:end]) for start, end in spans)
    return tuple(_walk(_index(vocabulary), _Words(words, spans, said)))


def meanings_of(text: str, vocabulary: Vocabulary) -> tuple[Term, ...]:
    """What a text stands for, if all of it is one term; each entry once."""
    found = find_terms(text, vocabulary)
    whole = vocabulary.meanings(text) or (found[0].terms if len(found) == 1 else ())
    return tuple({(term.kind, term.of): term for term in whole}.values())


@lru_cache(maxsize=4)
def plain_texts(vocabulary: Vocabulary) -> Mapping[tuple[str, str], tuple[str, ...]]:
    """(kind, standard name) → the plain ways of saying it, folded."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for term in vocabulary.terms:
        if term.style == "plain":
            found[term.kind, term.of].append(fold(term.text))
    return {entry: tuple(texts) for entry, texts in found.items()}


@cache
def everyday_words(*kinds: str) -> frozenset[str]:
    """``body``: parts of the body that everybody knows by name; ``speech``: common words with which terms begin."""
    return frozenset(row["word"] for row in rows("everyday_words") if row["kind"] in kinds)
