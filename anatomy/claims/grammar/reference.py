"""What pronouns mean: the muscles named before, at the end, or first among several."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.naming import Naming
from anatomy.claims.grammar.terms import AREAS, FIBRES, HEADS, ORDINALS, PART_NAMING, Link, Subject


class Reference(Naming):
    """Finds what a pronoun stands for."""

    def _stands_alone(self, k: int) -> bool:
        following = self.items[k + 1] if k + 1 < len(self.items) else None
        return (
            following is None
            or not following.is_("MUS", "PART", "MUSNOUN", "ADJ")
            or following.is_("ADV", "PV")
        )

    def _pronoun(self, k: int, link: Link) -> Link | None:
        before = self._named_at_end(k) or self._last_subject_before(k)
        if before is None:
            return None
        names = before.names
        said = self.items[k].text
        said = f"the {said}" if said in ORDINALS else said
        if said.startswith("the first") or said == "the former":
            names = names[:1]
        elif said.startswith(("the second", "the last", "the latter", "the third", "the other")):
            names = names[-1:]
        part = self._part_of(k)
        if part is not None:
            first, word = part
            names = tuple(
                replace(named, name=self._whole_of(named.name), qualifiers=(word,)) for named in names
            )
            return replace(link, subject=Subject(first, k + 1, names, pronoun=True))
        return replace(link, subject=Subject(k, k + 1, names, pronoun=True))

    def _part_of(self, k: int) -> tuple[int, str] | None:
        """ "The back of it", "the lower part of it": where the naming of a part of what "it" means begins, and its word."""
        items = self.items
        if k < 2 or items[k - 1].text != "of":
            return None
        m = k - 2
        if items[m].text in FIBRES and m > 0:
            m -= 1
        word = items[m].text
        if word not in AREAS and word not in PART_NAMING and word not in HEADS:
            return None
        return (m - 1 if m > 0 and items[m - 1].is_("DET") else m), word

    def _whole_of(self, name: str) -> str:
        """The muscle that a part's name names a part of: "deltoid" of "anterior deltoid"."""
        words = name.split(" ")
        for place, held in enumerate(words):
            rest = " ".join([*words[:place], *words[place + 1 :]])
            if held in HEADS and len(words) > 1 and len(self.members(rest)) > 1:
                return rest
        return name

    def _dislocated(self, k: int) -> Subject | None:
        """ "Plantaris, well, he pulls …": the muscles just before a pronoun that speaks of them as of a person."""
        m = k - 1
        while m > 0 and self.items[m].is_("COMMA", "ADV"):
            m -= 1
        return self.ending_at(m) if 0 <= m < k - 1 and self._ends_muscle(m) else None

    def _named_at_end(self, k: int) -> Subject | None:
        """ "It bends the elbow, the triceps.": the muscles that the sentence adds at its end."""
        items = self.items
        end = len(items) - 1
        if k > 1 or not self._ends_muscle(end):
            return None
        subject = self.ending_at(end)
        if subject is None:
            return None
        m = subject.i - 1
        if m > k and items[m].is_("DO"):
            m -= 1
        return subject if m > k + 1 and items[m].is_("COMMA", "DASH") else None

    def named_last(self, expression: Expression) -> Link | None:
        """ "Lifts the outer edge, tib post does.": a verb that opens its sentence, its muscle added at the end."""
        items = self.items
        opens = expression.i == 0 or all(
            item.is_("ADV", "COMMA", "SUB", "AND") for item in items[: expression.i]
        )
        if expression.form != "s" or not (opens or items[expression.i - 1].is_("AND", "COMMA")):
            return None
        if not opens and not any(e.form == "s" and e.i == 0 for e in self.expressions):
            return None
        unnamed = (
            self.topic is not None and not self.apart and not any(item.is_("MUS", "PERSON") for item in items)
        )
        if opens and unnamed and self.topic is not None:
            return Link(Subject(0, 0, self.topic.names, pronoun=True))
        for end in range(expression.j, min(len(items), expression.j + 10)):
            if not self._ends_muscle(end):
                continue
            subject = self.ending_at(end)
            after = end + 1
            while after < len(items) and items[after].is_("DO", "ADV"):
                after += 1
            closes = after >= len(items) or items[after].is_("COMMA", "DASH")
            apart = subject is not None and items[subject.i - 1].is_("COMMA", "DASH")
            return Link(subject) if subject is not None and closes and apart else None
        return None

    def first_among(self, expression: Expression) -> Link | None:
        """ "Of the elbow flexors, triceps is the strongest.": a muscle counted among a group."""
        items, k = self.items, expression.j
        if k >= len(items) or not items[k].is_("COMMA"):
            return None
        subject = self.starting_at(k + 1)
        counted = subject is not None and subject.j < len(items) and items[subject.j].is_("AUX")
        return Link(subject) if counted and subject is not None else None
