"""Phrases of one topic found in a sentence: names of exercises, planes, segments of the body, situations.

A name such as "leg curl" is made of words that the grammar of motions needs one by one, so these are looked up apart
from the sentence's items, over its words, longest match first from left to right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from anatomy.claims.inflection import singular_forms, verb_forms
from anatomy.claims.items import Item
from anatomy.claims.lexicon import listed, rows
from anatomy.claims.tokens import tokens_of


@dataclass(frozen=True, slots=True)
class Sighting:
    """A phrase in the items ``i`` to ``j`` (half-open) and everything it may stand for."""

    values: tuple[Any, ...]
    i: int
    j: int
    words: tuple[str, ...] = ()

    @property
    def value(self) -> Any:
        """The first thing that it may stand for."""
        return self.values[0]


class Stream:
    """The words of a sentence with the item that each belongs to."""

    __slots__ = ("forms", "items", "places", "words")

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = items
        self.words: list[str] = []
        self.places: list[int] = []
        for place, item in enumerate(items):
            for word in item.text.split(" "):
                self.words.append(word)
                self.places.append(place)
        self.forms = [singular_forms(word) for word in self.words]


class PhraseBook:
    """Phrases with what they stand for; a phrase may stand for several things."""

    def __init__(self, entries: Iterable[tuple[str, Any]]) -> None:
        gathered: dict[tuple[str, ...], list[Any]] = defaultdict(list)
        for text, value in entries:
            words = tuple(token.text for token in tokens_of(text))
            if words and value not in gathered[words]:
                gathered[words].append(value)
        first: dict[str, list[tuple[tuple[str, ...], tuple[Any, ...]]]] = defaultdict(list)
        for words, values in gathered.items():
            first[words[0]].append((words, tuple(values)))
        for held in first.values():
            held.sort(key=lambda entry: -len(entry[0]))
        self.first = dict(first)

    @classmethod
    def of_table(cls, name: str, value: str, *, nouns: str = "words", verbs: str = "verbs") -> PhraseBook:
        """A book from one of the package's data files: its phrases, and every form of its verbs."""
        entries: list[tuple[str, Any]] = []
        for row in rows(name):
            if nouns != "verbs":
                entries += [(text, row[value]) for text in listed(row.get(nouns) or "")]
            for verb in listed(row.get(verbs) or "") if verbs else ():
                entries += [(form, row[value]) for form, _ in verb_forms(verb)]
        return cls(entries)

    def sightings(self, stream: Stream) -> list[Sighting]:
        """Every phrase of the book in the sentence, none overlapping another."""
        found: list[Sighting] = []
        place, count = 0, len(stream.words)
        while place < count:
            match = self._at(stream, place)
            if match is None:
                place += 1
                continue
            length, values = match
            last = stream.places[place + length - 1]
            words = tuple(stream.words[place : place + length])
            found.append(Sighting(values, stream.places[place], last + 1, words))
            place += length
        return found

    def _at(self, stream: Stream, place: int) -> tuple[int, tuple[Any, ...]] | None:
        best: tuple[int, tuple[Any, ...]] | None = None
        for form in stream.forms[place]:
            for words, values in self.first.get(form, ()):
                length = len(words)
                if best is not None and length <= best[0]:
                    break
                if length == 1 or _follows(words, stream, place):
                    best = (length, values)
                    break
        return best


def _follows(words: tuple[str, ...], stream: Stream, place: int) -> bool:
    if place + len(words) > len(stream.words):
        return False
    return all(
        words[k] == stream.words[place + k] or words[k] in stream.forms[place + k]
        for k in range(1, len(words))
    )
