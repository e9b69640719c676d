"""Words of speech and names of the vocabulary, compiled for looking up the longest phrase at a token."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

from anatomy.claims.lexicon import rows as claim_rows
from anatomy.claims.spelling import Speller
from anatomy.claims.tokens import Token, tokens_of
from anatomy.contact.facts import ContactFacts
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["Classes", "Lexicon", "lexicon_of"]

Classes = dict[str, str]
KINDS = ("structure", "muscle", "group", "nerve", "joint")
STYLES = ("standard", "short", "plain", "slang", "own")
SIDE_WITHIN = 5
"""Tokens of a phrase among which a side is looked for."""
SHORTEST_NAME = 4
"""Letters; shorter names of the vocabulary ("hip", "ham") are read only where ``words.csv`` has them."""


@dataclass(frozen=True)
class Lexicon:
    """Phrases by their first word, longest first, each with its classes; built once for each vocabulary."""

    facts: ContactFacts
    vocabulary: Vocabulary
    by_first: dict[str, tuple[tuple[tuple[str, ...], Classes], ...]]

    @classmethod
    def of(cls, facts: ContactFacts, vocabulary: Vocabulary) -> Lexicon:
        """The words of speech of the contact map and those names of the vocabulary that have a place in it."""
        held: dict[tuple[str, ...], Classes] = defaultdict(dict)
        for kind, value, text in _said(facts):
            words = tuple(token.text for token in tokens_of(text))
            held[words].setdefault(kind, value)
        for text, name in _named(facts, vocabulary):
            words = tuple(token.text for token in tokens_of(text))
            if words and words not in held:
                held[words]["entry"] = name
        by_first: dict[str, list[tuple[tuple[str, ...], Classes]]] = defaultdict(list)
        for words, classes in held.items():
            by_first[words[0]].append((words, classes))
        ordered = {
            first: tuple(sorted(phrases, key=lambda one: -len(one[0]))) for first, phrases in by_first.items()
        }
        return cls(facts, vocabulary, ordered)

    def around_a_side(self, tokens: list[Token], place: int) -> tuple[int, Classes, int] | None:
        """ "Neck of the left fibula", "outstretched left hand": tokens taken and classes of a phrase that a side stands within, and where the side stands."""
        if tokens[place].text not in self.by_first:
            return None
        for at in range(place + 1, min(len(tokens), place + SIDE_WITHIN)):
            stands = tokens[at - 1].text in self.owning or tokens[at - 1].text == "outstretched"
            if tokens[at].text in ("left", "right") and stands:
                found = self.longest([*tokens[place:at], *tokens[at + 1 : at + 1 + SIDE_WITHIN]], 0)
                if found and place + found[0] > at and not {"part", "entry"}.isdisjoint(found[1]):
                    return found[0] + 1, found[1], at
                return None
        return None

    def longest(self, tokens: list[Token], place: int) -> tuple[int, Classes] | None:
        """How many tokens the longest phrase takes from here, and its classes."""
        for words, classes in self.by_first.get(tokens[place].text, ()):
            end = place + len(words)
            if (
                end <= len(tokens)
                and self._says(tokens, place, words, classes)
                and not self._goes_on(tokens, end, words)
            ):
                return len(words), classes
        return None

    def _says(self, tokens: list[Token], place: int, words: tuple[str, ...], classes: Classes) -> bool:
        """Whether the words stand here; "the" of a part's name may be "his"."""
        named = "part" in classes or "entry" in classes
        return all(
            token.text == word or (named and word == "the" and token.text in self.owning)
            for token, word in zip(tokens[place : place + len(words)], words, strict=True)
        )

    def _goes_on(self, tokens: list[Token], end: int, words: tuple[str, ...]) -> bool:
        """ "Tip of the shoulder" is not said in "tip of the shoulder blade": its last word begins a longer part."""
        return len(words) > 2 and any(
            len(longer) > 1
            and "part" in classes
            and self._says(tokens[: end + len(longer)], end - 1, longer, classes)
            for longer, classes in self.by_first.get(tokens[end - 1].text, ())
            if end - 1 + len(longer) <= len(tokens)
        )

    @cached_property
    def owning(self) -> frozenset[str]:
        """Words that may stand where a phrase has "the": "tip of his shoulder"."""
        return frozenset(word for row in self.facts.words if row.cls == "possessive" for word in row.words)

    @cached_property
    def speller(self) -> Speller:
        """The words for parts of the body that a misspelling may stand for."""
        known = {word for phrases in self.by_first.values() for words, _ in phrases for word in words}
        wanted = {
            word
            for phrases in self.by_first.values()
            for words, classes in phrases
            if "part" in classes
            for word in words
            if len(word) > 5
        }
        return Speller(wanted, known | {row["word"] for row in claim_rows("ordinary_words")})


def _said(facts: ContactFacts) -> Iterator[tuple[str, str, str]]:
    for row in facts.words:
        for text in row.words:
            yield row.cls, row.value, text


def _named(facts: ContactFacts, vocabulary: Vocabulary) -> Iterator[tuple[str, str]]:
    ordinary = {row["word"] for row in claim_rows("ordinary_words")}
    for term in vocabulary.terms:
        if term.kind not in KINDS or term.style not in STYLES or term.text in ordinary:
            continue
        if term.text.split()[0] in ("left", "right"):
            # The side is read by itself, so that "left kidney" and "kidney on the left" are the same.
            continue
        if len(term.text) >= SHORTEST_NAME and places_of_entry(facts, vocabulary, term.kind, term.of):
            yield term.text, f"{term.kind}:{term.of}"


def places_of_entry(facts: ContactFacts, vocabulary: Vocabulary, kind: str, name: str) -> tuple[str, ...]:
    """The places under which an entry lies; a muscle that no row names lies where the groups do that it belongs to."""
    found = facts.places_of(kind, name)
    if not found and kind == "muscle":
        groups = vocabulary.groups_of(name)
        found = tuple(dict.fromkeys(key for group in groups for key in facts.places_of("group", group)))
    return () if "body" in found or "head" in found else found


@lru_cache(maxsize=4)
def lexicon_of(facts: ContactFacts, vocabulary: Vocabulary) -> Lexicon:
    """The lexicon of a vocabulary, kept while it is in use."""
    return Lexicon.of(facts, vocabulary)
