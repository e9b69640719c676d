"""Claims that a root moves a joint: "C5 lifts the arm to the side", "elbow extension is C7", "if L4 goes you can't lift the foot"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.claim import Finding
from anatomy.claims.expressions import Expression
from anatomy.claims.kinds.level_facts import levels_shown
from anatomy.claims.kinds.moved_by import tied
from anatomy.claims.levels_said import PLACE, Said, levels_said
from anatomy.claims.lexicon import listed, rows
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

OTHER_MATTERS = frozenset({"LDISC", "LHIT", "LCOUNT", "MVT", "RELAX", "REPORT"})
"""Where one of these stands the sentence is of a disc, an injury or a place."""


@dataclass(frozen=True)
class RootsOfMotion:
    """One row of the motions of roots."""

    said: str
    levels: tuple[str, ...]
    also: tuple[str, ...]
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def roots_of_motions() -> dict[tuple[str, str], RootsOfMotion]:
    """The rows of data/level_motions.csv by joint and motion."""
    return {
        (joint, row["motion"]): RootsOfMotion(
            row["said"],
            tuple(listed(row["levels"])),
            tuple(listed(row["also"])),
            tuple(listed(row["sources"])),
        )
        for row in rows("level_motions")
        for joint in listed(row["joints"])
    }


def moving_roots(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """Each root with the motion beside it, judged."""
    if not reading.has("LEVEL") or not reading.has("PV", "FAM", "MOTN") or reading.has(*OTHER_MATTERS):
        return
    said = [one for one in levels_said(reading.items, reading.text) if not one.region]
    if not said:
        return
    moving = [e for e in reading.expressions if e.pairs and not e.vague]
    for one in said:
        found = tied(reading.items, one.i, one.j, moving)
        finding = _judged(one, found[0], found[1]) if found else None
        if found is None or finding is None:
            continue
        expression, denied = found
        moving.remove(expression)
        i, j = min(one.i, expression.i), max(one.j, expression.j)
        fact = _fact(expression)
        replace = (one.i, one.j, levels_shown(fact.levels, False)) if fact and not denied else None
        yield i, j, finding, replace if finding.verdict == "wrong" else None


def _fact(expression: Expression) -> RootsOfMotion | None:
    facts = [
        fact for pair in expression.pairs if (fact := roots_of_motions().get((pair[0], pair[1]))) is not None
    ]
    if not facts:
        return None
    levels = dict.fromkeys(level for fact in facts for level in fact.levels)
    also = dict.fromkeys(level for fact in facts for level in fact.also)
    return RootsOfMotion(facts[0].said, tuple(levels), tuple(also), facts[0].sources)


def _judged(said: Said, expression: Expression, denied: bool) -> Finding | None:
    fact = _fact(expression)
    if fact is None or any(level not in PLACE for level in said.levels):
        return None
    held = {*fact.levels, *fact.also}
    inside = [level in held for level in said.levels]
    if any(inside) and not all(inside):
        return None
    right = all(inside) != denied
    if denied and not set(said.levels) & set(fact.levels) and all(inside):
        return None
    why = sentence(f"{fact.said} comes from {levels_shown(fact.levels, False)}")
    if right:
        return Finding("right", why, "", fact.sources)
    return Finding("wrong", why, why, fact.sources)
