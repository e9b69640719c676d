"""Readability figures of a text: Flesch, Flesch–Kincaid, SMOG.

Formulas as published (US veterans' research page for the first two; the SMOG articles for the
third). They are made for printed English prose; a spoken script has shorter sentences, and clinical
terms push every figure up. So a second set can be had with a list of unavoidable terms taken out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

from breakdowns.scripts.spoken_text import measure, read_aloud

__all__ = [
    "Readability",
    "flesch_kincaid_grade",
    "flesch_reading_ease",
    "readability",
    "smog_exact",
    "smog_quick",
]


def flesch_reading_ease(words: int, sentences: int, syllables: int) -> float:
    """206.835 − 1.015·words/sentences − 84.6·syllables/words; 60 to 70 is standard."""
    return 206.835 - 1.015 * words / sentences - 84.6 * syllables / words


def flesch_kincaid_grade(words: int, sentences: int, syllables: int) -> float:
    """0.39·words/sentences + 11.8·syllables/words − 15.59: years of US schooling."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def smog_exact(polysyllables: int, sentences: int) -> float:
    """1.0430·√(polysyllables·30/sentences) + 3.1291; a polysyllable has three syllables or more."""
    return 1.0430 * sqrt(polysyllables * 30 / sentences) + 3.1291


def smog_quick(polysyllables_in_30: float) -> float:
    """√(polysyllables in 30 sentences) + 3."""
    return sqrt(polysyllables_in_30) + 3


@dataclass(frozen=True, slots=True)
class Readability:
    """Counts and figures; SMOG needs some 30 sentences to mean anything (standard deviation 1.5 grades)."""

    words: int
    sentences: int
    syllables: int
    polysyllables: int
    reading_ease: float
    grade: float
    smog: float


def readability(text: str, without: Iterable[str] = ()) -> Readability | None:
    """The figures of what is spoken of ``text``; None when there are no words.

    ``without``: terms that can't be avoided; each of their words counts as one word of one syllable.
    """
    terms = sorted(filter(None, without), key=len, reverse=True)
    pattern = re.compile(r"\b(?:" + "|".join(map(re.escape, terms)) + r")\b", re.I) if terms else None
    measures = [
        measure(pattern.sub(_plain_words, sentence.spoken) if pattern else sentence.spoken)
        for sentence in read_aloud(text).sentences
    ]
    words, sentences = sum(one.words for one in measures), len(measures)
    if not words:
        return None
    syllables, poly = sum(one.syllables for one in measures), sum(one.polysyllables for one in measures)
    return Readability(
        words,
        sentences,
        syllables,
        poly,
        flesch_reading_ease(words, sentences, syllables),
        flesch_kincaid_grade(words, sentences, syllables),
        smog_exact(poly, sentences),
    )


def _plain_words(match: re.Match[str]) -> str:
    return " ".join("it" for _ in match[0].split())
