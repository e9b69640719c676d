"""Exercises with their phases, and kinds of contraction as they were said."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from anatomy.claims.lexicon import Pair, listed, rows

Work = Literal["concentric", "eccentric", "isometric"]


Phase = Literal["down", "up", "hold"]


EXPECTED: dict[Phase, Work] = {"down": "eccentric", "up": "concentric", "hold": "isometric"}


LENGTH: dict[str, str] = {
    "concentric": "shortens",
    "eccentric": "lengthens under load",
    "isometric": "keeps its length",
}


WHEN: dict[Phase, str] = {
    "down": "in lowering and braking",
    "up": "in lifting and driving",
    "hold": "in holding still",
}


SOURCES = ("openstax-ap2e-10",)


@dataclass(frozen=True)
class Exercise:
    """A movement by name: whether it has two phases, and the motions that lift its load."""

    name: str
    mode: Literal["both", "lower", "raise", "hold", "sport"]
    motions: tuple[Pair, ...]
    note: str
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def exercises() -> dict[str, Exercise]:
    """The rows of data/exercises.csv by each of their words."""
    found: dict[str, Exercise] = {}
    for row in rows("exercises"):
        pairs: list[Pair] = []
        for said in listed(row["motions"]):
            joint, _, motion = said.partition(": ")
            pairs.append((joint, motion))
        entry = Exercise(row["name"], row["mode"], tuple(pairs), row["note"], tuple(listed(row["sources"])))  # type: ignore[arg-type]
        for word in listed(row["words"]):
            found[word] = entry
    return found


@dataclass(frozen=True)
class Said:
    """A kind of contraction said at item ``k``: by its name or by what the length does."""

    k: int
    work: Work
    by_length: bool
    denied: bool
