"""Text to tokens that remember where they stood.

Hyphens separate words, so that "side-to-side" and "side to side" are read alike. Offsets count characters of the
text as given. One regular expression, one pass: linear in the length of the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

TOKEN = re.compile(
    r"(?P<line>\n[ \t]*(?:[-*+•>|]|#{1,6}(?= )|\d{1,3}[.)](?= ))[ \t]*)|(?P<address>https?://\S+|www\.\S+|\]\([^)\n]{0,500}\))|"
    r"(?P<level>[CLTScts]\d{1,2}(?![\w]))|(?P<number>\d+(?:\.\d+)?)|(?P<word>[^\W\d_]+(?:['’ʼ][^\W\d_]+)*['’]?)|(?P<mark>[^\s\w]|_)"
)
SORTS = ("mark", *TOKEN.groupindex)
EMPHASIS = frozenset("*_`~#|[]")
"""Marks of Markdown that stand between words without parting them."""
END_OF_SENTENCE = frozenset(".!?…\n;")
APOSTROPHES = str.maketrans("’ʼ", "''")


class Token(NamedTuple):
    """One word, number or mark: ``text`` is folded for comparison, ``start``/``end`` are character offsets."""

    text: str
    start: int
    end: int
    sort: str


def tokens_of(text: str) -> list[Token]:
    """Every token of ``text`` in order, hyphens and Markdown left out; a blank line, a heading and a list item end a sentence."""
    return list(each_token(text))


def each_token(text: str) -> Iterator[Token]:
    """The same one by one, so that a long text is never held as tokens all at once."""
    curly = not text.isascii()
    before = 0
    heading = text.startswith("#")
    for match in TOKEN.finditer(text):
        start, end = match.span()
        sort = SORTS[match.lastindex or 0]
        if sort == "line" or (start > before and before and _breaks(text[before:start], heading)):
            yield Token("\n", before, max(start, before + 1), "mark")
            heading = sort == "line" and "#" in match.group()
        before = end
        if sort in ("line", "address"):
            continue
        word = match.group()
        if sort == "word":
            said = (word.translate(APOSTROPHES) if curly else word).casefold()
            yield Token("towards" if said == "toward" else said, start, end, "word")
        elif sort == "mark":
            if word not in EMPHASIS and (word not in "-‐‑" or not _glued(text, start, end)):
                yield Token(word, start, end, "mark")
        else:
            yield Token(word.casefold(), start, end, sort)


def _breaks(gap: str, heading: bool) -> bool:
    return "\n" in gap and (heading or gap.count("\n") > 1)


def _glued(text: str, start: int, end: int) -> bool:
    return start > 0 and end < len(text) and text[start - 1].isalnum() and text[end].isalnum()
