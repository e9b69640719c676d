"""Which motion is said of a root or a nerve that stands beside it: "C5 lifts the arm", "without the radial nerve you can't …"."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.expressions import Expression
from anatomy.claims.items import Item

BETWEEN = frozenset({"AUX", "DET", "BY", "ADV", "ADJ", "PREP", "LTEST", "LROOT", "NEG", "MODAL", "SUB", "FAIL", "PERSON", "JOB", "REL", "NEED", "LET", "HELP", "PROD", "COMEFROM", "NSUP", "DO", "COP", "SEE", "HAVE", "NLOSS", "IT", "NGET", "PASSBY", "WITH", "FORCE", "MOVE", "MUSNOUN", "NJOB", "ROLE"})  # fmt: skip
"""Classes of what may stand between a mover and the motion that is said of it."""
BARRIERS = frozenset({"MUS", "NRV", "STR", "NUM", "LEVEL", "LDISC", "LHIT", "LSIGN", "BUT", "MVT", "EXERCISE", "RELAX"})  # fmt: skip
LOST = frozenset({"lose", "loses", "lost", "without", "gone", "is gone", "goes", "out", "is out", "dead", "weak", "damaged", "cut", "is cut", "missing"})  # fmt: skip
SMALL = frozenset({"myotome", "test", "way", "thank", "thanks", "and", "nerve"})
REACH = 7
"""Items that may stand between."""


def tied(
    items: Sequence[Item], i: int, j: int, moving: Sequence[Expression]
) -> tuple[Expression, bool] | None:
    """The motion that is said of items ``i`` to ``j``, and whether it is denied; what follows goes before what precedes."""
    after = [e for e in moving if e.i >= j]
    before = [e for e in moving if e.j <= i]
    for expression in (*after[:1], *before[-1:]):
        follows = expression.i >= j
        gap = items[min(j, expression.j) : max(i, expression.i)]
        head = items[max(0, i - 4) : i] if follows else ()
        lost = any(item.is_("FAIL", "NLOSS") or item.text in LOST for item in (*gap, *head))
        if len(gap) > REACH or not all(_little(item, lost) for item in gap):
            continue
        if not gap and expression.form not in ("s", "base", "noun", "ing"):
            continue
        if follows and not gap and i > 0 and items[i - 1].is_("PREP", "LHIT") and not lost:
            continue
        return expression, any(item.is_("NEG") for item in gap) and not lost
    return None


def _little(item: Item, lost: bool) -> bool:
    if item.is_("COMMA") or (item.is_("AND") and lost):
        return lost
    if item.text in LOST or item.text in SMALL:
        return True
    return bool(item.c) and BARRIERS.isdisjoint(item.c) and not BETWEEN.isdisjoint(item.c)
