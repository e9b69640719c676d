"""What the tables of sides hold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.lexicon import listed, rows


@dataclass(frozen=True)
class SideFact:
    """One row of the side facts."""

    kind: str
    words: tuple[str, ...]
    attributes: tuple[str, ...]
    sides: tuple[str, ...]
    bare: str
    why: str
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def side_facts() -> dict[str, tuple[SideFact, ...]]:
    """The rows of data/side_facts.csv by kind."""
    found: dict[str, list[SideFact]] = {}
    for row in rows("side_facts"):
        found.setdefault(row["kind"], []).append(
            SideFact(
                row["kind"],
                tuple(listed(row["words"])),
                tuple(listed(row["attribute"])),
                tuple(listed(row["side"])),
                row["bare"],
                row["why"],
                tuple(listed(row["sources"])),
            )
        )
    return {kind: tuple(facts) for kind, facts in found.items()}


@lru_cache(maxsize=4096)
def side_row(kind: str, word: str) -> SideFact | None:
    return next((f for f in side_facts().get(kind, ()) if word in f.words), None)


@lru_cache(maxsize=1)
def attribute_subjects() -> frozenset[str]:
    """What an attribute may be said of."""
    return frozenset(word for fact in side_facts()["attribute"] for word in fact.words)
