"""Word vectors: how close two everyday words are in meaning where the lexicon does not know them.

``data/word_vectors.npz`` is a cut of the GloVe vectors of Pennington, Socher and Manning (“GloVe: Global Vectors for
Word Representation”, EMNLP 2014; trained on Wikipedia 2014 and Gigaword 5, 50 dimensions), which their makers put into
the public domain under PDDL 1.0 (``data/word_vectors_licence.txt``). ``make_word_vectors.py`` makes it.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import log

import numpy as np
from numpy.typing import NDArray

__all__ = ["DIMENSIONS", "WordVectors", "word_vectors"]

DIMENSIONS = 50
_EVERYDAY = 60  # words more common than the sixtieth of the language tell nothing


@dataclass(frozen=True, eq=False)
class WordVectors:
    """Unit vectors of the words of a language, the commonest first.

    ``place`` gives a word's row; ``rank`` its place by frequency in the whole language, from 0.
    """

    place: dict[str, int]
    rank: NDArray[np.int32]
    rows: NDArray[np.float32]

    def rarity(self, word: str) -> float:
        """How much a word tells, from its rank in the language (Zipf: frequency falls with rank); 0 … 1."""
        at = self.place.get(word)
        if at is None:
            return 1.0
        return min(1.0, max(0.0, log((1 + self.rank[at]) / _EVERYDAY) / log(20_000 / _EVERYDAY)))

    def matrix(self, words: Iterable[str]) -> NDArray[np.float32]:
        """The vectors of those words that have one; shape (n, 50)."""
        return self.rows[[self.place[word] for word in words if word in self.place]]


@cache
def word_vectors() -> WordVectors:
    """The packaged vectors, read once for each process."""
    raw = files("breakdowns.questions.sorting").joinpath("data", "word_vectors.npz").read_bytes()
    with np.load(io.BytesIO(raw), allow_pickle=False) as kept:
        words = bytes(kept["words"]).decode("utf-8").split("\n")
        rows = kept["rows"].astype(np.float32)
        rank = kept["rank"]
    rows /= np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-6)
    return WordVectors({word: at for at, word in enumerate(words)}, rank, rows)
