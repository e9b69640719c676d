"""Which of the seven topics a question has, and the words that say so.

A linear model (multinomial logistic regression) over what the question names: concepts of the lexicon, their classes,
pairs of a class with what is asked, its words, the mean of its word vectors, and the sense of the whole where the
sentence encoder is installed. The weights are ``data/topic_weights.npz`` (``topic_weights_sense.npz`` with the sense),
made by ``make_weights.py`` from labelled questions; the same text always gets the same topic.
"""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from anatomy.lookup.words import EMPTY_WORDS
from breakdowns.questions.sorting.lexicon import with_parents
from breakdowns.questions.sorting.reading import Reading
from breakdowns.questions.sorting.sentences import sense_of, sentence_encoder
from breakdowns.questions.sorting.vectors import word_vectors
from breakdowns.questions.sorting.words import table

__all__ = ["TOPICS", "Topic", "TopicWeights", "features", "topic_of", "topic_weights"]

TOPICS = (
    "injury advice", "technique", "anatomy", "training load", "equipment", "account/billing", "off-topic",
)  # fmt: skip
_CROSSED = frozenset(
    {"gear", "symptom", "act", "load", "anat", "region", "care", "tech", "condition", "muscle"}
)
# Whose body it is: “my knee clicks, why?” asks for advice, “why do knees click?” about anatomy.
_PERSONS = {
    "me": frozenset({"i", "my", "me", "mine", "myself", "we", "us", "our"}),
    "you": frozenset({"you", "your", "yours"}),
    "other": frozenset({"he", "she", "his", "her", "him", "son", "daughter", "boy", "girl", "lad", "wife", "husband",
                        "partner", "mum", "dad", "mother", "father", "kid", "grandad", "friend", "mate"}),
}  # fmt: skip
_MOST_COUNTED = 3
_SENSE_SCALE = 5.0  # so that under its ridge the sense counts about as much as all words together
_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic, how likely each of ``TOPICS`` is (they sum to 1), and one sentence that says why."""

    name: str
    shares: tuple[float, ...]
    because: str


@dataclass(frozen=True, eq=False)
class TopicWeights:
    """One row of ``rows`` for each feature, one column for each of ``TOPICS``; ``bias`` for a text without any."""

    place: Mapping[str, int]
    rows: NDArray[np.float32]
    bias: NDArray[np.float32]

    def scores(self, said: Mapping[str, float]) -> NDArray[np.float64]:
        """The sum of the weights of what a question says, for each topic."""
        known = [(self.place[name], value) for name, value in said.items() if name in self.place]
        if not known:
            return self.bias.astype(np.float64)
        at, values = zip(*known, strict=True)
        return np.asarray(values) @ self.rows[list(at)].astype(np.float64) + self.bias


@cache
def topic_weights() -> TopicWeights:
    """The packaged weights that fit what is installed, read once for each process."""
    name = "topic_weights_sense.npz" if sentence_encoder() else "topic_weights.npz"
    raw = files("breakdowns.questions.sorting").joinpath("data", name).read_bytes()
    with np.load(io.BytesIO(raw), allow_pickle=False) as kept:
        names = bytes(kept["names"]).decode("utf-8").split("\n")
        return TopicWeights({name: at for at, name in enumerate(names)}, kept["rows"], kept["bias"])


@cache
def kind_names() -> dict[str, str]:
    """What a class of concepts is called before people."""
    return {row["kind"]: row["name"] for row in table("concept_kinds.csv")}


def features(reading: Reading, *, with_sense: bool = True) -> dict[str, float]:
    """What a question says, as the model counts it; its sense only where asked for and where an encoder is."""
    said: dict[str, float] = {}
    counts: dict[str, int] = defaultdict(int)
    asked, kinds = set(), set()
    for found in reading.found:
        if found.denied:
            said["k:denied"] = 1.0
            continue
        counts[found.kind] += 1
        kinds.add(found.kind)
        if found.kind == "ask":
            asked.add(found.key)
        if found.kind not in ("muscle", "group", "joint", "nerve", "structure"):
            said |= {f"c:{key}": 1.0 for key in with_parents(found.key)}
    texts = {word.text for word in reading.words}
    persons = {name for name, words in _PERSONS.items() if texts & words} or {"nobody"}
    said |= {f"p:{person}": 1.0 for person in persons}
    whose = "own" if persons & {"me", "other"} else "nobody"
    said |= {f"p:{whose}+{name}": 1.0 for name in (*asked, *(kinds & _CROSSED))}
    said |= {f"k:{kind}": min(count, _MOST_COUNTED) / _MOST_COUNTED for kind, count in counts.items()}
    said |= {f"x:{kind}+{ask}": 0.7 for kind in kinds & _CROSSED for ask in asked}
    full = [word for word in reading.words if not word.light and word.text not in EMPTY_WORDS]
    said |= {f"w:{word.stem}": 1.5 / sqrt(len(full)) for word in full}
    pairs = zip(reading.words, reading.words[1:], strict=False)
    said |= {f"b:{one.stem} {next_.stem}": 0.7 for one, next_ in pairs if one.clause == next_.clause}
    return said | _meaning(reading) | (_sense(reading.text) if with_sense else {})


def _sense(text: str) -> dict[str, float]:
    found = sense_of(text)
    return (
        {}
        if found is None
        else {f"s:{number}": _SENSE_SCALE * float(value) for number, value in enumerate(found)}
    )


def _meaning(reading: Reading) -> dict[str, float]:
    vectors = word_vectors()
    words = [word.text for word in reading.words if word.text in vectors.place]
    if not words:
        return {}
    weights = np.array([vectors.rarity(word) for word in words]) + 0.02
    mean = weights @ vectors.matrix(words) / weights.sum()
    return {f"v:{number}": float(value) for number, value in enumerate(mean)}


def topic_of(reading: Reading) -> Topic:
    """The topic of a question, with the words that speak for it; a text without words is off-topic."""
    if not reading.words:
        return Topic("off-topic", (*([0.0] * (len(TOPICS) - 1)), 1.0), "It has no words.")
    scores = topic_weights().scores(features(reading))
    shares = np.exp(scores - scores.max())
    shares /= shares.sum()
    best = int(shares.argmax())
    return Topic(
        TOPICS[best], tuple(round(float(share), 4) for share in shares), _because(reading, best, shares)
    )


def _because(reading: Reading, topic: int, shares: Sequence[float] | NDArray[np.float64]) -> str:
    """One sentence: the words that speak most for the topic, and how close the next one is."""
    weights = topic_weights()
    speaking: dict[str, tuple[float, str]] = {}
    for found in reading.found:
        names = [f"c:{key}" for key in with_parents(found.key)] + [f"k:{found.kind}"]
        rows = [weights.rows[weights.place[name]] for name in names if name in weights.place]
        for_it = float(sum(row[topic] - row.mean() for row in rows))
        said = reading.said(found).strip()
        if not found.denied and for_it > 0.05 and for_it > speaking.get(said, (0.0, ""))[0]:
            speaking[said] = (for_it, kind_names().get(found.kind, ""))
    best = sorted(speaking.items(), key=lambda one: (-one[1][0], one[0]))[:_MOST_NAMED]
    words = ", ".join(f"“{said}” ({kind})" if kind else f"“{said}”" for said, (_, kind) in best)
    second = sorted(range(len(TOPICS)), key=lambda at: -shares[at])[1]
    doubt = f" It could also be {TOPICS[second]}." if shares[topic] < 2 * shares[second] else ""
    return (f"It says {words}." if words else "The words as a whole are closest to this topic.") + doubt
