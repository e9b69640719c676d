"""Text to items: a word or phrase with its classes, levels read, misspellings of body parts mended."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from anatomy.claims.tokens import END_OF_SENTENCE, Token, each_token, tokens_of
from anatomy.contact.clock import clock_at
from anatomy.contact.levels_said import level_at
from anatomy.contact.lexicon import Classes, Lexicon

__all__ = ["Item", "Stretch", "stretches_of"]

LONGEST_STRETCH = 240
"""Tokens; what runs on longer is read in pieces, so that no look back or ahead grows with the text."""
APART = frozenset({"then", "afterwards", "later"})


@dataclass(frozen=True, slots=True)
class Item:
    """What stands from ``start`` to ``end`` in the text; ``levels`` are ribs ("9") or vertebrae ("T10"); ``mended`` is how a misspelling stood."""

    text: str
    start: int
    end: int
    classes: Classes
    levels: tuple[str, ...] = ()
    mended: str = ""

    def is_(self, *names: str) -> bool:
        """Whether the item belongs to any of these classes."""
        return any(name in self.classes for name in names)

    @property
    def is_noun(self) -> bool:
        """Whether it names a part of the body or a level of the trunk."""
        return self.is_("part", "entry", "level")

    @property
    def is_attribute(self) -> bool:
        """Whether it says more about a part: side, aspect, relation, the hour of a clock face, or that it tells a height."""
        return self.is_("side", "aspect", "relation", "clock", "height")


@dataclass
class Stretch:
    """The items of one sentence or piece of it."""

    items: list[Item] = field(default_factory=list)

    def has(self, name: str) -> bool:
        """Whether any item belongs to a class."""
        return any(name in item.classes for item in self.items)


def stretches_of(text: str, lexicon: Lexicon) -> Iterator[Stretch]:
    """The stretches of a text in order; each token is looked at a bounded number of times."""
    waiting: list[Token] = []
    for token in each_token(text):
        ended = (token.sort == "mark" and token.text in END_OF_SENTENCE) or token.text in APART
        if not ended:
            waiting.append(token)
        if waiting and (ended or len(waiting) >= LONGEST_STRETCH):
            yield Stretch(_items(waiting, lexicon))
            waiting = []
    if waiting:
        yield Stretch(_items(waiting, lexicon))


def _items(given: list[Token], lexicon: Lexicon) -> list[Item]:
    items: list[Item] = []
    tokens = [_mended(token, lexicon) for token in given]
    place = 0
    while place < len(tokens):
        within = lexicon.around_a_side(tokens, place)
        if within is not None:
            items += _with_side(tokens, place, within, lexicon)
            place += within[0]
            continue
        count, item = _item(tokens, place, lexicon)
        slips = [
            one.text
            for one, other in zip(given[place:], tokens[place : place + count], strict=False)
            if one != other
        ]
        if slips:
            item = replace(item, mended=slips[0])
        items += _spelt_out(item, lexicon)
        place += count
    return items


def _with_side(
    tokens: list[Token], place: int, within: tuple[int, Classes, int], lexicon: Lexicon
) -> list[Item]:
    """The side before the phrase that it stands in."""
    count, classes, at = within
    side = _item(tokens, at, lexicon)[1]
    last = tokens[place + count - 1]
    phrase = Item(_joined(tokens, place, count), tokens[place].start, last.end, classes)
    return [side, *_spelt_out(phrase, lexicon)]


def _spelt_out(item: Item, lexicon: Lexicon) -> list[Item]:
    """ "LUQ" as the words that it stands for, each where the short form stands; anything else as it is."""
    meant = item.classes.get("says")
    if meant is None:
        return [item]
    tokens = [Token(token.text, item.start, item.end, token.sort) for token in tokens_of(meant)]
    items = []
    place = 0
    while place < len(tokens):
        count, one = _item(tokens, place, lexicon)
        classes = {key: value for key, value in one.classes.items() if key != "says"}
        items.append(replace(one, classes=classes | {"spelt": item.text}))
        place += count
    return items


def _item(tokens: list[Token], place: int, lexicon: Lexicon) -> tuple[int, Item]:
    token = tokens[place]
    if token.sort == "mark":
        return 1, Item(token.text, token.start, token.end, {"mark": token.text})
    hour = clock_at(tokens, place)
    if hour is not None:
        last = tokens[place + hour[0] - 1]
        return hour[0], Item(_joined(tokens, place, hour[0]), token.start, last.end, {"clock": str(hour[1])})
    said = level_at(tokens, place)
    if said is not None:
        count, levels = said
        last = tokens[place + count - 1]
        return count, Item(_joined(tokens, place, count), token.start, last.end, {"level": ""}, levels)
    found = lexicon.longest(tokens, place)
    if found is not None:
        count, classes = found
        last = tokens[place + count - 1]
        return count, Item(_joined(tokens, place, count), token.start, last.end, classes)
    return 1, Item(token.text, token.start, token.end, {})


def _mended(token: Token, lexicon: Lexicon) -> Token:
    meant = lexicon.speller.meant(token.text) if token.sort == "word" else None
    return token if meant is None else Token(meant, token.start, token.end, "word")


def _joined(tokens: list[Token], place: int, count: int) -> str:
    return " ".join(token.text for token in tokens[place : place + count])
