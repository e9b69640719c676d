"""Reading a question: which concepts its words name, where, and which of them it denies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from breakdowns.questions.sorting.lexicon import Lexicon, lexicon
from breakdowns.questions.sorting.vectors import word_vectors
from breakdowns.questions.sorting.words import Word, split_words

__all__ = ["Found", "Reading", "read"]

# The longer phrase of the first class hides shorter ones of the others within it: “tennis elbow” is no tennis.
_HIDES = {
    "region": {"aspect", "tissue", "off", "act", "side"},
    "condition": {"region", "aspect", "tissue", "off", "act", "symptom"},
    "symptom": {"act", "off", "effort", "gear"},
    "act": {"off", "effort", "symptom", "gear"},
    "off": {"act", "gear", "region", "symptom", "load", "account", "tech"},
    "money": {"act", "gear", "off", "symptom", "account"},
    "account": {"act", "gear", "off", "care", "load", "symptom"},
    "gear": {"act", "off", "symptom"},
    "load": {"act", "off", "effort"},
}
_DENIED = frozenset({"symptom", "condition", "care"})
_DENIERS = frozenset({"no", "without", "never", "nor", "neither", "not"})
# After these “not” says what somebody is unable or unwilling to do, not what is absent.
_UNABLE = frozenset({"can", "could", "will", "would", "should", "if", "why", "or", "sure"})
_REACH = 3


@dataclass(frozen=True, slots=True)
class Found:
    """A concept that a stretch of the text names; ``denied`` where the text says that it is absent."""

    key: str
    start: int
    end: int
    denied: bool
    first: int
    last: int

    @property
    def kind(self) -> str:
        """The class of the concept: what stands before its first dot."""
        return self.key.partition(".")[0]


@dataclass(frozen=True, slots=True)
class Reading:
    """A question read: its words and what they name, in the order of the text."""

    text: str
    words: tuple[Word, ...]
    found: tuple[Found, ...]

    def said(self, found: Found) -> str:
        """The words of the text that named a concept."""
        return self.text[found.start : found.end]


@lru_cache(maxsize=256)
def read(text: str) -> Reading:
    """Reads a text of any length; past ``words.LONGEST_READ`` signs nothing is looked at."""
    book, words = lexicon(), split_words(text)
    full = [number for number, word in enumerate(words) if not word.light]
    stems = [_understood(words[number], book) for number in full]
    spans = _matches(stems, book)
    found = []
    for first, last, key in _without_hidden(spans):
        start, end = words[full[first]], words[full[last]]
        denied = key.partition(".")[0] in _DENIED and key != "symptom.none" and _is_denied(words, full[first])
        found.append(Found(key, start.start, end.end, denied, first, last))
    return Reading(text, tuple(words), tuple(sorted(found, key=lambda one: (one.start, -one.end, one.key))))


def _understood(word: Word, book: Lexicon) -> str:
    """The stem of a word, mended where it is a stranger to lexicon and language and close to one known stem."""
    if word.stem in book.stems or word.text in word_vectors().place:
        return word.stem
    return book.nearest(word.stem) or word.stem


def _matches(stems: list[str], book: Lexicon) -> list[tuple[int, int, str]]:
    spans = []
    for at, first in enumerate(stems):
        for phrase in book.by_first.get(first, ()):
            length = len(phrase.stems)
            if tuple(stems[at : at + length]) == phrase.stems:
                spans += [(at, at + length - 1, key) for key in phrase.keys]
    return spans


def _without_hidden(spans: list[tuple[int, int, str]]) -> list[tuple[int, int, str]]:
    kept = []
    long = [(first, last, key.partition(".")[0]) for first, last, key in spans if last > first]
    for first, last, key in spans:
        kind = key.partition(".")[0]
        hidden = any(
            begin <= first
            and last <= end
            and end - begin > last - first
            and (by == kind or kind in _HIDES.get(by, ()))
            for begin, end, by in long
        )
        if not hidden:
            kept.append((first, last, key))
    return kept


def _is_denied(words: list[Word], place: int) -> bool:
    clause = words[place].clause
    for back in range(place - 1, max(-1, place - 1 - _REACH), -1):
        if words[back].clause != clause or words[back].text in ("but", "and"):
            return False
        if words[back].text in _DENIERS:
            return words[back].text != "not" or back == 0 or words[back - 1].text not in _UNABLE
    return False
