"""What is published of a motion's range, and how far a figure may lie from it: the facts behind claims with degrees.

Ranges are the vocabulary's, all sources together; rows that hold for one posture or group only (children, throwers, a
straight knee) count only where that is named. Tolerances and conditions are data files with sources.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from statistics import median

from anatomy.claims.lexicon import Pair, listed, rows
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Range


@dataclass(frozen=True)
class Tolerance:
    """How far below and above the spread a figure is still right, and from where on it is wrong."""

    below: float
    above: float
    wrong_below: float
    wrong_share: float
    wrong_degrees: float


@dataclass(frozen=True)
class Spread:
    """The lowest and highest published figure, the middle one, and the citation keys."""

    low: float
    high: float
    middle: float
    sources: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True)
class Condition:
    """Figures that are true only of a posture or a group: a row of rom_conditions.csv."""

    low: float
    high: float
    settled_by: frozenset[str]
    not_with: frozenset[str]
    note: str
    sources: tuple[str, ...]


class PublishedRanges:
    """Spreads, conditions and tolerances for one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.populations = [(row["fragment"], row["posture"]) for row in rows("rom_populations")]
        self.tolerances = {(row["joint"], row["motion"]): _tolerance(row) for row in rows("rom_tolerance")}
        self.conditions: dict[Pair, list[Condition]] = {}
        for row in rows("rom_conditions"):
            self.conditions.setdefault((row["joint"], row["motion"]), []).append(
                Condition(
                    float(row["low"]),
                    float(row["high"]),
                    frozenset(listed(row["settled_by"])),
                    frozenset(listed(row["not_with"])),
                    row["note"],
                    tuple(listed(row["sources"])),
                )
            )
        self.limits: dict[tuple[str, str, str], Spread] = {}
        for row in rows("rom_limits"):
            low, high = float(row["low"]), float(row["high"])
            self.limits[row["joint"], row["motion"], row["posture"]] = Spread(
                low, high, (low + high) / 2, tuple(listed(row["sources"])), row["note"]
            )

    def has(self, pair: Pair) -> bool:
        """Whether anything is published of a motion."""
        return bool(self.vocabulary.ranges_of(*pair))

    def tolerance(self, pair: Pair) -> Tolerance:
        """A motion's tolerance, else the general one."""
        return self.tolerances.get(pair) or self.tolerances["", ""]

    def spread(self, pair: Pair, postures: Collection[str] = ()) -> Spread | None:
        """The published spread for grown people, or for the posture or group that is named."""
        for posture in (*postures, ""):
            limit = self.limits.get((*pair, posture))
            if limit is not None:
                return limit
        usual: list[Range] = []
        special: list[Range] = []
        for entry in self.vocabulary.ranges_of(*pair):
            group = self._group(entry)
            if not group:
                usual.append(entry)
            elif group in postures:
                special.append(entry)
        held = special or usual
        if not held:
            return None
        sources = tuple(dict.fromkeys(key for entry in held for key in entry.sources))
        middle = median([(entry.low + entry.high) / 2 for entry in held])
        return Spread(min(e.low for e in held), max(e.high for e in held), middle, sources[:4])

    def highest(self, pair: Pair) -> float:
        """The highest figure published of anybody in any posture."""
        figures = [entry.high for entry in self.vocabulary.ranges_of(*pair)]
        figures += [condition.high for condition in self.conditions.get(pair, ())]
        return max(figures, default=0.0)

    def _group(self, entry: Range) -> str:
        said = f"{entry.population} {entry.note}"
        return next((posture for fragment, posture in self.populations if fragment in said), "")


def _tolerance(row: dict[str, str]) -> Tolerance:
    return Tolerance(
        float(row["below"]),
        float(row["above"]),
        float(row["wrong_below"] or 0),
        float(row["wrong_above_share"]),
        float(row["wrong_above_degrees"]),
    )


@lru_cache(maxsize=4)
def published_ranges(vocabulary: Vocabulary) -> PublishedRanges:
    """The compiled tables for a vocabulary."""
    return PublishedRanges(vocabulary)
