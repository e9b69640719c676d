"""Sentences as items: known phrases, numbers, and words that mean nothing here. Imports no Django."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from anatomy.claims.tokens import END_OF_SENTENCE, Token, tokens_of
from breakdowns.scripts.measured.lexicon import longest_phrase
from breakdowns.scripts.measured.numbers import decade_at, number_said

__all__ = ["Item", "Sentence", "sentences_of"]

_SHORTENED = frozenset({"approx", "ca", "deg"})
_NO_SIDE_BEFORE = frozenset({"handed", "footed", "hander", "handers", "sided"})


@dataclass(frozen=True, slots=True)
class Item:
    """A phrase, a number or a word at characters [start, end). ``kinds``: what it may be, with a value each."""

    kinds: Mapping[str, str]
    start: int
    end: int
    text: str
    number: float = 0.0
    figures: bool = False

    def is_(self, *names: str) -> bool:
        """Whether it may be any of these kinds."""
        return any(name in self.kinds for name in names)


@dataclass(frozen=True, slots=True)
class Sentence:
    """The items of one sentence of ``text``, in order."""

    text: str = field(repr=False)
    items: tuple[Item, ...]
    question: bool = False


def sentences_of(text: str) -> list[Sentence]:
    """Every sentence with at least one item."""
    found: list[Sentence] = []
    tokens = tokens_of(text)
    first = 0
    for place, token in enumerate(tokens):
        if token.sort == "mark" and token.text in END_OF_SENTENCE and not _is_short_form(tokens, place):
            found += _sentence(text, tokens, first, place, token.text == "?")
            first = place + 1
    return found + _sentence(text, tokens, first, len(tokens), False)


def _is_short_form(tokens: list[Token], place: int) -> bool:
    """The stop of "approx." before what goes on."""
    return place > 0 and tokens[place].text == "." and tokens[place - 1].text in _SHORTENED


def _sentence(text: str, tokens: list[Token], first: int, limit: int, question: bool) -> list[Sentence]:
    items: list[Item] = []
    place = first
    while place < limit:
        used, item = _item_at(tokens, place, limit)
        if not (item.text == "." and item.is_("MARK")):
            items.append(item)
        place += used
    return [Sentence(text, tuple(items), question)] if items else []


def _item_at(tokens: list[Token], place: int, limit: int) -> tuple[int, Item]:
    token = tokens[place]
    phrase = longest_phrase(tokens, place, limit)
    number = number_said(tokens, place, limit)
    decade = decade_at(tokens, place, limit)
    used = len(phrase.words) if phrase else 0
    if decade is not None and decade.used >= used:
        return decade.used, _numbered(tokens, place, decade.used, "DECADE_OF", decade.value, decade.figures)
    if number is not None and number.used >= used:
        return number.used, _numbered(tokens, place, number.used, "NUM", number.value, number.figures)
    if phrase is None or (phrase.kinds.keys() == {"SIDE"} and _is_handed(tokens, place, limit)):
        kinds = {"MARK": token.text} if token.sort == "mark" else {}
        if token.text.endswith("n't"):
            kinds = {"NEG": ""}
        return 1, Item(kinds, token.start, token.end, token.text)
    return used, Item(phrase.kinds, token.start, tokens[place + used - 1].end, " ".join(phrase.words))


def _is_handed(tokens: list[Token], place: int, limit: int) -> bool:
    return place + 1 < limit and tokens[place + 1].text in _NO_SIDE_BEFORE


def _numbered(tokens: list[Token], place: int, used: int, kind: str, value: float, figures: bool) -> Item:
    last = tokens[place + used - 1]
    return Item({kind: ""}, tokens[place].start, last.end, tokens[place].text, value, figures)
