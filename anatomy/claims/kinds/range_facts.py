"""The phrases and tables behind claims about degrees of motion, and what such a claim is made of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.lexicon import Pair, listed, rows
from anatomy.claims.phrases import PhraseBook
from anatomy.claims.published_ranges import Spread


@dataclass(frozen=True)
class Quantity:
    """Degrees said in the items ``i`` to ``j`` (half-open); ``sure`` when the word degrees or its sign stands there."""

    i: int
    j: int
    low: float
    high: float
    sure: bool
    from_zero: bool = False


@dataclass(frozen=True)
class Moving:
    """The motion that a quantity is said of."""

    i: int
    j: int
    pairs: tuple[Pair, ...]
    part: str = ""
    form: str = "noun"
    hyper: bool = False
    postures: tuple[str, ...] = ()
    word: str = ""


@dataclass(frozen=True)
class Use:
    """What everyday movement takes of a joint: a row of rom_functional.csv."""

    pair: Pair
    spread: Spread

    @classmethod
    def of(cls, row: dict[str, str]) -> Use:
        """The row's motion and degrees."""
        low, high = float(row["low"]), float(row["high"])
        spread = Spread(low, high, (low + high) / 2, tuple(listed(row["sources"])), row["note"])
        return cls((row["joint"], row["motion"]), spread)


class RangeBooks:
    """The phrases and tables of this kind."""

    def __init__(self) -> None:
        gathered: dict[str, list[tuple[str, str]]] = {}
        for row in rows("rom_words"):
            gathered.setdefault(row["sort"], []).extend((text, row["value"]) for text in listed(row["words"]))
        self.words = {sort: PhraseBook(entries) for sort, entries in gathered.items()}
        self.postures = PhraseBook.of_table("rom_postures", "posture")
        self.motions = PhraseBook(
            (text, (row["joint"], row["motion"], row["posture"]))
            for row in rows("rom_motions")
            for text in listed(row["words"])
        )
        self.parts = {row["part"]: tuple(listed(row["joints"])) for row in rows("rom_parts")}
        self.functional = PhraseBook(
            (text, Use.of(row)) for row in rows("rom_functional") for text in listed(row["words"])
        )
        self.sides: dict[tuple[str, str], Pair] = {
            (row["part"], text): (row["joint"], row["motion"])
            for row in rows("rom_sides")
            for text in listed(row["words"])
        }


@lru_cache(maxsize=1)
def range_books() -> RangeBooks:
    """The compiled tables."""
    return RangeBooks()
