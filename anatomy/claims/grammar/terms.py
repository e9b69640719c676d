"""Words and records that the grammar of subjects shares."""

from __future__ import annotations

from dataclasses import dataclass

from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair

SIDES = frozenset({"left", "right"})
ASIDE = 16
EXAMPLES = frozenset({"for example", "for instance", "say", "included", "too", "among them", "for one"})
WEAK = frozenset({"weak", "torn", "paralysed", "paralyzed", "ruptured", "injured", "dead"})
COUNTED = frozenset({"the two", "the three", "both", "these two", "these three", "all three", "all four"})
"""How many of a kind there are said to be: "are the two elbow flexors"."""
KNOWING = frozenset(
    [
        "realise",
        "realises",
        "realize",
        "realizes",
        "know",
        "knows",
        "learn",
        "notice",
        "forget",
        "forgets",
        "understand",
        "aware",
        "fact",
        "remember",
    ]
)
AREAS = frozenset({"front", "back", "rear", "middle", "top", "bottom", "inside", "outside", "fore"})
ORDINALS = frozenset({"first", "second", "third", "last", "other", "former", "latter"})
FIBRES = frozenset(
    [
        "fibres",
        "fibers",
        "head",
        "heads",
        "part",
        "parts",
        "portion",
        "belly",
        "bellies",
        "one",
        "ones",
        "bit",
        "strand",
        "strands",
        "section",
    ]
)
HEADS = frozenset({"long", "short", "lateral", "medial", "clavicular", "sternocostal", "anterior", "posterior", "middle", "upper", "lower"})  # fmt: skip
"""Words by which the parts of one muscle are told apart in their names."""
PART_NAMING = frozenset(
    [
        "anterior",
        "posterior",
        "medial",
        "lateral",
        "front",
        "inner",
        "outer",
        "upper",
        "lower",
        "internal",
        "external",
        "transverse",
        "horizontal",
        "inferior",
        "superior",
    ]
)


@dataclass(frozen=True)
class Named:
    """A muscle or group as it was said; ``qualifiers`` are words for a part of it ("posterior", "upper")."""

    name: str
    qualifiers: tuple[str, ...] = ()
    side: str = ""
    pairs: tuple[Pair, ...] = ()
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Subject:
    """Muscles in the items ``i`` to ``j``, half-open. ``pronoun`` when they were meant by "it" or "they"."""

    i: int
    j: int
    names: tuple[Named, ...]
    pronoun: bool = False


@dataclass(frozen=True)
class Link:
    """A subject found for an expression, and what was passed on the way."""

    subject: Subject
    denied: bool = False
    against: bool = False
    lengthened: bool = False
    i: int = -1
    j: int = -1
    hedged: bool = False


def names_a_part(item: Item) -> bool:
    """A term such as "clavicular head", which more than one muscle has."""
    return "MUS" in item.c and item.text.rpartition(" ")[2] in FIBRES


def names_part(item: Item) -> bool:
    return item.text in PART_NAMING
