"""Motions in a sentence: "flexes the hip", "external rotation of the shoulder", "turns the palm up", "knee extensor".

Technical words are read by family and direction, plain words by a table of verb, part of the body and direction. Each
expression holds the (joint, motion) pairs that it may mean; several pairs are alternatives ("lifts the arm": flexion or
abduction), never a sum.
"""

from __future__ import annotations

from anatomy.claims.expressing.expression import Expression
from anatomy.claims.expressing.plain import Plain

__all__ = ["Expression", "ExpressionReader"]


class ExpressionReader(Plain):
    """Reads the motion expressions of one sentence's items."""

    def read(self) -> list[Expression]:
        """Every motion expression, in order; coordinated ones share what only one of them names."""
        for place, item in enumerate(self.items):
            if "FAM" in item.c:
                self._technical(place, item)
            elif "PV" in item.c:
                if "DIR" in item.c and self.found and place < self.found[-1].j:
                    continue
                before = len(self.found)
                self._plain(place, item)
                if "CROSS" in item.c and len(self.found) == before:
                    self._crossed(place, item.c["CROSS"][1])
            elif "MOTN" in item.c:
                self._named(place, item)
            elif "AGT" in item.c:
                self._group_agent(place, item)
            elif "CROSS" in item.c:
                self._crossed(place, item.c["CROSS"][1])
            elif "PAGT" in item.c:
                self._plain_agent(place, item.c["PAGT"])
            elif "MOVE" in item.c:
                self._moved(place)
            elif "PART" in item.c:
                self._posed(place, item)
        self._share()
        return self.found
