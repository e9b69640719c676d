"""The facts behind claims about planes: named movements, what postures make of a motion, and the words for planes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.lexicon import Pair, listed, rows
from anatomy.claims.phrases import PhraseBook
from anatomy.vocabulary.collection import Vocabulary

PLANE_OF = {
    "mediolateral": ("sagittal",),
    "anteroposterior": ("frontal",),
    "vertical": ("transverse",),
    "longitudinal": ("transverse",),
    "long": ("transverse",),
    "horizontal": ("sagittal", "frontal"),
}
AXIS_OF = {"sagittal": "mediolateral", "frontal": "anteroposterior", "transverse": "vertical"}
AXIS_SAID = {
    "mediolateral": "side-to-side axis",
    "anteroposterior": "front-to-back axis",
    "vertical": "vertical axis",
    "long": "long axis",
    "longitudinal": "longitudinal axis",
    "horizontal": "horizontal axis",
}
SPINS = frozenset({"internal rotation", "external rotation", "pronation", "supination"})
CARDINAL = ("sagittal", "frontal", "transverse")
SORTS = ("plane", "axis", "bare", "towards", "halves")


@dataclass(frozen=True)
class Movement:
    """A row of movement_planes.csv."""

    name: str
    planes: tuple[str, ...]
    mostly: str
    also: tuple[str, ...]
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Condition:
    """What a posture makes of a motion's plane: a row of plane_conditions.csv."""

    joints: frozenset[str]
    motions: frozenset[str]
    posture: str
    right: tuple[str, ...]
    depends: tuple[str, ...]
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Mover:
    """What a statement says a plane of: a named movement or (joint, motion) pairs, said in items ``i`` to ``j``."""

    i: int
    j: int
    movement: Movement | None = None
    pairs: tuple[Pair, ...] = ()
    form: str = "noun"
    parts: tuple[str, ...] = ()


class PlaneBooks:
    """The phrases and tables of this kind for one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        entries = [
            (text, (row["sort"], row["value"]))
            for row in rows("plane_words")
            for text in listed(row["words"])
        ]
        named = [
            (term.text, (term.kind, term.of))
            for term in vocabulary.terms
            if term.kind in ("plane", "axis") and " " in term.text
        ]
        self.marks = PhraseBook([(text, value) for text, value in entries if value[0] in SORTS] + named)
        self.others = PhraseBook([(text, value) for text, value in entries if value[0] not in SORTS])
        self.postures = PhraseBook.of_table("plane_postures", "posture")
        moves: list[tuple[str, Movement]] = []
        for row in rows("movement_planes"):
            movement = Movement(
                row["movement"],
                tuple(listed(row["plane"])),
                row["mostly"],
                tuple(listed(row["also"])),
                row["note"],
                tuple(listed(row["sources"])),
            )
            moves += [(text, movement) for text in listed(row["words"])]
        self.moves = PhraseBook(moves)
        self.conditions = [
            Condition(
                frozenset(listed(row["joints"])),
                frozenset(listed(row["motions"])),
                row["posture"],
                tuple(listed(row["right"])),
                tuple(listed(row["depends"])),
                row["note"],
                tuple(listed(row["sources"])),
            )
            for row in rows("plane_conditions")
        ]


@lru_cache(maxsize=4)
def books_for(vocabulary: Vocabulary) -> PlaneBooks:
    """The compiled tables for a vocabulary."""
    return PlaneBooks(vocabulary)
