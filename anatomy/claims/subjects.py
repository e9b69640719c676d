"""Which muscles a motion is said of: the grammar that ties a muscle's name to a motion expression.

From the motion the reader walks left over words that may stand between a subject and its verb (auxiliaries, adverbs,
"helps to", asides between commas, phrases such as "on the front of the arm"). Any other word ends the walk: a
sentence that only mentions a muscle has no such path, and stays without a claim.
"""

from __future__ import annotations

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.stretching import Stretching
from anatomy.claims.grammar.terms import Link, Named, Subject

__all__ = ["Link", "Named", "Subject", "SubjectReader"]


class SubjectReader(Stretching):
    """Finds the subjects of one sentence's expressions."""

    def left_of(self, expression: Expression) -> Link | None:
        """The subject of a verb, or of the verb that a motion noun or agent depends on; None where there is no path."""
        key = expression.head
        if key not in self.known:
            self.known[key] = None
            if expression.form == "noun":
                link = self._of_noun(expression)
            elif expression.form == "agent":
                link = self._of_agent(expression)
            else:
                link = self.one_of_group(expression)
                link = link or self._walk(expression.i - 1, Link(Subject(0, 0, ())), expression)
                if link is None and expression.form == "ing":
                    link = self._of_noun(expression)
                link = link or self.loosely(expression)
            self.known[key] = link
        return self.known[key]
