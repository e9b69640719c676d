"""Motion nouns and agents: "produces elbow flexion", "is an elbow flexor", "the job of psoas is"."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressing.expression import BODY, Expression
from anatomy.claims.grammar.leftward import Leftward
from anatomy.claims.grammar.terms import COUNTED, Link, Subject

APPOSING = frozenset({"that's", "that is", "being", "which is", "which are", "both of them", "all of them", "each of them", "those are", "these are", "they're", "it's"})  # fmt: skip
"""How an aside about the muscle just named may begin."""


class Nouns(Leftward):
    """Reads what motion nouns and agents depend on."""

    def _of_noun(self, expression: Expression) -> Link | None:
        """ "produces elbow flexion", "is for hip extension", "the job of psoas is hip flexion"."""
        items = self.items
        k = expression.i - 1
        link = Link(Subject(0, 0, ()))
        if k > 2 and items[k].text == "no" and items[k - 1].is_("COMMA") and self._ends_muscle(k - 2):
            lacking = self.ending_at(k - 2)
            if lacking is not None and lacking.i > 0 and items[lacking.i - 1].text in ("no", "without"):
                return replace(link, subject=lacking)
        steps = 0
        while k >= 0 and steps < 10:
            steps += 1
            item = items[k]
            if item.is_("NOPART"):
                return self._walk(k - 1, replace(link, denied=not link.denied), None)
            if item.is_("PROD", "OPP") and self._is_verb(k):
                if item.is_("OPP"):
                    link = replace(link, against=True)
                return self._walk(k - 1, link, None)
            if item.is_("STRETCH"):
                return None
            if k == expression.i - 1 and "POSS" in item.c and self._ends_muscle(k):
                subject = self.ending_at(k)
                return replace(link, subject=subject) if subject is not None else None
            if item.text in BODY and k > 0 and items[k - 1].is_("PROD"):
                k -= 1
                continue
            if item.text == "into" and (verb := self._verb_before_object(k - 1)) is not None:
                return self._walk(verb - 1, link, None)
            if item.is_("JOB") and k + 1 < len(items):
                return self._of_job(k, link)
            if item.is_("COLON", "DASH") and k > 0 and self._ends_muscle(k - 1):
                return self._opening(k - 1, link)
            if item.is_("COLON") and (headed := self._headed(k)) is not None:
                return replace(link, subject=headed)
            if (
                item.text in ("for", "in", "of", "behind", "at", "during")
                and k > 1
                and items[k - 1].is_("ROLE", "ANTAG", "CPT")
            ):
                return self._of_role(k - 1, link)
            if item.is_("HAVE") and link.denied:
                return self._walk(k - 1, link, None)
            if item.text in ("for", "in") and k > 0 and self._ends_muscle(k - 1) and item.text == "for":
                return self._opening(k - 1, link, loose=True)
            if item.is_("AND", "OR", "COMMA"):
                joined = self._joined(k, expression)
                if joined is not None:
                    return joined
                return None
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AUX", "COP"):
                m = k - 1
                while m > 0 and items[m].is_("ADV", "MODAL"):
                    m -= 1
                if m >= 0 and items[m].is_("JOB"):
                    return self._of_job(m, link)
                if m >= 0 and self._ends_muscle(m):
                    subject = self.ending_at(m)
                    if subject is not None and (item.is_("COP") or self._job_before(subject.i - 1)):
                        return replace(link, subject=subject)
                if (
                    items[k + 1].text in ("for", "about", "all about")
                    and m >= 0
                    and (self._ends_muscle(m) or items[m].is_("IT"))
                ):
                    return self._walk(m, link, None)
                return None
            elif item.is_("MUS") or (
                not item.is_("DET", "ADJ", "ADV", "PREP", "DIR", "WITH", "SUCHAS") and item.text != "as"
            ):
                return None
            k -= 1
        return None

    def _verb_before_object(self, k: int) -> int | None:
        """The verb in "takes the arm into (external rotation)" when item ``k`` ends its object."""
        items = self.items
        seen = False
        while (
            k >= 0
            and (items[k].is_("PART", "DET", "ADJ", "IT") or items[k].text in BODY)
            and not items[k].is_("MUS")
        ):
            seen = seen or items[k].is_("PART", "IT") or items[k].text in BODY
            k -= 1
        return (
            k
            if seen and k > 0 and not items[k].is_("MUS", "PERSON", "AUX", "COMMA", "AND", "PREP", "SUB")
            else None
        )

    def _of_role(self, k: int, link: Link) -> Link | None:
        """ "is the prime mover for", "acts as an antagonist in": item ``k`` is the role."""
        items = self.items
        if items[k].is_("ANTAG") or "antagonist" in items[k].text:
            link = replace(link, against=not link.against)
        elif (
            items[k].is_("CPT")
            and not items[k].is_("ROLE")
            and not items[k].text.startswith(("prime mover", "agonist", "synergist"))
        ):
            return None
        k -= 1
        while k >= 0 and items[k].is_("DET", "ADJ", "ROLE", "ADV", "NUM") and not items[k].is_("AUX"):
            k -= 1
        if k > 0 and items[k].is_("AUX", "COP", "AS"):
            return self._walk(k - 1, link, None)
        if k > 0 and items[k].is_("COMMA") and self._ends_muscle(k - 1):
            subject = self.ending_at(k - 1)
            return replace(link, subject=subject) if subject is not None else None
        return None

    def _job_before(self, k: int) -> bool:
        """Whether "the action (we want) of" stands before the muscle that begins after item ``k``."""
        items = self.items
        if k < 1 or items[k].text not in ("of", "for", "from", "with"):
            return False
        return any(item.is_("JOB") for item in items[max(0, k - 4) : k])

    def _is_verb(self, k: int) -> bool:
        return not (self.items[k].is_("OPP") and k > 0 and self.items[k - 1].is_("DET"))

    def _apposed_clause(self, k: int) -> Subject | None:
        """ "The infraspinatus, that's your internal rotator, …", "…, being the largest flexor, …": an aside about its muscle."""
        items = self.items
        opens = items[k].text in APPOSING and k > 1 and items[k - 1].is_("COMMA", "DASH", "OPEN")
        if not opens or not self._ends_muscle(k - 2):
            return None
        # "The soleus isn't a dorsiflexor, it's a plantarflexor" goes on about the soleus.
        said_to_be = self._said_to_be(k - 2)
        if said_to_be is None:
            return self.ending_at(k - 2)
        return (
            self.ending_at(said_to_be) if self._ends_muscle(said_to_be) else self._last_subject_before(k - 1)
        )

    def _of_agent(self, expression: Expression) -> Link | None:
        """ "is an elbow flexor", ", the main knee extensor,", "works as an external rotator"."""
        items = self.items
        k = expression.i - 1
        link = Link(Subject(0, 0, ()))
        steps = 0
        determined = False
        while k >= 0 and steps < 9:
            steps += 1
            item = items[k]
            if (
                item.is_("AS")
                and k > 3
                and items[k - 1].is_("JOB")
                and items[k - 2].is_("DET")
                and items[k - 3].is_("PREP")
            ):
                k -= 3
            if item.is_("AS") and k > 1 and items[k - 1].is_("COMMA") and self._ends_muscle(k - 2):
                k -= 1
            if item.is_("AS") and k > 0 and self._ends_muscle(k - 1):
                subject = self.ending_at(k - 1)
                return replace(link, subject=subject) if subject is not None else None
            if (named := self._apposed_clause(k)) is not None:
                return replace(link, subject=named)
            if item.is_("AUX") and item.text in ("it's", "they're", "these are", "those are") and k < 2:
                return self._pronoun(k, link)
            if item.is_("AUX", "COP", "AS"):
                return self._walk(k - 1, link, None)
            if item.is_("COLON", "DASH", "OPEN") and k > 0 and self._ends_muscle(k - 1):
                return self._opening(k - 1, link)
            if item.text in ("isn't", "aren't", "wasn't", "weren't", "isnt", "arent"):
                return self._walk(k - 1, replace(link, denied=not link.denied), None)
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AND", "OR"):
                earlier = next(
                    (e for e in self.expressions if e.form == "agent" and e.j == k and e is not expression),
                    None,
                )
                if earlier is not None and "MUS" not in items[earlier.head].c:
                    return self.left_of(earlier)
                return self.left_of(earlier) if earlier is not None else None
            elif item.is_("COMMA"):
                earlier = next((e for e in self.expressions if e.form == "agent" and e.j == k), None)
                if earlier is not None and self.left_of(earlier) is not None:
                    return self.left_of(earlier)
                begins = (
                    k > 0 and self._ends_muscle(k - 1) and (self.ending_at(k - 1) or Subject(9, 9, ())).i == 0
                )
                determined = determined or (begins and not items[expression.head].text.endswith("s"))
                if (
                    not determined
                    or k == 0
                    or not self._ends_muscle(k - 1)
                    or (k - 1 in self.agents and "MUS" not in items[k - 1].c)
                ):
                    return None
                one = determined and not items[expression.head].text.endswith("s")
                closing = (
                    one or expression.j >= len(items) or items[expression.j].is_("COMMA", "CLOSE", "DASH")
                )
                subject = self.ending_at(k - 1)
                if subject is None or not closing:
                    return None
                many = items[expression.head].text.endswith("s")
                if many and len(subject.names) == 1 and not items[k - 1].text.endswith("s"):
                    return None
                return replace(link, subject=subject)
            elif item.is_("MUS") and determined and self._ends_muscle(k):
                subject = self.ending_at(k)
                called = (
                    subject is not None
                    and subject.i > 0
                    and items[subject.i - 1].text in ("call", "calls", "consider", "called")
                )
                return replace(link, subject=subject) if subject is not None and called else None
            elif item.is_("DET", "ADJ", "ADV", "PREP", "DIR", "NUM") or item.text in COUNTED:
                determined = determined or item.is_("DET")
            elif self._unknown(item) and not determined and k > 0 and items[k - 1].is_("DET", "ADJ", "ADV"):
                pass
            else:
                return None
            k -= 1
        return None
