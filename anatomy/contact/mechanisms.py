"""How a contact happened, out of the words of a text."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache

from anatomy.claims.tokens import Token, each_token, tokens_of
from anatomy.contact.facts import ContactFacts

__all__ = ["mechanisms_in"]

Index = dict[str, list[tuple[tuple[str, ...], str]]]
LONGEST = 8


@lru_cache(maxsize=4)
def _index(facts: ContactFacts) -> Index:
    index: Index = defaultdict(list)
    for mechanism in facts.mechanisms.values():
        for text in mechanism.words:
            words = tuple(token.text for token in tokens_of(text))
            index[words[0]].append((words, mechanism.key))
    return dict(index)


def mechanisms_in(text: str, facts: ContactFacts) -> tuple[str, ...]:
    """The keys of the mechanisms that a text names, in the order of the data file; nothing when it names none."""
    index = _index(facts)
    found: set[str] = set()
    held: list[Token] = []
    for token in each_token(text):
        held.append(token)
        if len(held) == LONGEST:
            found.update(_at(held, index))
            held.pop(0)
    while held:
        found.update(_at(held, index))
        held.pop(0)
    return tuple(key for key in facts.mechanisms if key in found)


def _at(held: list[Token], index: Index) -> Iterable[str]:
    for words, key in index.get(held[0].text, ()):
        if len(words) <= len(held) and all(
            token.text == word for token, word in zip(held, words, strict=False)
        ):
            yield key
