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

    __slots__ = ("at", "forms", "items", "places", "words")

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = items
        self.words: list[str] = []
        self.places: list[int] = []
        for place, item in enumerate(items):
            said = item.text.split(" ")
            self.words += said
            self.places += [place] * len(said)
        self.forms = [singular_forms(word) for word in self.words]
        self.at: dict[str, list[int]] = {}
        for place, forms in enumerate(self.forms):
            for form in forms:
                if form in self.at:
                    self.at[form].append(place)
                else:
                    self.at[form] = [place]


Phrase = tuple[tuple[str, ...], tuple[Any, ...]]


class PhraseBook:
    """Phrases with what they stand for; a phrase may stand for several things."""

    def __init__(self, entries: Iterable[tuple[str, Any]]) -> None:
        gathered: dict[tuple[str, ...], list[Any]] = defaultdict(list)
        for text, value in entries:
            words = tuple(token.text for token in tokens_of(text))
            if words and value not in gathered[words]:
                gathered[words].append(value)
        self.alone: dict[str, tuple[Any, ...]] = {}
        self.longer: dict[str, dict[str, list[Phrase]]] = {}
        self.entries = tuple((words, tuple(values)) for words, values in gathered.items())
        for words, values in sorted(self.entries, key=lambda entry: -len(entry[0])):
            if len(words) == 1:
                self.alone[words[0]] = values
            else:
                seconds = self.longer.setdefault(words[0], {})
                seconds.setdefault(words[1], []).append((words, values))
        self.first = frozenset(words[0] for words in gathered)

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
        # Of the two, the sentence is the short one to walk.
        begun = self.first.intersection(stream.at)
        if not begun:
            return []
        found: list[Sighting] = []
        end = 0
        for place in sorted({place for form in begun for place in stream.at[form]}):
            match = self._at(stream, place) if place >= end else None
            if match is None:
                continue
            length, values = match
            end = place + length
            last = stream.places[end - 1]
            found.append(Sighting(values, stream.places[place], last + 1, tuple(stream.words[place:end])))
        return found

    def _at(self, stream: Stream, place: int) -> tuple[int, tuple[Any, ...]] | None:
        """The longest phrase at a word; of equally long ones that of the word as it was said."""
        best: tuple[int, tuple[Any, ...]] | None = None
        after = stream.forms[place + 1] if place + 1 < len(stream.forms) else ()
        for form in stream.forms[place]:
            seconds = self.longer.get(form)
            for second in after if seconds else ():
                for words, values in seconds.get(second, ()):  # type: ignore[union-attr]
                    if best is not None and len(words) <= best[0]:
                        break
                    if _follows(words, stream, place):
                        best = (len(words), values)
                        break
            if best is None and form in self.alone:
                best = (1, self.alone[form])
        return best


def _follows(words: tuple[str, ...], stream: Stream, place: int) -> bool:
    if place + len(words) > len(stream.words):
        return False
    return all(
        words[k] == stream.words[place + k] or words[k] in stream.forms[place + k]
        for k in range(1, len(words))
    )
