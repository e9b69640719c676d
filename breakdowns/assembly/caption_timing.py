"""When each word of a beat is spoken: spread over a known time, or taken from a recording.

All times are exact seconds from the start of the beat's words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from fractions import Fraction
from itertools import pairwise

from breakdowns.assembly.caption_norms import CaptionError
from breakdowns.assembly.caption_words import CaptionWord

__all__ = ["HeardWord", "WordTime", "nominal_seconds", "scaled", "spread", "timed_as_heard"]


@dataclass(frozen=True)
class HeardWord:
    """A word found in a take, [start, end) in exact seconds from the take's start."""

    text: str
    start: Fraction
    end: Fraction


@dataclass(frozen=True)
class WordTime:
    """[start, end) of a word, exact seconds."""

    start: Fraction
    end: Fraction


def nominal_seconds(words: Sequence[CaptionWord]) -> Fraction:
    """How long the words take in the default voice, with all pauses."""
    return sum((word.wait + word.seconds + word.pause for word in words), Fraction(0))


def spread(words: Sequence[CaptionWord], start: Fraction, end: Fraction) -> list[WordTime]:
    """The words spread over [start, end): each as long as its syllables, pauses at punctuation and
    where directions ask for them. The proportions of the nominal times are kept.
    """
    whole = nominal_seconds(words)
    scale = (end - start) / whole if whole else Fraction(0)
    times, at = [], start
    for word in words:
        begins = at + word.wait * scale
        times.append(WordTime(begins, begins + word.seconds * scale))
        at = times[-1].end + word.pause * scale
    return times


def scaled(times: Sequence[WordTime], factor: Fraction) -> list[WordTime]:
    """All times drawn towards the start by a factor."""
    return [WordTime(time.start * factor, time.end * factor) for time in times]


def timed_as_heard(
    words: Sequence[CaptionWord], heard: Sequence[HeardWord], seconds: Fraction
) -> list[WordTime] | None:
    """The words at the times at which they were heard; None where too little of them was recognised.

    Words that were heard otherwise (or not at all) are spread between their neighbours. Less than
    half of the words found means that the times belong to other words. Raises CaptionError for times
    that run backwards.
    """
    _check(heard)
    anchors = _anchors(words, heard)
    if 2 * len(anchors) < len(words):
        return None
    latest = max(seconds, heard[-1].end)
    times: dict[int, WordTime] = dict(anchors)
    bounds = [-1, *sorted(anchors), len(words)]
    for before, after in pairwise(bounds):
        gap = words[before + 1 : after]
        start = anchors[before].end if before >= 0 else Fraction(0)
        end = anchors[after].start if after < len(words) else latest
        if after == len(words):
            end = min(end, start + nominal_seconds(gap)) if gap else end
        for at, time in enumerate(spread(gap, start, max(start, end)), start=before + 1):
            times[at] = time
    return [times[at] for at in range(len(words))]


def _check(heard: Sequence[HeardWord]) -> None:
    latest = Fraction(0)
    for word in heard:
        if word.start < latest or word.end < word.start:
            raise CaptionError(
                f"The heard word {word.text[:40]!r} has times that run backwards: give words in order, "
                "none starting before the one ahead of it ends."
            )
        latest = word.end


def _anchors(words: Sequence[CaptionWord], heard: Sequence[HeardWord]) -> dict[int, WordTime]:
    written = [_bare(word.text) for word in words]
    matcher = SequenceMatcher(None, written, [_bare(word.text) for word in heard], autojunk=False)
    return {
        block.a + step: WordTime(heard[block.b + step].start, heard[block.b + step].end)
        for block in matcher.get_matching_blocks()
        for step in range(block.size)
        if written[block.a + step]
    }


def _bare(text: str) -> str:
    return "".join(char for char in text.casefold() if char.isalnum())
