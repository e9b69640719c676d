"""Text to tokens that remember where they stood.

Hyphens separate words, so that "side-to-side" and "side to side" are read alike. Offsets count characters of the
text as given. One regular expression, one pass: linear in the length of the text.
"""

from __future__ import annotations

import re
from typing import NamedTuple

TOKEN = re.compile(
    r"(?P<level>[CLTScts]\d{1,2}(?![\w]))|(?P<number>\d+(?:\.\d+)?)|(?P<word>[^\W\d_]+(?:['’ʼ][^\W\d_]+)*['’]?)|(?P<mark>[^\s\w]|_)"
)
END_OF_SENTENCE = frozenset(".!?…\n;")
APOSTROPHES = str.maketrans("’ʼ", "''")


class Token(NamedTuple):
    """One word, number or mark: ``text`` is folded for comparison, ``start``/``end`` are character offsets."""

    text: str
    start: int
    end: int
    sort: str


def tokens_of(text: str) -> list[Token]:
    """Every token of ``text`` in order, hyphens left out; a blank line or a list mark ends a sentence as a full stop does."""
    found: list[Token] = []
    add = found.append
    before = 0
    for match in TOKEN.finditer(text):
        sort = match.lastgroup or "mark"
        start, end = match.span()
        if found and "\n" in text[before:start] and _breaks(text[before:start]):
            add(Token("\n", before, start, "mark"))
        before = end
        word = match.group()
        if sort == "mark":
            if word in "-‐‑" and _glued(text, start, end):
                continue
            add(Token(word, start, end, "mark"))
        elif sort == "word":
            folded = word.translate(APOSTROPHES).casefold()
            add(Token(folded, start, end, "word"))
        else:
            add(Token(word.casefold(), start, end, sort))
    return found


def _breaks(gap: str) -> bool:
    return gap.count("\n") > 1


def _glued(text: str, start: int, end: int) -> bool:
    return start > 0 and end < len(text) and text[start - 1].isalnum() and text[end].isalnum()
