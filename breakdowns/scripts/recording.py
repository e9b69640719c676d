"""Recorded words: when each of them was spoken. Imports no Django.

Words are what blanks divide. Starts are exact seconds of the recording, one for each word; a recording
without them is taken to be spoken evenly, letter by letter.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

__all__ = ["places_of", "second_at", "share_before", "starts_between", "word_offsets"]

_WORD: Final = re.compile(r"\S+")


def word_offsets(words: str) -> list[int]:
    """Where each word begins."""
    return [match.start() for match in _WORD.finditer(words)]


def places_of(words: str, chosen: str) -> list[int]:
    """Where each of the ``chosen`` words (divided by commas) begins, each looked for behind the one before.

    Raises ValueError with one sentence for one that is not spoken there.
    """
    found, lower, start = list[int](), words.lower(), 0
    for one in (part.strip() for part in chosen.split(",")):
        if not one:
            continue
        match = re.compile(rf"(?<!\w){re.escape(one.lower())}(?!\w)").search(lower, start)
        if match is None:
            raise ValueError(
                f"“{one}”, at which a mark should come, is not in the words of the beat there: "
                "choose words in the order in which they are spoken."
            )
        found.append(match.start())
        start = match.end()
    return found


def second_at(words: str, starts: Sequence[Fraction], at: int) -> Fraction | None:
    """The second of the recording at which the word at character ``at`` begins; None where that is not known."""
    offsets = word_offsets(words)
    if not starts or len(starts) != len(offsets):
        return None
    return starts[max(0, sum(1 for offset in offsets if offset <= at) - 1)]


def share_before(words: str, starts: Sequence[Fraction], seconds: Fraction, at: int) -> Fraction:
    """How much of a recording of ``seconds`` (> 0) is over before character ``at``, from 0 to 1."""
    if not words[:at].strip():
        return Fraction(0)
    if not words[at:].strip():
        return Fraction(1)
    moment = second_at(words, starts, next(offset for offset in [*word_offsets(words), at] if offset >= at))
    if moment is None:
        return Fraction(len(words[:at].strip()), len(words.strip()))
    return max(Fraction(0), min(Fraction(1), (moment - starts[0]) / seconds))


def starts_between(words: str, starts: Sequence[Fraction], start: int, end: int) -> tuple[Fraction, ...]:
    """The starts of the words that begin in [start, end); empty where they are not known."""
    offsets = word_offsets(words)
    if len(starts) != len(offsets):
        return ()
    return tuple(moment for offset, moment in zip(offsets, starts, strict=True) if start <= offset < end)
