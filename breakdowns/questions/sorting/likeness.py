"""Finding the questions most like one another among many: an inverted index of terms and one matrix of meanings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from breakdowns.questions.sorting.prints import (
    MEANING_SHARE,
    Fingerprint,
    likeness_of,
    sense_vector,
    with_sense,
)
from breakdowns.questions.sorting.sentences import LENGTH
from breakdowns.questions.sorting.vectors import DIMENSIONS

__all__ = ["LikenessIndex", "group_questions", "most_similar"]

SAME_QUESTION = 0.5


class LikenessIndex:
    """Fingerprints put into columns once, so that each question is compared with thousands in one sweep."""

    def __init__(self, prints: Sequence[Fingerprint]) -> None:
        self.count = len(prints)
        terms, self._meanings = _columns(prints)
        self._has_sense = np.array([len(one.sense) == LENGTH for one in prints], dtype=bool)
        self._senses = np.array([sense_vector(one) for one in prints], dtype=np.float32).reshape(-1, LENGTH)
        places: dict[str, list[int]] = defaultdict(list)
        weights: dict[str, list[float]] = defaultdict(list)
        for at, said in enumerate(terms):
            for term, weight in said:
                places[term].append(at)
                weights[term].append(weight)
        self._postings = {
            term: (np.array(rows, dtype=np.int64), np.array(weights[term])) for term, rows in places.items()
        }

    def likeness(self, one: Fingerprint, among: int | None = None) -> NDArray[np.float64]:
        """How alike ``one`` is to each of the first ``among``, 0 to 1."""
        among = self.count if among is None else among
        terms, meaning = _columns([one])
        scores = self._meanings[:among] @ meaning[0]
        for term, weight in terms[0]:
            if term in self._postings:
                rows, weights = self._postings[term]
                end = int(np.searchsorted(rows, among))
                scores[rows[:end]] += weight * weights[:end]
        said = likeness_of(scores)
        if len(one.sense) != LENGTH:
            return said
        cosines = (self._senses[:among] @ sense_vector(one)).astype(np.float64)
        return np.where(self._has_sense[:among], with_sense(said, cosines), said)

    def nearest(self, one: Fingerprint, limit: int, among: int | None = None) -> list[tuple[int, float]]:
        """(place, likeness) of the ``limit`` most alike of the first ``among``, best first, the earlier first."""
        scores = np.round(self.likeness(one, among), 4)
        best = np.flatnonzero(scores > 0)
        if len(best) > limit:
            edge = np.partition(scores[best], -limit)[-limit]
            best = best[scores[best] >= edge]
        chosen = sorted(best.tolist(), key=lambda at: (-scores[at], at))[:limit]
        return [(at, float(scores[at])) for at in chosen]


def _columns(prints: Sequence[Fingerprint]) -> tuple[list[list[tuple[str, float]]], NDArray[np.float64]]:
    """Terms and meanings scaled so that the sum of both products is the cosine of the whole."""
    meanings = np.zeros((len(prints), DIMENSIONS))
    for at, one in enumerate(prints):
        if len(one.meaning) == DIMENSIONS:
            meanings[at] = one.meaning
    lengths = np.linalg.norm(meanings, axis=1)
    has_terms = np.array([bool(one.terms) for one in prints], dtype=bool)
    shares = np.where(lengths > 0, np.where(has_terms, MEANING_SHARE, 1.0), 0.0)
    meanings *= (np.sqrt(shares) / np.maximum(lengths, 1e-12))[:, None]
    terms = [
        [(term, weight * sqrt(1 - share)) for term, weight in one.terms]
        for one, share in zip(prints, shares, strict=True)
    ]
    return terms, meanings


def most_similar(
    one: Fingerprint, candidates: Sequence[Fingerprint], limit: int = 5
) -> list[tuple[int, float]]:
    """(place among the candidates, likeness) of the most alike, best first; nothing that is not alike at all."""
    return LikenessIndex(candidates).nearest(one, limit) if candidates else []


def group_questions(prints: Sequence[Fingerprint], least: float = SAME_QUESTION) -> list[tuple[int, ...]]:
    """Places of the questions that ask the same, as groups; every question is in exactly one.

    Each pair within a group is at least ``least`` alike (complete linkage), the most alike joined first, so that no
    chain of small steps brings strangers together.
    """
    index = LikenessIndex(prints)
    alike: dict[tuple[int, int], float] = {}
    for at, one in enumerate(prints):
        if not one.is_empty:
            scores = index.likeness(one, at)
            alike |= {(int(near), at): float(scores[near]) for near in np.flatnonzero(scores >= least)}
    group_of = list(range(len(prints)))
    members = {at: [at] for at in range(len(prints))}
    for a, b in sorted(alike, key=lambda pair: (-alike[pair], pair)):
        mine, theirs = sorted((group_of[a], group_of[b]))
        if mine == theirs:
            continue
        pairs = ((min(i, j), max(i, j)) for i in members[mine] for j in members[theirs])
        if all(pair in alike for pair in pairs):
            for at in members[theirs]:
                group_of[at] = mine
            members[mine] += members.pop(theirs)
    return [tuple(sorted(places)) for _, places in sorted(members.items())]
