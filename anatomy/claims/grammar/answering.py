"""Muscles named after the motion, and the words that may announce them."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.nouns import Nouns
from anatomy.claims.grammar.terms import EXAMPLES, Link, Subject


class Answering(Nouns):
    """Reads the muscles that follow a motion."""

    def _working(self, k: int) -> Subject | None:
        """ "… because my triceps works": a muscle that is said to work from item ``k`` on, and nothing more."""
        subject = self.starting_at(k)
        if subject is None or subject.j >= len(self.items):
            return None
        after = [item for item in self.items[subject.j :] if not item.is_("AUX", "ADV")]
        return subject if after and after[0].is_("CONTRACT", "ATWORK") else None

    def _denied_before(self, expression: Expression) -> bool:
        if expression.form in ("noun", "agent") or not expression.passive:
            return False
        k = expression.i - 1
        while k >= 0 and self.items[k].is_("ADV", "AUX", "MODAL") and not self.items[k].is_("NEG"):
            k -= 1
        return k >= 0 and self.items[k].is_("NEG")

    def _named_after(self, k: int, link: Link) -> Link | None:
        items = self.items
        while k < len(items) and items[k].is_("CONTRACT", "NEED", "FORCE") and not items[k].is_("MUS", "NEG"):
            k += 1
        while k < len(items) and items[k].is_("NEG", "ADV", "PREP"):
            if items[k].is_("NEG") and not items[k].is_("ADV"):
                link = replace(link, denied=not link.denied)
            k += 1
        if k < len(items) and items[k].is_("BY", "WITH"):
            k += 1
        if (
            k < len(items)
            and items[k].is_("IT")
            and items[k].text in ("it", "them", "these", "this muscle", "these muscles")
        ):
            before = self._last_subject_before(k)
            return replace(link, subject=Subject(k, k + 1, before.names, pronoun=True)) if before else None
        subject = self.starting_at(k)
        return replace(link, subject=subject) if subject else None

    def _with_after(self, k: int, link: Link) -> Link | None:
        subject = self.starting_at(k)
        if subject is None:
            return None
        after = subject.j
        if after < len(self.items) and (
            self.items[after].is_("RELAX", "PV", "FAM", "HELP", "CON", "CONTRACT", "AUX", "STRETCH")
            or not self.items[after].c
        ):
            return None
        return replace(link, subject=subject)

    def _needs_before(self, expression: Expression) -> bool:
        """Whether the motion is what something is needed for: "for hip flexion", "to bend the elbow"."""
        k = expression.i - 1
        while k > 0 and self.items[k].is_("DET", "ADJ", "ADV"):
            k -= 1
        if k < 0 or self.items[k].text not in ("for", "to", "in", "in order to"):
            return False
        if self.items[k].text == "to" and k > 1 and self.items[k - 1].is_("PERSON"):
            return any(
                item.text in ("ask", "want", "tell", "get", "asked", "told") for item in self.items[:k]
            )
        if self.items[k].text == "to" and (
            k < 3
            or self.items[k - 1].text
            in ("want", "trying", "try", "order", "like", "have", "need", "wants", "going")
        ):
            return True
        return k == 0 or self.items[k - 1].is_("COMMA", "ADV", "AND", "BUT", "SUB", "DASH", "COLON", "AS")

    def _needed(self, k: int, link: Link) -> Link | None:
        """ "… you need the glutes", "it's the lats that matter"."""
        items, n = self.items, len(self.items)
        while k < n and items[k].is_("ADV", "MODAL"):
            k += 1
        if k < n and items[k].is_("DET") and items[k - 1].is_("AUX"):
            return self._named_after(k, link)
        if k < n and (items[k].is_("NEED", "AUX", "COMEFROM") or items[k].text == "using"):
            return self._named_after(k + 1, link)
        if k < n and self._starts_muscle(k) and items[k - 1].is_("AUX"):
            return self._named_after(k, link)
        return None

    def _what_does(self, k: int, link: Link) -> Link | None:
        """ "… is what teres minor does"."""
        subject = self.starting_at(k)
        if subject is None or subject.j >= len(self.items):
            return None
        for_it = self.items[subject.j].is_("AUX") and self.items[-1].text == "for"
        if not for_it and not self.items[subject.j].is_("DO", "PROD"):
            return None
        return replace(link, subject=subject)

    def _listed_after(self, expression: Expression) -> Link | None:
        """ "Two muscles bend the elbow: biceps and brachialis", "the muscles lifting the toes, soleus and …, are"."""
        items, n = self.items, len(self.items)
        m = expression.j
        while m < n and items[m].is_("ADV", "PREP", "DET", "PART"):
            m += 1
        if (pointed := self._pointed_after(m)) is not None:
            return pointed
        if m < n and items[m].is_("COLON", "COMMA", "DASH", "AUX"):
            return self._named_after(m + 1, Link(Subject(0, 0, ())))
        return None

    def _pointed_after(self, m: int) -> Link | None:
        """ "… and that's the adductor longus": the name that a statement of what some muscle does ends with."""
        items = self.items
        for k in range(m, min(len(items) - 1, m + 8)):
            if items[k].is_("AND", "COMMA", "DASH") and items[k + 1].text in (
                "that's",
                "it's",
                "that is",
                "those are",
            ):
                return self._named_after(k + 2, Link(Subject(0, 0, ())))
        return None

    def _apposed_after(self, k: int, link: Link, expression: Expression) -> Link | None:
        """ "Your knee extensors, the quads, …": an aside of muscles that ends with a comma and begins no list."""
        meant = k < len(self.items) and self.items[k].text in ("so", "meaning", "that is", "i.e", "namely")
        if meant:
            k += 1
        subject = self.starting_at(k)
        if subject is not None and subject.j < len(self.items) and self.items[subject.j].text in EXAMPLES:
            return replace(link, subject=subject)
        if subject is None or subject.j >= len(self.items) or not self.items[subject.j].is_("COMMA", "DASH"):
            return None
        if meant and expression.i == 0:
            return replace(link, subject=subject)
        if self.items[k].is_("ADV", "SUCHAS") and self.items[k].text in (
            "mainly",
            "mostly",
            "chiefly",
            "primarily",
            "especially",
        ):
            return replace(link, subject=subject)
        after = self.items[subject.j + 1] if subject.j + 1 < len(self.items) else None
        several = len(subject.names) > 1 and self.items[expression.head].text.endswith("s")
        if after is None or after.is_("AND", "OR", "MUS", "DET") or not (self.items[k].is_("DET") or several):
            return None
        if expression.i > 0 and self.items[expression.i - 1].is_("COMMA", "AND", "MUS"):
            return None
        return replace(link, subject=subject)

    def _bare_after(self, k: int, link: Link, passed_be: bool, expression: Expression) -> Link | None:
        items = self.items
        opening = self._needs_before(expression) and expression.form == "base"
        if opening:
            subject = self.starting_at(k)
            works = (
                subject is not None
                and subject.j < len(items)
                and items[subject.j].is_("MODAL", "HELP", "CONTRACT", "HAVE", "AUX")
            )
            return replace(link, subject=subject) if works and subject is not None else None
        if not passed_be:
            if expression.form == "agent" and k == expression.j and "MUS" not in items[expression.head].c:
                subject = self.starting_at(k)
                return replace(link, subject=subject) if subject and len(subject.names) == 1 else None
            return None
        subject = self.starting_at(k)
        if subject is None:
            return None
        after = items[subject.j] if subject.j < len(items) else None
        if (
            after is None
            or (after.is_("CONTRACT") and after.text.endswith("ing"))
            or after.is_(
                "COMMA",
                "JOB",
                "AND",
                "BUT",
                "SUB",
                "ADV",
                "PREP",
                "CLOSE",
                "DASH",
                "COLON",
                "REL",
                "WITH",
                "POSTURE",
            )
        ):
            return replace(link, subject=subject)
        return None
