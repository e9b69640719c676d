"""The words that tell of an angle, an order or a speed, out of the tables ``measured_*.csv``. Imports no Django."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from anatomy.claims.tokens import Token, tokens_of
from breakdowns.scripts.tables import phrases, rows

__all__ = ["Phrase", "StateRow", "longest_phrase", "reach", "states", "tolerance", "words_of"]

Kinds = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class StateRow:
    """A word for a posture: what it allows on ``scale`` from ``low`` to ``high`` degrees, and what to say instead."""

    group: str
    scale: str
    low: float
    high: float
    instead: str


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words in a row and what they may be: kind → value."""

    words: tuple[str, ...]
    kinds: Kinds


@cache
def states() -> dict[tuple[str, ...], tuple[StateRow, ...]]:
    """Every posture by its words; one phrase may tell something of several groups of parts."""
    found: dict[tuple[str, ...], list[StateRow]] = defaultdict(list)
    for row in rows("measured_states"):
        one = StateRow(row["group"], row["scale"], float(row["low"]), float(row["high"]), row["instead"])
        for text in row["words"].split("; "):
            found[_words(text)].append(one)
    return {words: tuple(several) for words, several in found.items()}


@cache
def words_of(kind: str) -> frozenset[str]:
    """The single words and phrases of one kind, as they stand in the table."""
    return frozenset(
        text for row in rows("measured_words") if row["class"] == kind for text in row["words"].split("; ")
    )


def _words(text: str) -> tuple[str, ...]:
    return tuple(token.text for token in tokens_of(text))


@cache
def _by_first() -> dict[str, tuple[Phrase, ...]]:
    adding: dict[tuple[str, ...], dict[str, str]] = defaultdict(dict)
    for row in rows("measured_words"):
        for text in row["words"].split("; "):
            adding[_words(text)].setdefault(row["class"], row["value"])
    for words in states():
        adding[words]["STATE"] = " ".join(words)
    for text in phrases("not_a_side"):
        adding[_words(text)].setdefault("FILL", "")
    for side in ("left", "right"):
        adding[(side,)]["SIDE"] = side
    found: dict[str, list[Phrase]] = defaultdict(list)
    for words, kinds in adding.items():
        if words:
            found[words[0]].append(Phrase(words, kinds))
    return {first: tuple(sorted(all_, key=lambda one: -len(one.words))) for first, all_ in found.items()}


def longest_phrase(tokens: list[Token], place: int, limit: int) -> Phrase | None:
    """The longest phrase that begins at a token; "elbow's" is read as "elbow"."""
    for phrase in _by_first().get(_bare(tokens[place].text), ()):
        size = len(phrase.words)
        if place + size <= limit and all(
            _bare(tokens[place + k].text) == phrase.words[k] for k in range(1, size)
        ):
            return phrase
    return None


def _bare(word: str) -> str:
    return word[:-2] if word.endswith("'s") and len(word) > 3 else word.rstrip("'") or word


@cache
def _tolerances() -> dict[str, tuple[tuple[float, float], ...]]:
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in rows("measured_tolerances"):
        found[row["name"]].append((float(row["multiple"] or 0), float(row["value"])))
    return {name: tuple(steps) for name, steps in found.items()}


def tolerance(name: str, value: float = 0.0) -> float:
    """A tolerance; of several steps the first whose multiple ``value`` is. Raises KeyError."""
    steps = _tolerances()[name]
    for multiple, allowed in steps:
        if not multiple or abs(value / multiple - round(value / multiple)) < 1e-9:
            return allowed
    return steps[-1][1]


@cache
def reach() -> float:
    """Standard deviations to either side within which a measure counts."""
    return tolerance("coverage")
