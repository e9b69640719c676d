"""The words for every fact, read from the data files, and the mending of misspelt words among them."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from functools import cache, lru_cache

from anatomy.claims.spelling import distance
from breakdowns.questions.screening.patterns import Patterns
from breakdowns.questions.screening.reading import DATA, plain_form

FILES = (
    "words.csv", "words_everyday.csv", "who.csv", "cues.csv", "facts_head.csv", "facts_face.csv", "facts_neck.csv", "facts_chest.csv",
    "facts_belly.csv", "facts_back.csv", "facts_limbs.csv", "facts_whole.csv", "facts_more.csv", "facts_everyday.csv",
    "facts_broad.csv",
    "words_signals.csv",
)  # fmt: skip
KINDS = ("word", "fact", "history", "cue", "mask", "frame")
SHORTEST_MENDED = 5
LETTERS = re.compile(r"[a-z]+")


class Lexicon:
    """Named lists of patterns with the kind of each: ``fact``, ``history`` (true of the person, however long ago), and so on."""

    def __init__(self) -> None:
        written: dict[str, list[str]] = defaultdict(list)
        self.kind: dict[str, str] = {}
        for file_name in FILES:
            with (DATA / file_name).open(encoding="utf-8", newline="") as file:
                for line, row in enumerate(csv.DictReader(file), 2):
                    if row["kind"] not in KINDS:
                        raise ValueError(f"{file_name}, line {line}: kind is one of {', '.join(KINDS)}.")
                    if self.kind.setdefault(row["name"], row["kind"]) != row["kind"]:
                        raise ValueError(
                            f"{file_name}, line {line}: “{row['name']}” has two kinds; keep one."
                        )
                    written[row["name"]].extend(row["says"].split(";"))
        self.patterns = Patterns(written)
        self.spelt = frozenset(
            word
            for says in written.values()
            for text in says
            for word in LETTERS.findall(re.sub(r"[@#]\w+", "", text.lower()))
        )

    def names(self, kind: str) -> tuple[str, ...]:
        """The names of one kind, in the order of the files."""
        return tuple(name for name, its in self.kind.items() if its == kind)


@cache
def lexicon() -> Lexicon:
    """The packaged lexicon, read once."""
    return Lexicon()


@cache
def ordinary_words() -> frozenset[str]:
    """Words that are right as they stand though they look like a slip of one of ours."""
    with (DATA / "ordinary_words.csv").open(encoding="utf-8", newline="") as file:
        return frozenset(row["word"] for row in csv.DictReader(file))


@cache
def _by_gap() -> dict[str, tuple[str, ...]]:
    table: dict[str, set[str]] = defaultdict(set)
    for word in lexicon().spelt:
        if len(word) >= SHORTEST_MENDED:
            for gap in _gaps(word):
                table[gap].add(word)
    return {gap: tuple(sorted(words)) for gap, words in table.items()}


def _gaps(word: str) -> set[str]:
    return {word} | {word[:place] + word[place + 1 :] for place in range(len(word))}


@lru_cache(maxsize=20_000)
def mended(word: str) -> str:
    """``word``, or the one word of the lexicon that it is a slip for: one slip from five letters on, two from eight on."""
    if len(word) < SHORTEST_MENDED or len(word) > 24 or not word.isascii():
        return word
    if word in lexicon().spelt or plain_form(word) in lexicon().patterns.words or word in ordinary_words():
        return word
    allowed = 2 if len(word) >= 8 else 1
    near: dict[str, int] = {}
    for gap in _gaps(word):
        for other in _by_gap().get(gap, ()):
            if other not in near and other[0] == word[0]:
                near[other] = distance(word, other, allowed)
    close = sorted((steps, other) for other, steps in near.items() if steps <= allowed)
    if not close or (
        len(close) > 1 and close[0][0] == close[1][0] and plain_form(close[0][1]) != plain_form(close[1][1])
    ):
        return word
    return close[0][1]
