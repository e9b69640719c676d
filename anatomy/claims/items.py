"""Tokens grouped into items: a term, a phrase or a word, with every class that it may belong to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from anatomy.claims.inflection import singular_forms
from anatomy.claims.lexicon import Classes, Lexicon
from anatomy.claims.numbers_said import number_at
from anatomy.claims.tokens import END_OF_SENTENCE, Token, tokens_of

MARKS: dict[str, Classes] = {
    ",": {"COMMA": ","},
    ":": {"COLON": ":"},
    "-": {"DASH": "-"},
    "–": {"DASH": "-"},
    "—": {"DASH": "-"},
    "=": {"COLON": "="},
    "(": {"OPEN": "("},
    ")": {"CLOSE": ")"},
    "[": {"OPEN": "("},
    "]": {"CLOSE": ")"},
    "°": {"DEGREE": "°"},
    "&": {"AND": "&"},
    "/": {"OR": "/"},
    "?": {"QUESTION": "?"},
    '"': {"QUOTE": '"'},
    "“": {"QUOTE": '"'},
    "”": {"QUOTE": '"'},
}
NOTHING: Classes = {}


class Item:
    """What stands from ``start`` to ``end`` in the text, its folded ``text``, and its classes ``c``."""

    __slots__ = ("c", "end", "start", "text")

    def __init__(self, text: str, start: int, end: int, classes: Classes) -> None:
        self.text = text
        self.start = start
        self.end = end
        self.c = classes

    def __repr__(self) -> str:
        return f"{self.text}<{','.join(self.c)}>"

    def is_(self, *classes: str) -> bool:
        """Whether the item belongs to any of these classes."""
        return any(name in self.c for name in classes)

    def get(self, name: str) -> Any:
        """The value of one class, or None."""
        return self.c.get(name)


class Sentence:
    """The items of one sentence and which classes occur among them."""

    __slots__ = ("classes", "items", "question")

    def __init__(self, items: list[Item], question: bool) -> None:
        self.items = items
        self.question = question
        self.classes: set[str] = set()
        for item in items:
            self.classes.update(item.c)


def sentences_of(text: str, lexicon: Lexicon) -> Iterator[Sentence]:
    """The sentences of a text in order; each token is looked at a bounded number of times."""
    tokens = tokens_of(text)
    place, count = 0, len(tokens)
    ahead = _ends(tokens)
    items: list[Item] = []
    while place < count:
        token = tokens[place]
        if token.sort == "mark" and token.text in END_OF_SENTENCE:
            if items:
                yield Sentence(items, token.text == "?")
                items = []
            place += 1
            continue
        length, item = _item(tokens, place, ahead[place], lexicon)
        items.append(item)
        place += length
        if len(items) >= 400:
            yield Sentence(items, False)
            items = []
    if items:
        yield Sentence(items, False)


def _ends(tokens: list[Token]) -> list[int]:
    """For each token where its sentence ends, so that no phrase runs across."""
    ends = [0] * len(tokens)
    end = len(tokens)
    for place in range(len(tokens) - 1, -1, -1):
        if tokens[place].sort == "mark" and tokens[place].text in END_OF_SENTENCE:
            end = place
        ends[place] = end
    return ends


def _item(tokens: list[Token], place: int, limit: int, lexicon: Lexicon) -> tuple[int, Item]:
    token = tokens[place]
    if token.sort == "mark":
        return 1, Item(token.text, token.start, token.end, MARKS.get(token.text, {"MARK": token.text}))
    if token.sort == "level":
        return 1, Item(token.text, token.start, token.end, {"LEVEL": token.text.upper()})
    number = number_at(tokens, place, limit)
    match = lexicon.match(tokens, place, limit) if token.sort == "word" else None
    if number is not None and (match is None or match[0] <= number[0]):
        length, value = number
        last = tokens[place + length - 1]
        classes: Classes = {"NUM": value}
        if match is not None and match[0] == length:
            classes = {**match[1], **classes}
        said = " ".join(t.text for t in tokens[place : place + length])
        return length, Item(said, token.start, last.end, classes)
    if match is None and token.sort == "word":
        match = _mended(tokens, place, limit, lexicon)
    over = lexicon.overlaid(tokens, place, limit) if token.text in lexicon.over_first else None
    if match is None and over is None:
        return 1, Item(token.text, token.start, token.end, NOTHING)
    length, classes = match or (1, NOTHING)
    if over is not None:
        classes = {**over, **classes}
    last = tokens[place + length - 1]
    said = token.text if length == 1 else " ".join(t.text for t in tokens[place : place + length])
    if len(said) > 2 and (said.endswith("'s") or said.endswith("s'")):
        classes = {**classes, "POSS": True}
    return length, Item(said, token.start, last.end, classes)


def _mended(tokens: list[Token], place: int, limit: int, lexicon: Lexicon) -> tuple[int, Classes] | None:
    """A match after the misspelt words from here on have been put right."""
    window = tokens[place : min(place + 4, limit)]
    changed = False
    mended: list[Token] = []
    for token in window:
        meant = _meant(token, lexicon) if token.sort == "word" else None
        if meant is not None:
            changed = True
            token = token._replace(text=meant)
        mended.append(token)
    if not changed or mended[0].text == tokens[place].text:
        return None
    return lexicon.match(mended, 0, len(mended))


def _meant(token: Token, lexicon: Lexicon) -> str | None:
    for form in singular_forms(token.text):
        if form in lexicon.speller.known:
            return None
    for form in singular_forms(token.text):
        meant = lexicon.speller.meant(form)
        if meant is not None:
            return meant
    return None
