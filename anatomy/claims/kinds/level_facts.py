"""What the tables of levels hold: dermatomes, tests, counts, ribs, places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.levels_said import PLACE, between
from anatomy.claims.lexicon import listed, rows
from anatomy.claims.spoken import joined


@dataclass(frozen=True)
class LevelFact:
    """One row of the level facts."""

    kind: str
    words: tuple[str, ...]
    levels: tuple[str, ...]
    also: tuple[str, ...]
    why: str
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def level_facts() -> dict[str, dict[str, LevelFact]]:
    """The rows of data/level_facts.csv by kind and word."""
    found: dict[str, dict[str, LevelFact]] = {}
    for row in rows("level_facts"):
        fact = LevelFact(
            row["kind"],
            tuple(listed(row["words"])),
            tuple(listed(row["levels"])),
            tuple(listed(row["also"])),
            row["why"],
            tuple(listed(row["sources"])),
        )
        for word in fact.words:
            found.setdefault(fact.kind, {})[word] = fact
    return found


def levels_shown(levels: Sequence[str], ribs: bool) -> str:
    if ribs and all(level.isdigit() for level in levels):
        numbers = sorted(map(int, levels))
        said = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 2 else joined(map(str, numbers))
        return f"{'ribs' if len(numbers) > 1 else 'rib'} {said}"
    known = sorted((lv for lv in levels if lv in PLACE), key=PLACE.__getitem__)
    if len(known) > 2 and list(known) == list(between(known[0], known[-1])):
        return f"{known[0]} to {known[-1]}"
    return joined(known or levels)
