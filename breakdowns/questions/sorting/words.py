"""The words of a question as they are compared: folded, shorthand written out, with where they stand in the text."""

from __future__ import annotations

import csv
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from anatomy.lookup.words import stem

__all__ = ["LONGEST_READ", "Word", "folded", "phrase_stems", "split_words", "table"]

# Nobody's question needs more, and a megabyte pasted by mistake must not hold up the desk.
LONGEST_READ = 20_000
_PIECE = re.compile(r"[^\W_]+(?:['’][^\W\d_]+)*|[.!?;:,()\n…]+")
_BREAKS = frozenset(".!?;\n…")
_ENDINGS = {
    "n't": ("not",),
    "'m": ("am",),
    "'re": ("are",),
    "'ve": ("have",),
    "'ll": ("will",),
    "'d": ("would",),
}
_IS_BEHIND = frozenset(
    {"what", "where", "who", "how", "it", "that", "there", "he", "she", "when", "why", "here"}
)
_IRREGULAR = {"ca": "can", "wo": "will", "sha": "shall"}
# Words that stand in a phrase without changing it; “your” is not among them: it mostly means the clinician.
_LIGHT = frozenset(
    {"a", "an", "the", "my", "his", "her", "our", "their", "its", "very", "really", "quite", "just"}
)


@dataclass(frozen=True, slots=True)
class Word:
    """A word with its place in the text, half-open; ``clause`` counts the punctuation before it."""

    text: str
    stem: str
    start: int
    end: int
    clause: int
    light: bool


def table(name: str) -> list[dict[str, str]]:
    """The rows of a data file of the sorting."""
    text = files("breakdowns.questions.sorting").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), strict=True))


def folded(text: str) -> str:
    """Small letters without accents and with plain apostrophes; never of another length than the text given."""
    return "".join(_plain(sign) for sign in text)


@cache
def _plain(sign: str) -> str:
    if sign in "’‘`´":
        return "'"
    base = unicodedata.normalize("NFKD", sign.casefold())
    kept = [one for one in base if not unicodedata.combining(one)]
    return kept[0] if kept else sign


def split_words(text: str) -> list[Word]:
    """The words of a text, at most its first ``LONGEST_READ`` signs."""
    words: list[Word] = []
    clause = 0
    for piece in _PIECE.finditer(folded(text[:LONGEST_READ])):
        said = piece.group()
        if not said[0].isalnum():
            clause += 1 if _BREAKS & set(said) or "," in said else 0
            continue
        words += [
            Word(one, stem(one), piece.start(), piece.end(), clause, one in _LIGHT)
            for one in _written_out(said)
        ]
    return words


@cache
def _shorthand() -> dict[str, tuple[str, ...]]:
    return {row["written"]: tuple(row["means"].split()) for row in table("shorthand.csv")}


def _written_out(said: str) -> tuple[str, ...]:
    if said in _shorthand():
        return _shorthand()[said]
    for ending, means in _ENDINGS.items():
        if said.endswith(ending) and len(said) > len(ending):
            root = said[: -len(ending)]
            return (_IRREGULAR.get(root, root), *means)
    if "'" in said:
        root, _, rest = said.partition("'")
        return (root, "is") if rest == "s" and root in _IS_BEHIND else (root,)
    return (said,)


def phrase_stems(phrase: str) -> tuple[str, ...]:
    """A phrase of the lexicon as the stems that have to follow each other in a text, light words left out."""
    words = split_words(phrase)
    return tuple(word.stem for word in words if not word.light) or tuple(word.stem for word in words)
