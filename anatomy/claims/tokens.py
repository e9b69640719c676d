"""Text to tokens that remember where they stood.

Hyphens separate words, so that "side-to-side" and "side to side" are read alike. Offsets count characters of the
text as given. One regular expression, one pass: linear in the length of the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

TOKEN = re.compile(
    r"(?P<level>[CLTScts]\d{1,2}(?![\w]))|(?P<number>\d+(?:\.\d+)?)|(?P<word>[^\W\d_]+(?:['’ʼ][^\W\d_]+)*['’]?)|(?P<mark>[^\s\w]|_)"
)
SORTS = ("mark", *TOKEN.groupindex)
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
    return list(each_token(text))


def each_token(text: str) -> Iterator[Token]:
    """The same one by one, so that a long text is never held as tokens all at once."""
    curly = not text.isascii()
    before = 0
    for match in TOKEN.finditer(text):
        start, end = match.span()
        if start - before > 1 and before and _breaks(text[before:start]):
            yield Token("\n", before, start, "mark")
        before = end
        word, sort = match.group(), SORTS[match.lastindex or 0]
        if sort == "word":
            yield Token((word.translate(APOSTROPHES) if curly else word).casefold(), start, end, "word")
        elif sort == "mark":
            if word not in "-‐‑" or not _glued(text, start, end):
                yield Token(word, start, end, "mark")
        else:
            yield Token(word.casefold(), start, end, sort)


def _breaks(gap: str) -> bool:
    return gap.count("\n") > 1


def _glued(text: str, start: int, end: int) -> bool:
    return start > 0 and end < len(text) and text[start - 1].isalnum() and text[end].isalnum()
