"""Two people at one beat: what both wrote in one text, or that their changes touch."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import pairwise
from typing import Final

__all__ = ["merge_words"]

_WORD_WITH_BLANKS: Final = re.compile(r"\S+\s*|^\s+")
_LINE: Final = re.compile(r"[^\n]*\n+|[^\n]+")
_MOST_TOKENS: Final = 4000


def merge_words(base: str, mine: str, theirs: str) -> str | None:
    """Both changes in one text, or None where they touch: three-way merge by paragraphs, then by words.

    Every word that either side wrote is in the result; a word goes only if one side took it out and
    the other left it as it was. Changes that touch each other are a conflict, even if they could be
    laid side by side: what was meant together is not mixed.
    """
    if mine == theirs or theirs == base:
        return mine
    if mine == base:
        return theirs
    merged = _merged(base, mine, theirs, _LINE.findall)
    if merged is None and max(len(base), len(mine), len(theirs)) <= 8 * _MOST_TOKENS:
        merged = _merged(base, mine, theirs, _WORD_WITH_BLANKS.findall)
    return merged


@dataclass(frozen=True, slots=True)
class _Change:
    """Tokens [start, end) of the base become ``text``."""

    start: int
    end: int
    text: tuple[str, ...]


def _changes(base: Sequence[str], other: Sequence[str]) -> list[_Change]:
    matcher = SequenceMatcher(None, base, other, autojunk=False)
    return [
        _Change(start, end, tuple(other[left:right]))
        for tag, start, end, left, right in matcher.get_opcodes()
        if tag != "equal"
    ]


def _merged(base: str, mine: str, theirs: str, tokens: Callable[[str], list[str]]) -> str | None:
    cut = tokens(base)
    ours, others = tokens(mine), tokens(theirs)
    if max(len(cut), len(ours), len(others)) > _MOST_TOKENS:
        return None
    changes = sorted({*_changes(cut, ours), *_changes(cut, others)}, key=lambda one: (one.start, one.end))
    if any(after.start <= before.end for before, after in pairwise(changes)):
        return None
    parts: list[str] = []
    at = 0
    for change in changes:
        parts += [*cut[at : change.start], *change.text]
        at = change.end
    parts += cut[at:]
    return _with_blanks_between(parts)


def _with_blanks_between(parts: Sequence[str]) -> str:
    """The parts one after another; a last word of one text gets a blank before what now follows it."""
    text = ""
    for part in parts:
        if text and not text[-1].isspace() and part and not part[0].isspace():
            text += " "
        text += part
    return text
