"""Subjects of verbs that no walk reaches: ways of saying who does it across words that have nothing to do with motion.

"Tibialis posterior supports the arch and everts the foot", "the quads lower you by flexing the knee", "nothing bends the
elbow like the triceps", "she relies on the triceps for bending the elbow". Each asks for one muscle and no other actor.
"""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.clefts import Clefts
from anatomy.claims.grammar.terms import Link
from anatomy.claims.items import Item

__all__ = ["Looser"]

REACH = 12
"""Items between a muscle and a verb that it may still be said of."""
CLAUSE_ENDS = ("COMMA", "SUB", "REL", "DASH", "BUT", "COLON", "OR")
OTHER_ACTORS = ("MUS", "PERSON", "NRV", "IT", "STR", "REPORT", "NEG", "STRETCH", "RELAX", "MODAL")
NO_VERB = ("PREP", "AND", "AUX", "BE", "BY", "DET", "PART", "DO", "HAVE")
"""What cannot be the verb that follows a subject here: a form of "be" would make it a passive."""
NOTHING_ELSE = frozenset({"nothing", "nothing else", "nobody", "no other muscle", "no muscle", "no one"})
LIKE = frozenset(
    {"like", "quite like", "better than", "more than", "as well as", "as strongly as", "except", "but"}
)
RELYING = frozenset({"relies on", "rely on", "depends on", "depend on", "counts on", "count on", "leans on", "trusts", "uses", "use", "used", "needs", "need"})  # fmt: skip


class Looser(Clefts):
    """Finds a subject where the walk to the left has found none."""

    def loosely(self, expression: Expression) -> Link | None:
        """The subject by one of the ways above; None where there is none, or more than one that it could be."""
        if expression.passive or expression.i == 0:
            return None
        before = self.items[expression.i - 1]
        if expression.form == "s" and before.is_("AND"):
            return self._clause_begins(expression.i - 1)
        if expression.form == "ing" and before.text == "by":
            return self._clause_begins(expression.i - 1)
        if expression.form == "ing" and before.text == "for":
            return self._relied_on(expression.i - 1)
        if expression.form == "s" and before.text in NOTHING_ELSE:
            return self._like(expression)
        return None

    def _clause_begins(self, end: int) -> Link | None:
        """The muscle with which the clause before ``end`` begins, when it alone can do anything in it."""
        items = self.items
        start = end
        while start > 0 and end - start < REACH and not items[start - 1].is_(*CLAUSE_ENDS):
            start -= 1
        if end - start >= REACH:
            return None
        first = next((k for k in range(start, end) if items[k].is_("MUS")), end)
        if first >= end or not _opens(items[start:first]):
            return None
        subject = self.starting_at(first)
        if subject is None or subject.j >= end:
            return None
        between = items[subject.j : end]
        return Link(subject) if _acts(between) else None

    def _relied_on(self, end: int) -> Link | None:
        subject = self.ending_at(end - 1) if end and self._ends_muscle(end - 1) else None
        if subject is None or subject.i == 0:
            return None
        k = subject.i - 1
        while k > 0 and self.items[k].is_("DET", "ADJ"):
            k -= 1
        return Link(subject) if self.items[k].text in RELYING else None

    def _like(self, expression: Expression) -> Link | None:
        items = self.items
        for k in range(expression.j, min(len(items), expression.j + 8)):
            if items[k].text in LIKE:
                first = k + 1
                while first < len(items) and items[first].is_("DET"):
                    first += 1
                if first < len(items) and items[first].is_("MUS"):
                    subject = self.starting_at(first)
                    return None if subject is None else Link(subject)
            if items[k].is_("MUS", *CLAUSE_ENDS):
                return None
        return None


def _opens(before: Sequence[Item]) -> bool:
    """Whether a clause may begin with these words before its subject: an article, or a phrase of place or time."""
    if all(item.is_("DET", "ADV") for item in before):
        return True
    return before[0].is_("PREP") and not any(item.is_(*OTHER_ACTORS, "BY") for item in before)


def _acts(between: Sequence[Item]) -> bool:
    """Whether these words may be a verb and what it does to something, with no other actor among them."""
    if not between:
        return False
    verb = between[1] if between[0].is_("ADV") and len(between) > 1 else between[0]
    if verb.is_(*NO_VERB) or verb.text.endswith("ed"):
        return False
    return not any(
        item.is_(*OTHER_ACTORS) and not (item.is_("PERSON") and item.text in _UNDERGOING) for item in between
    )


_UNDERGOING = frozenset({"you", "him", "her", "us", "them", "me"})
"""Persons that something is done to: "the quads lower you"."""
