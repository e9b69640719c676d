"""How well questions are sorted and found again: ``python -m tests.questions.sorting.measuring [--misses WORD]``.

Topics: the share that gets the topic of the label. Likeness: the share of questions whose twin in other words is among
the five most alike out of the first questions of its table and at least 300 more (recall@5), for each ingredient alone
too. Sealed tables are counted only; their misses are never printed.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Sequence
from functools import cache
from math import sqrt
from pathlib import Path

from breakdowns.questions.sorting import Fingerprint, LikenessIndex, fingerprint, sort_question

DATA = Path(__file__).parent.parent / "data"
Ingredient = Callable[[Fingerprint], Fingerprint]


def _only(terms: Callable[[str], bool]) -> Ingredient:
    """Fingerprints of some terms alone, scaled anew as a whole one is."""

    def cut(one: Fingerprint) -> Fingerprint:
        kept = [(term, weight) for term, weight in one.terms if terms(term)]
        length = sqrt(sum(weight**2 for _, weight in kept))
        return Fingerprint(tuple((term, weight / length) for term, weight in kept))

    return cut


INGREDIENTS: dict[str, Ingredient] = {
    "all together": lambda one: one,
    "concepts alone": _only(lambda term: not term.startswith("w:")),
    "stems alone": _only(lambda term: term.startswith("w:")),
    "terms alone": lambda one: Fingerprint(one.terms),
    "meaning alone": lambda one: Fingerprint((), one.meaning),
    "without the sense": lambda one: Fingerprint(one.terms, one.meaning),
    "sense alone": lambda one: Fingerprint((), (), one.sense),
}


def rows(pattern: str) -> list[dict[str, str]]:
    """The rows of the labelled tables whose names fit."""
    found = []
    for path in sorted(DATA.glob(pattern)):
        with path.open(encoding="utf-8", newline="") as file:
            found += [row | {"table": path.stem} for row in csv.DictReader(file)]
    return found


@cache
def distractors() -> tuple[str, ...]:
    """Questions that no pair asks, over all topics: labelled ones of which no sentence of a pair is a near twin.

    Near twins were taken out by an independent sentence encoder (all-MiniLM-L6-v2: cosine of 0.5 and more).
    """
    return tuple(row["text"] for row in rows("others.csv"))


def topic_misses(labelled: Sequence[dict[str, str]]) -> list[tuple[str, str, str]]:
    """(label, what was said, text) of those that were sorted otherwise than labelled."""
    said = [(row["topic"], sort_question(row["text"]).topic, row["text"]) for row in labelled]
    return [one for one in said if one[0] != one[1]]


def recall_at(
    pairs: Sequence[dict[str, str]], limit: int = 5, ingredient: Ingredient = INGREDIENTS["all together"]
) -> tuple[float, list[tuple[str, str, list[str]]]]:
    """(recall, what was missed: asked, in other words, what was found instead), both ways round."""
    missed: list[tuple[str, str, list[str]]] = []
    for first, second in (("asked", "same_in_other_words"), ("same_in_other_words", "asked")):
        texts = [row[first] for row in pairs] + list(distractors())
        index = LikenessIndex([ingredient(fingerprint(text)) for text in texts])
        for row in pairs:
            near = index.nearest(ingredient(fingerprint(row[second])), limit)
            found = [texts[place] for place, _ in near]
            if row[first] not in found:
                missed.append((row[first], row[second], found))
    return 1 - len(missed) / max(2 * len(pairs), 1), missed


def main(arguments: Sequence[str]) -> None:
    """Prints the figures, and on request the misses of tables that are not sealed."""
    misses = arguments[1] if arguments[:1] == ["--misses"] and len(arguments) > 1 else ""
    for pattern in ("topics_*.csv", "questions_*.csv"):
        for name in sorted({row["table"] for row in rows(pattern)}):
            labelled = [row for row in rows(f"{name}.csv") if row["topic"]]
            wrong = topic_misses(labelled)
            share = 1 - len(wrong) / len(labelled)
            sys.stdout.write(f"{name:28} topic {share:.3f} ({len(labelled) - len(wrong)}/{len(labelled)})\n")
            if misses and misses in name and "sealed" not in name:
                sys.stdout.writelines(f"   {label} <- {said}: {text}\n" for label, said, text in wrong)
    for name in sorted({row["table"] for row in rows("pairs_*.csv")}):
        pairs = rows(f"{name}.csv")
        for label, ingredient in INGREDIENTS.items():
            recall, missed = recall_at(pairs, ingredient=ingredient)
            sys.stdout.write(f"{name:28} recall@5 {recall:.3f} of {2 * len(pairs)} {label}\n")
            if misses and misses in name and "sealed" not in name and label == "all together":
                sys.stdout.writelines(f"   {a} | {b}\n      {found}\n" for a, b, found in missed)
    sys.stdout.write(f"{len(distractors())} questions that no pair asks stand among the pairs\n")


if __name__ == "__main__":
    main(sys.argv[1:])
