"""Makes ``data/topic_weights.npz``, the weights of what a question says for each topic, ``data/topic_weights_sense.npz``,
the same with the sense of the whole question (needs the sentence encoder), and ``data/term_rarity.csv``.

    python -m breakdowns.questions.sorting.make_weights FOLDER

``FOLDER`` holds tables with the columns ``text`` and ``topic`` (``tests/questions/data``); those with “sealed” in their
name are never fitted to, nor is any question that stands in one of them. The same tables give the same weights.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from math import log
from pathlib import Path

import numpy as np

from breakdowns.questions.sorting.fitting import fit_classes
from breakdowns.questions.sorting.lexicon import with_parents
from breakdowns.questions.sorting.reading import read
from breakdowns.questions.sorting.sentences import sentence_encoder
from breakdowns.questions.sorting.topics import TOPICS, TopicWeights, features
from breakdowns.questions.sorting.words import table

__all__ = ["fitted", "labelled", "main"]

FEWEST = {"w:": 2, "b:": 3, "x:": 2}
RIDGES = {
    "c:": 0.002,
    "k:": 0.0005,
    "p:": 0.001,
    "x:": 0.001,
    "w:": 0.0003,
    "b:": 0.002,
    "v:": 0.0005,
    "s:": 0.0005,
}
_CLASS = len("c:")


def labelled(paths: Iterable[Path]) -> list[tuple[str, str]]:
    """(text, topic) of every row that has a topic and teaches it."""
    found = []
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            found += [(str(row["text"]), str(row["topic"])) for row in csv.DictReader(file) if _teaches(row)]
    return found


def _texts(paths: Iterable[Path]) -> set[str]:
    found: set[str] = set()
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            found |= {row["text"] for row in csv.DictReader(file) if row.get("text")}
    return found


def _teaches(row: Mapping[str, str | None]) -> bool:
    # What must not wait asks for advice, whatever it speaks of; labels that say otherwise would only confuse.
    return bool(row.get("topic")) and (row.get("red_flag") != "yes" or row.get("topic") == "injury advice")


def unsealed(folder: Path) -> list[tuple[str, str]]:
    """(text, topic) of every question that may be fitted to."""
    paths = sorted(folder.glob("*.csv"))
    sealed = _texts(path for path in paths if "sealed" in path.stem)
    return [
        one for one in labelled(path for path in paths if "sealed" not in path.stem) if one[0] not in sealed
    ]


def fitted(examples: Sequence[tuple[str, str]], *, with_sense: bool = False) -> TopicWeights:
    """The weights that tell these examples apart, drawn to what the priors say where the examples say nothing."""
    said = [features(read(text), with_sense=with_sense) for text, _ in examples]
    counts = Counter(name for one in said for name in one)
    priors = _priors()
    names = sorted(name for name, count in counts.items() if count >= FEWEST.get(name[:_CLASS], 1))
    names += sorted(set(priors) - set(names))
    place = {name: at for at, name in enumerate(names)}
    rows = np.zeros((len(said), len(names)))
    for at, one in enumerate(said):
        for name, value in one.items():
            if name in place:
                rows[at, place[name]] = value
    prior = np.zeros((len(names), len(TOPICS)))
    for name, drawn in priors.items():
        prior[place[name]] = drawn
    ridge = np.array([RIDGES[name[:_CLASS]] for name in names])
    classes = np.array([TOPICS.index(topic) for _, topic in examples])
    weights, bias = fit_classes(rows, classes, len(TOPICS), ridge, prior)
    return TopicWeights(place, weights.astype(np.float32), bias.astype(np.float32))


def _priors() -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for row in table("topic_priors.csv"):
        weights = found.setdefault(
            f"c:{row['concept']}" if "." in row["concept"] else f"k:{row['concept']}", [0.0] * 7
        )
        weights[TOPICS.index(row["topic"])] = float(row["weight"])
    return found


def rarities(texts: Sequence[str]) -> dict[str, float]:
    """ln((N + 1) / (n + 1)) for each concept that ``n`` of ``N`` texts name, the wider concepts counted too."""
    counts: Counter[str] = Counter()
    for text in texts:
        counts.update({wider for found in read(text).found for wider in with_parents(found.key)})
    return {key: round(log((len(texts) + 1) / (count + 1)), 3) for key, count in sorted(counts.items())}


def _write_rarities(texts: Sequence[str], out: Path) -> None:
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["term", "rarity", "source"])
        writer.writerows(
            [key, value, "counted in the labelled questions"] for key, value in rarities(texts).items()
        )


def main(folder: Path, out: Path) -> int:
    """Fits to the tables of ``folder`` and writes into the folder ``out``; the number of examples."""
    examples = unsealed(folder)
    _write_rarities([text for text, _ in examples], out / "term_rarity.csv")
    _write_weights(fitted(examples), out / "topic_weights.npz")
    if sentence_encoder() is None:
        raise SystemExit("The sentence encoder is not installed: topic_weights_sense.npz was left as it was.")
    _write_weights(fitted(examples, with_sense=True), out / "topic_weights_sense.npz")
    return len(examples)


def _write_weights(weights: TopicWeights, out: Path) -> None:
    names = np.frombuffer("\n".join(weights.place).encode(), dtype=np.uint8)
    np.savez_compressed(out, names=names, rows=weights.rows.astype(np.float16), bias=weights.bias)


if __name__ == "__main__":
    target = Path(__file__).parent / "data"
    sys.stdout.write(f"{main(Path(sys.argv[1]), target)} examples\n")
