"""One motion as a sentence says it."""

from __future__ import annotations

from dataclasses import dataclass, field

from anatomy.claims.inflection import Form
from anatomy.claims.lexicon import Pair

__all__ = ["BODY", "SPINE_TURNS", "Expression"]

BODY = frozenset({"you", "him", "her", "me", "us", "yourself", "the body", "himself", "herself"})
SPINE_TURNS = ("rotation same side", "rotation opposite side")


@dataclass
class Expression:
    """One motion said in the items ``i`` to ``j`` (half-open), its head word at ``head``."""

    head: int
    i: int
    j: int
    form: Form
    pairs: tuple[Pair, ...]
    parts: tuple[str, ...] = ()
    object: str = ""
    passive: bool = False
    directions: tuple[str, ...] = ()
    vague: bool = False
    turn: str = ""
    word: str = ""
    plain: bool = False
    object_at: tuple[int, int] = (0, 0)
    motions: tuple[str, ...] = field(default=())
