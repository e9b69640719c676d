"""Tokens grouped into items: a term, a phrase or a word, with every class that it may belong to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from anatomy.claims.inflection import singular_forms
from anatomy.claims.lexicon import WORDS_KEPT, Alone, Classes, Lexicon
from anatomy.claims.numbers_said import STARTERS, number_at
from anatomy.claims.tokens import END_OF_SENTENCE, Token, each_token

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
ADVERB: Classes = {"ADV": "ly"}
LONGEST_SENTENCE = 400
"""Items; what runs on longer is read in pieces, so that no walk in a sentence can grow with the text."""
HELD = 600
"""Tokens that may wait for the end of their sentence."""


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
        held = self.c
        if held:
            # A loop: this is asked so often that a generator would cost a fifth of the whole check.
            for name in classes:
                if name in held:
                    return True
        return False

    def get(self, name: str) -> Any:
        """The value of one class, or None."""
        return self.c.get(name)


def _settle_verbs(items: list[Item]) -> None:
    """ "He traps the ball": a muscle's nickname that is a verb here loses its muscle."""
    for place, item in enumerate(items):
        if item.text not in ("traps", "trap") or not place or place + 1 >= len(items):
            continue
        does = items[place - 1].is_("PERSON", "AND", "ADV", "REL", "SUB", "MODAL", "BUT")
        if does and items[place + 1].is_("DET", "IT"):
            item.c = {name: value for name, value in item.c.items() if name not in ("MUS", "ALT")}


class Sentence:
    """The items of one sentence and which classes occur among them.

    ``apart``: a line of its own begins here (a list item, a heading, a paragraph), so it goes on from nothing.
    """

    __slots__ = ("apart", "classes", "items", "question")

    def __init__(self, items: list[Item], question: bool, apart: bool = False) -> None:
        self.items = items
        self.apart = apart
        _settle_verbs(items)
        self.question = question
        self.classes: set[str] = set().union(*[item.c for item in items])


def sentences_of(text: str, lexicon: Lexicon) -> Iterator[Sentence]:
    """The sentences of a text in order; each token is looked at a bounded number of times, few are held at once."""
    waiting: list[Token] = []
    items: list[Item] = []
    splits, known, never = lexicon.splits, lexicon.words_alone, lexicon.never_torn
    apart = False
    for token in each_token(text):
        if (
            token.text in splits
            and waiting
            and (whole := splits[token.text].get(waiting[-1].text)) is not None
        ):
            waiting[-1] = Token(whole, waiting[-1].start, token.end, "word")
            continue
        if (
            token.sort == "word"
            and waiting
            and waiting[-1].sort == "word"
            and token.text not in known
            and token.text not in never
            and (whole := lexicon.torn(waiting[-1].text, token.text)) is not None
        ):
            waiting[-1] = Token(whole, waiting[-1].start, token.end, "word")
            continue
        ended = token.sort == "mark" and token.text in END_OF_SENTENCE
        if not ended:
            waiting.append(token)
            if len(waiting) < HELD:
                continue
        # Where no end is in sight, the longest phrase must still fit in what waits.
        stop = len(waiting) if ended else len(waiting) - lexicon.longest
        yield from _filled(waiting, stop, items, lexicon)
        if ended and items:
            yield Sentence(items.copy(), token.text == "?", apart)
            items.clear()
        if ended:
            apart = token.text == "\n"
    yield from _filled(waiting, len(waiting), items, lexicon)
    if items:
        yield Sentence(items, False, apart)


def _filled(waiting: list[Token], stop: int, items: list[Item], lexicon: Lexicon) -> Iterator[Sentence]:
    """Moves the tokens before ``stop`` into ``items``; gives a sentence whenever these are too many for one."""
    place, limit = 0, len(waiting)
    kept, add = lexicon.alone, items.append
    while place < stop:
        text, start, end, sort = waiting[place]
        alone = kept.get(text) if sort == "word" else None
        if alone is not None and (
            not alone.seconds or place + 1 >= limit or _stays_alone(alone, waiting[place + 1], lexicon)
        ):
            add(Item(text, start, end, alone.classes))
            place += 1
        else:
            length, item = _item(waiting, place, limit, lexicon)
            add(item)
            place += length
        if len(items) >= LONGEST_SENTENCE:
            yield Sentence(items.copy(), False)
            items.clear()
    del waiting[:place]


def _item(tokens: list[Token], place: int, limit: int, lexicon: Lexicon) -> tuple[int, Item]:
    token = tokens[place]
    room = len(lexicon.alone) < WORDS_KEPT and len(token.text) <= 40
    if token.sort == "word" and room and token.text not in lexicon.alone:
        lexicon.alone[token.text] = _looked_up_alone(token, lexicon)
    if token.sort == "mark":
        return 1, Item(token.text, token.start, token.end, MARKS.get(token.text, {"MARK": token.text}))
    if token.sort == "level":
        return 1, Item(token.text, token.start, token.end, {"LEVEL": token.text.upper()})
    number = number_at(tokens, place, limit) if token.sort == "number" or token.text in STARTERS else None
    match = lexicon.match(tokens, place, limit) if token.sort == "word" else None
    if number is not None and (match is None or match[0] <= number[0]):
        length, value = number
        last = tokens[place + length - 1]
        classes: Classes = {"NUM": value}
        if match is not None and match[0] == length:
            classes = {**match[1], **classes}
        said = " ".join(t.text for t in tokens[place : place + length])
        return length, Item(said, token.start, last.end, classes)
    if token.sort == "word" and (match is None or _slips_after(tokens, place + match[0], limit, lexicon)):
        mended = _mended(tokens, place, limit, lexicon)
        match = mended if match is None or (mended is not None and mended[0] > match[0]) else match
    over = lexicon.overlaid(tokens, place, limit) if token.text in lexicon.over_first else None
    if match is None and over is None:
        adverb = token.sort == "word" and len(token.text) > 4 and token.text.endswith("ly")
        return 1, Item(token.text, token.start, token.end, ADVERB if adverb else NOTHING)
    length, classes = match or (1, NOTHING)
    if over is not None:
        classes = {**over, **classes}
    last = tokens[place + length - 1]
    said = token.text if length == 1 else " ".join(t.text for t in tokens[place : place + length])
    if len(said) > 2 and (said.endswith(("'s", "s'"))):
        classes = {**classes, "POSS": True}
    return length, Item(said, token.start, last.end, classes)


def _stays_alone(alone: Alone, after: Token, lexicon: Lexicon) -> bool:
    """Whether no phrase goes on with the token after a word, nor one that is misspelt."""
    if not alone.seconds.isdisjoint(singular_forms(after.text)):
        return False
    return after.sort != "word" or lexicon.slips.get(after.text, after.text) is None


def _looked_up_alone(token: Token, lexicon: Lexicon) -> Alone | None:
    """What a word means where no phrase goes on with it; None for one that has to be looked at each time."""
    text = token.text
    if text in STARTERS and text != "a":
        return None
    starts = [one for form in singular_forms(text) if (one := lexicon.starts.get(form)) is not None]
    seconds = {second for one in starts for second in one.by_second}
    seconds |= {phrase.words[1] for phrase in lexicon.over_first.get(text, ())}
    seconds |= {"hundred"} if text == "a" else set()
    single = next((one.single for one in starts if one.single is not None), None)
    if single is None:
        if seconds or _meant(token, lexicon) is not None:
            return None
        return Alone(ADVERB if len(text) > 4 and text.endswith("ly") else NOTHING)
    possessive = len(text) > 2 and text.endswith(("'s", "s'"))
    classes = {**single.classes, "POSS": True} if possessive else single.classes
    return Alone(classes, frozenset(seconds))


def _mended(tokens: list[Token], place: int, limit: int, lexicon: Lexicon) -> tuple[int, Classes] | None:
    """A match after the misspelt words from here on have been put right."""
    window = tokens[place : min(place + 4, limit)]
    mended: list[Token] = []
    changed: list[int] = []
    for at, token in enumerate(window):
        meant = _meant(token, lexicon) if token.sort == "word" else None
        if meant is not None:
            changed.append(at)
            token = token._replace(text=meant)
        mended.append(token)
    if not changed:
        return None
    match = lexicon.match(mended, 0, len(mended))
    return match if match is not None and match[0] > changed[0] else None


def _slips_after(tokens: list[Token], place: int, limit: int, lexicon: Lexicon) -> bool:
    """Whether the next word is a misspelling, so that a longer phrase may be meant."""
    return place < limit and tokens[place].sort == "word" and _meant(tokens[place], lexicon) is not None


def _meant(token: Token, lexicon: Lexicon) -> str | None:
    """The word that a misspelling stands for, remembered for the words of speech that come again and again."""
    kept, text = lexicon.slips, token.text
    if text in kept:
        return kept[text]
    found = _guessed(token, lexicon)
    if len(kept) < WORDS_KEPT and len(text) <= 40:
        kept[text] = found
    return found


def _guessed(token: Token, lexicon: Lexicon) -> str | None:
    for form in singular_forms(token.text):
        if form in lexicon.speller.known:
            return None
    for form in singular_forms(token.text):
        meant = lexicon.speller.meant(form)
        if meant is not None:
            return meant
    return None
