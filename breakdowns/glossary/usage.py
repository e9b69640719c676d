"""Where words are used: an index over the words of all beats that finds a name as whole words.

A name is found however its capitals, hyphens and spaces stand, never across the end of a sentence, never
inside another word. Kept in memory and brought up to date by breakdown; nothing here knows a database.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from anatomy.vocabulary.naming import fold

__all__ = ["BeatWords", "Place", "UsageIndex"]

_WORD = re.compile(r"[^\W_]+")
_BETWEEN = re.compile(r"[\s\-'’/]*\Z")


@lru_cache(maxsize=2**16)
def _folded(word: str) -> str:
    return fold(word)


@dataclass(frozen=True, slots=True)
class BeatWords:
    """The words of one stored beat."""

    beat: int
    breakdown: int
    words: str


@dataclass(frozen=True, slots=True)
class Place:
    """A beat that uses one of the names, and where in its words the first stands: characters [start, end)."""

    beat: int
    breakdown: int
    start: int
    end: int


class _Text:
    """The words of a beat, cut into folded tokens with their places."""

    __slots__ = ("_spans", "breakdown", "tokens", "words")

    def __init__(self, breakdown: int, words: str) -> None:
        self.breakdown, self.words = breakdown, words
        self.tokens = [_folded(word) for word in _WORD.findall(words)]
        self._spans: list[tuple[int, int]] | None = None

    @property
    def spans(self) -> list[tuple[int, int]]:
        """Where each token stands; found when it is asked for, since most texts are never asked."""
        if self._spans is None:
            self._spans = [match.span() for match in _WORD.finditer(self.words)]
        return self._spans

    def at(self, name: Sequence[str]) -> tuple[int, int] | None:
        for place in range(len(self.tokens) - len(name) + 1):
            if self.tokens[place : place + len(name)] == list(name) and self._hangs_together(
                place, len(name)
            ):
                return self.spans[place][0], self.spans[place + len(name) - 1][1]
        return None

    def _hangs_together(self, place: int, count: int) -> bool:
        pairs = zip(self.spans[place : place + count - 1], self.spans[place + 1 : place + count], strict=True)
        return all(_BETWEEN.match(self.words[end:start]) for (_, end), (start, _) in pairs)


class UsageIndex:
    """Beats by the words in them; breakdown by breakdown replaced when their version is another one."""

    def __init__(self) -> None:
        self.versions: dict[int, Hashable] = {}
        self._texts: dict[int, _Text] = {}
        self._beats: dict[int, list[int]] = defaultdict(list)
        self._by_token: dict[str, set[int]] = defaultdict(set)

    def stale(self, versions: Mapping[int, Hashable]) -> list[int]:
        """Drop breakdowns that are gone; answers those that have to be read again."""
        for gone in [key for key in self.versions if key not in versions]:
            self._drop(gone)
            del self.versions[gone]
        return [key for key, version in versions.items() if self.versions.get(key) != version]

    def replace(self, versions: Mapping[int, Hashable], beats: Iterable[BeatWords]) -> None:
        """Put these breakdowns in, with all of their beats."""
        for key in versions:
            self._drop(key)
        for beat in beats:
            text = _Text(beat.breakdown, beat.words)
            self._texts[beat.beat] = text
            self._beats[beat.breakdown].append(beat.beat)
            for token in set(text.tokens):
                self._by_token[token].add(beat.beat)
        self.versions.update(versions)

    def _drop(self, breakdown: int) -> None:
        for beat in self._beats.pop(breakdown, ()):
            for token in set(self._texts.pop(beat).tokens):
                self._by_token[token].discard(beat)

    def find(self, names: Iterable[str]) -> list[Place]:
        """Every beat in which any of the names stands, each once, with the earliest place."""
        found: dict[int, Place] = {}
        for name in names:
            tokens = [_folded(word) for word in _WORD.findall(name)]
            if not tokens:
                continue
            beats = set.intersection(*(self._by_token.get(token, set()) for token in tokens))
            for beat in beats:
                text = self._texts[beat]
                span = text.at(tokens)
                if span and (beat not in found or span < (found[beat].start, found[beat].end)):
                    found[beat] = Place(beat, text.breakdown, *span)
        return list(found.values())

    def snippet(self, place: Place, around: int = 60) -> tuple[str, str, str]:
        """(before, the name as it stands there, after), cut at words."""
        words = self._texts[place.beat].words
        starts = [start for start, _ in self._texts[place.beat].spans]
        first = starts[max(0, bisect_right(starts, max(0, place.start - around)) - 1)] if starts else 0
        before, after = words[min(first, place.start) : place.start], words[place.end : place.end + around]
        before = ("… " if first > 0 else "") + before
        if place.end + around < len(words):
            after = after.rsplit(" ", 1)[0] + " …"
        return before, words[place.start : place.end], after
