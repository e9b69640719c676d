"""Muscles that a motion stretches: "to stretch the calf, pull the toes up", "bringing the knee up stretches the glutes".

What stretches a muscle is the opposite of what it does, so that such a motion is said *against* it.
"""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.looser import Looser
from anatomy.claims.grammar.terms import Link, Subject

__all__ = ["Stretching"]

NEAR = 5
"""Items that may stand between a stretched muscle and the motion that stretches it."""
BETWEEN = ("COMMA", "PERSON", "DET", "ADV", "MODAL", "BY", "WITH", "SUB", "AND", "THEN")
WHILE = frozenset({"by", "when", "as", "if", "while", "whenever"})


class Stretching(Looser):
    """Finds the muscle that a motion is said to stretch."""

    def stretched_of(self, expression: Expression) -> Link | None:
        """The muscle, with the motion against it; None unless the words themselves tie both together."""
        if not any(item.is_("STRETCH") for item in self.items):
            return None
        subject = self._stretched_by_it(expression) or self._stretched_before(expression)
        return Link(subject, against=True, lengthened=True) if subject is not None else None

    def _stretched_by_it(self, expression: Expression) -> Subject | None:
        """ "Bringing the knee to the chest stretches the glutes", "hip extension stretches iliopsoas"."""
        items, k = self.items, expression.j
        if expression.form not in ("ing", "noun") or k + 1 >= len(items):
            return None
        while k + 1 < len(items) and items[k].is_("ADV", "MODAL", "PROD"):
            k += 1
        return self.starting_at(k + 1) if items[k].is_("STRETCH") and not items[k].is_("ADJ") else None

    def _stretched_before(self, expression: Expression) -> Subject | None:
        """ "To stretch the calf you pull the toes up", "your hip flexors are stretched by extending the hip"."""
        items = self.items
        for k in range(expression.i - 1, max(-1, expression.i - 14), -1):
            if not items[k].is_("STRETCH"):
                continue
            after = self.starting_at(k + 1)
            if after is not None and after.j <= expression.i:
                return replace(after, i=k) if self._leads_on(after.j, expression) else None
            passive = k > 1 and items[k - 1].is_("AUX", "COP") and self._ends_muscle(k - 2)
            if (
                passive
                and k + 1 < len(items)
                and items[k + 1].text in WHILE
                and self._leads_on(k + 1, expression)
            ):
                return self.ending_at(k - 2)
            return None
        return None

    def _leads_on(self, k: int, expression: Expression) -> bool:
        """Whether only words of joining stand from item ``k`` to the motion, and it is something that somebody does."""
        between = self.items[k : expression.i]
        if len(between) > NEAR or any(not item.is_(*BETWEEN) for item in between):
            return False
        if expression.form == "ing":
            return bool(between) and any(item.text in WHILE for item in between)
        person = any(item.is_("PERSON") for item in between)
        return expression.form == "base" and (person or all(item.is_("COMMA", "ADV") for item in between))
