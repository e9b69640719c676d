"""The small language in which the words for a fact are written, and what finds them in a sentence.

A fact's ``says`` is a list of patterns parted by ``;``. A pattern is words in a row. ``[a|b c|@name]`` is a choice,
``@name`` another fact, ``_`` up to two words, ``..`` up to six, ``~`` joins two things in either order, ``#`` is a number
(``#child``, ``#teen``, ``#old``, ``#year``, ``#temp``, ``#time``: a number of that class). Words are compared in their
plain form; little words such as "really" or "my" may always stand between.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import NamedTuple

from breakdowns.questions.screening.reading import Sentence, plain_form

FILLERS = frozenset(
    [
        "a",
        "an",
        "the",
        "my",
        "his",
        "her",
        "your",
        "our",
        "their",
        "its",
        "it",
        "really",
        "quite",
        "very",
        "so",
        "just",
        "even",
        "bit",
        "little",
        "kind",
        "sort",
        "of",
        "like",
        "also",
        "properly",
        "proper",
        "literally",
        "actually",
        "totally",
        "completely",
        "pretty",
        "rather",
        "well",
        "only",
        "some",
        "any",
        "all",
        "that",
        "this",
        "whole",
        "entire",
        "other",
        "then",
        "left",
        "right",
        "real",
        "absolutely",
        "constantly",
        "always",
        "both",
        "very",
        "super",
        "proper",
        "flipping",
        "bloody",
        "fucking",
        "damn",
        "dam",
        "sudden",
        "suddenly",
        "now",
        "slightly",
        "horribly",
        "badly",
        "seriously",
        "honestly",
        "basically",
        "kinda",
        "sorta",
        "lil",
        "i",
        "he",
        "she",
    ]
)
FILLER_FORMS = frozenset(plain_form(word) for word in FILLERS)
MOST_FILLERS = 4
GAPS = {"_": 2, "..": 6, "...": 10}
GAP_STOPS = frozenset(
    ["no", "not", "without", "nothing", "never", "none", "nor", "neither", "fin", "okay", "ok", "normal"]
)
"""Words over which a gap never reaches: what stands after them is denied, or well."""
PART = re.compile(r"\[[^\]]*\]|\S+")


class Element(NamedTuple):
    """One piece of a pattern: a ``word``, a ``name`` of other patterns, or a ``gap`` of at most ``size`` words."""

    sort: str
    value: str
    size: int = 0


Pattern = tuple[Element, ...]


class Patterns:
    """All named lists of patterns, compiled. Raises ``ValueError`` with name and mend for a pattern it cannot read."""

    def __init__(self, written: Mapping[str, Iterable[str]]) -> None:
        self.known = frozenset(written)
        self.lists: dict[str, tuple[Pattern, ...]] = {}
        for name, patterns in written.items():
            self.lists[name] = tuple(
                compiled for text in patterns if text.strip() for compiled in self._compiled(name, text)
            )
        self.by_first = {name: self._indexed(name) for name in self.lists}

    def _compiled(self, name: str, text: str) -> list[Pattern]:
        if " ~ " in text:
            one, other = text.split(" ~ ")
            return self._compiled(name, f"{one} .. {other}") + self._compiled(name, f"{other} .. {one}")
        elements: list[Element] = []
        for part in PART.findall(text):
            elements.extend(self._elements(name, part))
        if not elements or elements[0].sort == "gap" or elements[-1].sort == "gap":
            raise ValueError(f"“{text}” of “{name}” has to begin and end with a word; take the gap away.")
        return [tuple(elements)]

    def _elements(self, name: str, part: str) -> list[Element]:
        if part in GAPS:
            return [Element("gap", part, GAPS[part])]
        if part.startswith("["):
            return [self._choice(name, part[1:-1])]
        if part.startswith("@"):
            if part[1:] not in self.known:
                raise ValueError(f"“{name}” names “{part}”, which no file defines; mend the name.")
            return [Element("name", part[1:])]
        if part.startswith("#"):
            return [Element("number", part)]
        return [Element("word", plain_form(part.lower()))]

    def _choice(self, name: str, inner: str) -> Element:
        key = f"[{inner}]"
        if key not in self.lists:
            self.lists[key] = ()
            self.lists[key] = tuple(
                pattern for text in inner.split("|") if text.strip() for pattern in self._compiled(name, text)
            )
        return Element("name", key)

    def _indexed(self, name: str) -> dict[str, list[Pattern]]:
        table: dict[str, list[Pattern]] = {}
        for pattern in self.lists[name]:
            for first in self.firsts(pattern[0]):
                table.setdefault(first, []).append(pattern)
        return table

    def firsts(self, element: Element, depth: int = 0) -> frozenset[str]:
        """The plain forms (or number classes) with which ``element`` can begin. Raises ``ValueError`` for a circle."""
        if element.sort != "name":
            return frozenset([element.value])
        if depth > 12:
            raise ValueError(f"“{element.value}” is defined in a circle; take one step out.")
        found: frozenset[str] = frozenset()
        for pattern in self.lists[element.value]:
            found |= self.firsts(pattern[0], depth + 1)
        return found

    def starting_with(self, names: Iterable[str]) -> dict[str, list[str]]:
        """For each plain form, which of ``names`` may begin there."""
        table: dict[str, list[str]] = {}
        for name in names:
            for first in self.by_first[name]:
                table.setdefault(first, []).append(name)
        return table

    @cached_property
    def words(self) -> frozenset[str]:
        """Every plain form that some pattern looks for."""
        return frozenset(
            e.value for patterns in self.lists.values() for p in patterns for e in p if e.sort == "word"
        )


class Finder:
    """The patterns found in one sentence; what was found at a place is remembered."""

    def __init__(self, patterns: Patterns, sentence: Sentence) -> None:
        self.patterns = patterns
        self.words = sentence
        self.found: dict[tuple[str, int], tuple[int, ...]] = {}

    def ends(self, name: str, at: int) -> tuple[int, ...]:
        """Where the patterns called ``name`` that begin with word ``at`` end (exclusive), shortest first."""
        key = (name, at)
        known = self.found.get(key)
        if known is not None:
            return known
        word = self.words[at]
        table = self._table(name)
        ends: set[int] = set()
        for first in (word.stem, *word.kinds):
            for pattern in table.get(first, ()):
                self._follow(pattern, 0, at, ends, 0)
        self.found[key] = result = tuple(sorted(ends))
        return result

    def _table(self, name: str) -> dict[str, list[Pattern]]:
        tables = self.patterns.by_first
        if name not in tables:
            tables[name] = self.patterns._indexed(name)
        return tables[name]

    def _follow(self, pattern: Pattern, step: int, at: int, ends: set[int], skipped: int) -> None:
        if step == len(pattern):
            ends.add(at)
            return
        if at >= len(self.words):
            return
        element = pattern[step]
        if element.sort == "gap":
            for place in range(at, min(at + element.size, len(self.words) - 1) + 1):
                if place > at and self.words[place - 1].stem in GAP_STOPS:
                    break
                for end in self._one(pattern[step + 1], place):
                    self._follow(pattern, step + 2, end, ends, 0)
            return
        for end in self._one(element, at):
            self._follow(pattern, step + 1, end, ends, 0)
        if step and skipped < MOST_FILLERS and self.words[at].stem in FILLER_FORMS:
            self._follow(pattern, step, at + 1, ends, skipped + 1)

    def _one(self, element: Element, at: int) -> tuple[int, ...]:
        word = self.words[at]
        if element.sort == "word":
            return (at + 1,) if word.stem == element.value else ()
        if element.sort == "number":
            return (at + 1,) if element.value in word.kinds else ()
        return self.ends(element.value, at)
