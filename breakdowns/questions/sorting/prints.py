"""Fingerprints: what a question says, short enough to be kept and compared by the thousand.

A fingerprint is one vector of length 1 in two parts: terms (concepts, and stems of words that no concept covers), each
weighted by how rare it is (inverse document frequency, Spärck Jones, 1972) and by its class in ``data/concept_kinds.csv``;
and the mean meaning of its words (word vectors), which brings together words that no lexicon does. Likeness is their
cosine, stretched over [0, 1]. Where the sentence encoder is installed, the sense of the whole question is kept too, and
counts for half of the likeness of two that both have one.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from anatomy.lookup.words import EMPTY_WORDS
from breakdowns.questions.sorting.lexicon import with_parents
from breakdowns.questions.sorting.reading import Reading, read
from breakdowns.questions.sorting.sentences import LENGTH, sense_of
from breakdowns.questions.sorting.vectors import DIMENSIONS, word_vectors
from breakdowns.questions.sorting.words import table

__all__ = ["Fingerprint", "fingerprint", "likeness_of", "sense_vector", "similarity", "with_sense"]

VERSION = 2
MEANING_SHARE = 0.2
"""Of the whole; more lets words of one field pass for one question (``python -m tests.questions.sorting.measuring``)."""
SENSE_SHARE = 0.5
"""Of the likeness of two questions whose sense is kept; from 0.3 to 0.7 the open tables hardly differ."""
_BEND = 0.76
"""Two signs agree less often than one: bent so that as few strangers are alike by half as without senses."""
_MOST_TERMS = 60
_PARENT = 0.5
_WORD = "w:"
_STEP = 127
_ROUNDED = 4


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """``terms`` with their weights and ``meaning`` (``DIMENSIONS`` whole numbers, or none); both parts scaled alone.

    ``sense``: ``LENGTH`` signed bytes of the sentence's vector, or none where no encoder was installed. Read out of the same text they are always the same. ``as_json`` and ``from_json`` are each other's reverse.
    """

    terms: tuple[tuple[str, float], ...] = ()
    meaning: tuple[int, ...] = ()
    sense: bytes = b""

    def as_json(self) -> dict[str, Any]:
        """A document of plain JSON: ``{"version", "terms": {term: weight}, "meaning": base64, "sense": base64}``."""
        meaning = base64.b64encode(bytes(one & 0xFF for one in self.meaning)).decode("ascii")
        kept = {"version": VERSION, "terms": dict(self.terms), "meaning": meaning}
        return kept | {"sense": base64.b64encode(self.sense).decode("ascii")} if self.sense else kept

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Fingerprint:
        """The fingerprint that was kept. What another version kept, or nothing, is an empty one, like nothing else."""
        if not kept or kept.get("version") != VERSION:
            return cls()
        raw = np.frombuffer(base64.b64decode(kept.get("meaning", "")), dtype=np.int8)
        terms = {str(term): float(weight) for term, weight in kept.get("terms", {}).items()}
        return cls(tuple(sorted(terms.items())), tuple(raw.tolist()), base64.b64decode(kept.get("sense", "")))

    @property
    def is_empty(self) -> bool:
        """Whether the text said nothing that can be compared."""
        return not self.terms and not any(self.meaning)


@dataclass(frozen=True, slots=True)
class _Kind:
    name: str
    likeness: float


@cache
def _kinds() -> dict[str, float]:
    return {row["kind"]: float(row["likeness"]) for row in table("concept_kinds.csv")}


@cache
def _rarities() -> dict[str, float]:
    """How much a concept tells: the logarithm of how few questions name it."""
    return {row["term"]: float(row["rarity"]) for row in table("term_rarity.csv")}


@cache
def _meant() -> dict[str, tuple[str, ...]]:
    """What a concept says of others: runner's knee is about the knee, about its cap, and about running."""
    return {row["concept"]: tuple(row["means"].split("; ")) for row in table("concept_means.csv")}


_RAREST = 6.0
_WORD_WEIGHT = 0.8


@lru_cache(maxsize=1024)
def fingerprint(text: str) -> Fingerprint:
    """The fingerprint of a text of any length; of one without words, an empty one."""
    reading = read(text)
    terms = _terms(reading)
    return Fingerprint(tuple(sorted(terms.items())), _meaning(reading), _sense(text))


def _terms(reading: Reading) -> dict[str, float]:
    said: dict[str, float] = {}
    covered: set[int] = set()
    for found in reading.found:
        if found.denied:
            continue
        kind = _kinds().get(found.kind, 0.0)
        for depth, key in enumerate((*with_parents(found.key), *_meant().get(found.key, ()))):
            weight = kind * _rarities().get(key, _RAREST) * (1.0 if depth == 0 else _PARENT)
            said[key] = max(weight, said.get(key, 0.0))
        if kind:
            covered.update(range(found.first, found.last + 1))
    full = [word for word in reading.words if not word.light]
    for at, word in enumerate(full):
        if word.text in EMPTY_WORDS:
            continue
        weight = _WORD_WEIGHT * _RAREST * word_vectors().rarity(word.text) * (0.5 if at in covered else 1.0)
        said[_WORD + word.stem] = max(weight, said.get(_WORD + word.stem, 0.0))
    kept = sorted(((weight, term) for term, weight in said.items() if weight > 0), reverse=True)[:_MOST_TERMS]
    length = sqrt(sum(weight**2 for weight, _ in kept))
    return {
        term: round(weight / length, _ROUNDED) for weight, term in kept if round(weight / length, _ROUNDED)
    }


def _meaning(reading: Reading) -> tuple[int, ...]:
    vectors = word_vectors()
    words = [word.text for word in reading.words if word.text in vectors.place]
    weights = np.array([vectors.rarity(word) for word in words])
    if not words or not weights.any():
        return ()
    mean = weights @ vectors.matrix(words)
    largest = float(np.abs(mean).max())
    return tuple(int(one) for one in np.rint(mean * (_STEP / largest))) if largest > 0 else ()


def _sense(text: str) -> bytes:
    found = sense_of(text)
    if found is None:
        return b""
    return np.rint(found * (_STEP / float(np.abs(found).max()))).astype(np.int8).tobytes()


def sense_vector(one: Fingerprint) -> NDArray[np.float32]:
    """The sense as a vector of length 1; zeros where none is kept."""
    if len(one.sense) != LENGTH:
        return np.zeros(LENGTH, dtype=np.float32)
    found = np.frombuffer(one.sense, dtype=np.int8).astype(np.float32)
    return found / np.float32(max(float(np.linalg.norm(found)), 1e-9))


def with_sense(said: float | NDArray[np.float64], cosine: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Likeness from that of the words and the cosine of the senses, of which a fifth is shared by all of one trade."""
    low = 0.2
    meant = np.clip((np.asarray(cosine, dtype=np.float64) - low) / (1 - low), 0.0, 1.0)
    return ((1 - SENSE_SHARE) * np.asarray(said) + SENSE_SHARE * meant) ** _BEND


def likeness_of(cosine: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Cosines stretched over [0, 1]: 0 for what questions of one trade share anyway, 1 for the same words."""
    low, bend = 0.15, 1.0
    return np.clip((np.asarray(cosine) - low) / (1 - low), 0.0, 1.0) ** bend


def similarity(a: Fingerprint, b: Fingerprint) -> float:
    """How alike two questions are, 0 to 1; the same both ways round; 1 for the same fingerprint."""
    if a == b:
        return 1.0
    said = float(likeness_of(_cosine(a, b)))
    if a.sense and b.sense:
        said = float(with_sense(said, float(sense_vector(a) @ sense_vector(b))))
    return round(said, _ROUNDED)


def _cosine(a: Fingerprint, b: Fingerprint) -> float:
    if a.is_empty or b.is_empty:
        return 0.0
    (one, one_share), (other, other_share) = _scaled(a), _scaled(b)
    mine, theirs = dict(a.terms), dict(b.terms)
    shared = sum(sorted(mine[term] * theirs[term] for term in mine.keys() & theirs.keys()))
    meant = float(one @ other) if len(one) and len(other) else 0.0
    return sqrt((1 - one_share) * (1 - other_share)) * shared + sqrt(one_share * other_share) * meant


@lru_cache(maxsize=4096)
def _scaled(one: Fingerprint) -> tuple[NDArray[np.float64], float]:
    """The meaning as a vector of length 1, and its share of the whole: ``MEANING_SHARE`` where both parts are there."""
    meaning = np.array(one.meaning, dtype=np.float64)
    length = float(np.linalg.norm(meaning)) if len(meaning) == DIMENSIONS else 0.0
    if not length:
        return np.zeros(0), 0.0
    return meaning / length, MEANING_SHARE if one.terms else 1.0
