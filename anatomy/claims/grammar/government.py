"""Whether a muscle is free to be a subject, or is governed by a preposition or by another verb."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.reference import Reference
from anatomy.claims.grammar.terms import Link, Subject


class Government(Reference):
    """Tells free muscles from governed ones."""

    def _has_at_work(self, k: int, last: int, expression: Expression | None) -> bool:
        """ "made by the biceps bending …", "with the glutes extending …": a muscle at work behind item ``k``."""
        if expression is None or expression.form != "ing" or last + 1 != expression.i:
            return False
        return self.items[k].is_("BY", "PASSBY", "PASSOPP", "WITH", "COMEFROM", "NEED")

    def _given_job(self, k: int, after: int) -> bool:
        """ "The job I'd give the soleus is …": whether a job is handed to the muscle behind item ``k``."""
        items = self.items
        if after >= len(items) or not items[after].is_("AUX"):
            return False
        before = items[max(0, k - 4) : k]
        return any(item.is_("JOB") for item in before) and any(item.is_("PERSON") for item in before)

    def _after_clause(self, k: int) -> bool:
        """ "Every time he heads the ball his splenius …": whether a clause without a comma opens the sentence before ``k``."""
        items = self.items
        if not items[k].is_("DET") or k > 10:
            return False
        begins = items[0].is_("SUB") or (items[0].is_("ADV") and len(items) > 1 and items[1].is_("SUB"))
        between = items[1:k]
        return (
            begins
            and any(item.is_("PERSON") for item in between)
            and not any(i.is_("MUS", "COMMA") for i in between)
        )

    def _helped(self, subject: Subject) -> Subject | None:
        """ "Anconeus helps the biceps to …": the muscle that helps is said to do it as well."""
        k = subject.i - 1
        if k < 1 or not self.items[k].is_("HELP") or not self._ends_muscle(k - 1):
            return None
        first = self.ending_at(k - 1)
        if first is None or self._governed(first.i - 1):
            return None
        return Subject(first.i, subject.j, (*first.names, *subject.names))

    def _job_far_before(self, k: int) -> int | None:
        """ "ECRB's role in the backhand is to …": where the job stands before the verb at item ``k``."""
        for m in range(k - 1, max(0, k - 8), -1):
            if self.items[m].is_("JOB"):
                return m if m + 1 < k and self.items[m + 1].is_("PREP") else None
            if self.items[m].is_("COMMA", "MUS", "PERSON", "AND", "AUX"):
                return None
        return None

    def _able(self, k: int) -> bool:
        """ "has the power to", "is strong enough to": whether item ``k`` stands between such a verb and "to"."""
        for m in range(k - 1, max(-1, k - 5), -1):
            if self.items[m].is_("AUX", "HAVE") and not self.items[m].is_("MUS"):
                return m > 0 and (self._ends_muscle(m - 1) or self.items[m - 1].is_("IT", "ADV", "MODAL"))
            if self.items[m].is_("MUS", "PERSON", "COMMA", "AND", "PV", "FAM"):
                return False
        return False

    def _named_by_what(self, k: int) -> Subject | None:
        """ "What the soleus does under load is (lift …)" when item ``k`` is the last verb before the motion."""
        items = self.items
        for m in range(k, max(0, k - 7), -1):
            if items[m].text in ("does", "do", "can do", "will do") and self._ends_muscle(m - 1):
                subject = self.ending_at(m - 1)
                asked = (
                    subject is not None
                    and subject.i > 0
                    and items[subject.i - 1].text in ("what", "all", "thing")
                )
                return subject if asked and m < k else None
            if (
                items[m].text in ("does", "do")
                and m > 1
                and items[m - 1].is_("IT", "DET")
                and items[m - 2].text == "what"
            ):
                meant = self._last_subject_before(m - 1)
                return replace(meant, i=m - 1, j=m, pronoun=True) if meant is not None and m < k else None
            if items[m].is_("COMMA", "MUS", "PERSON") and m < k:
                return None
        return None

    def _same_subject(self, k: int) -> Link | None:
        """ "The vastus crosses the hip and bends it": the subject of an ordinary verb before "and" at item ``k``."""
        items = self.items
        for m in range(k - 1, max(-1, k - 12), -1):
            if items[m].is_("PERSON", "SUB", "REL", "COLON", "COMMA", "OPEN") or (
                items[m].is_("PV", "FAM") and not items[m].is_("PART", "CROSS")
            ):
                return None
            if not self._ends_muscle(m):
                continue
            verb = items[m + 1]
            finite = (
                verb.text.endswith("s")
                and (self._unknown(verb) or verb.is_("LVERB", "SVERB", "HELP", "HAVE", "CROSS"))
            ) or verb.is_("AUX", "HELP")
            subject = self.ending_at(m)
            if subject is None or not finite or m + 1 >= k or verb.is_("MUSNOUN", "PERSON", "FAIL"):
                return None
            return None if self._governed(subject.i - 1) else Link(subject)
        return None

    def _opens(self, k: int) -> bool:
        subject = self.ending_at(k)
        return subject is not None and (
            subject.i == 0
            or self.items[subject.i - 1].is_(
                "COMMA", "SUB", "BUT", "AND", "COLON", "DASH", "SEE", "CORRECT", "ADV"
            )
        )

    def _governed(self, k: int) -> bool:
        """Whether a preposition or a verb governs the muscle, so that it can't be the subject ("I trained my biceps")."""
        if k < 0:
            return False
        item = self.items[k]
        if item.is_("SEE") or item.text.endswith((" feel", " see")) or self._opens_with_phrase(k):
            return False
        if k in self.agents and "MUS" not in item.c:
            return False
        if item.text in ("the two", "the three", "all three", "all four", "both", "these two", "muscle"):
            return False
        if item.is_("DO") and (k == 0 or self.items[k - 1].is_("ADV", "NEG", "AND", "SAME")):
            return False
        if item.is_("FORCE") and k >= 0 and item.text.endswith("ing"):
            return False
        if item.text in ("of", "in", "on", "from") and k > 0 and self.items[k - 1].is_("FORCE"):
            return False
        if item.is_(
            "COMMA",
            "AND",
            "OR",
            "SUB",
            "BUT",
            "COLON",
            "DASH",
            "REL",
            "ADV",
            "CORRECT",
            "NEG",
            "OPEN",
            "QUOTE",
            "MARK",
            "DIR",
            "AS",
            "SUCHAS",
            "LET",
            "NUM",
            "SAME",
        ) and not item.is_("PREP"):
            return False
        return item.text not in (
            "that",
            "so",
            "with",
            "then",
            "see",
            "watch",
            "feel",
            "have",
            "let",
            "lets",
            "makes",
            "make",
            "has",
            "how",
            "where",
            "why",
            "means",
            "remember",
            "know",
            "knows",
            "think",
            "say",
            "notice",
            "here",
            "it's",
            "say:",
            "is",
            "are",
        )

    def _opens_with_phrase(self, k: int) -> bool:
        """Whether item ``k`` ends a phrase or clause that opens the sentence ("In his last step the glutes …")."""
        items = self.items
        for m in range(k, max(-1, k - 9), -1):
            opener = items[m].is_("PREP", "POSTURE", "WITH", "BY", "SUB", "AS") and m < k
            if opener and (
                m == 0 or items[m - 1].is_("COMMA", "AND", "SUB", "BUT", "ADV", "DASH", "COLON", "DIR", "PV")
            ):
                clause = items[m].is_("SUB", "AS") and not items[m].is_("PREP")
                return not clause or not any(item.is_("MUS", "PERSON") for item in items[m:k])
            if m > 0 and items[m].is_("PERSON") and items[m - 1].is_("SUB", "AS") and m + 1 < k + 1:
                return m + 1 <= k and any(item.is_("INTRANS") for item in items[m + 1 : k + 1])
            if items[m].is_("COMMA", "PERSON", "MUS"):
                return False
            acts = items[m].is_("AUX", "MODAL", "PV", "FAM", "HELP", "PROD") and not items[m].is_(
                "ADJ", "MVT", "PART", "MUSNOUN"
            )
            # "In the arch hold": what ends a name that an article begins is no verb.
            named = m > 1 and items[m - 2].is_("DET") and not items[m - 1].is_("PERSON", "MUS", "AUX")
            if acts and not named and not items[m - 1].is_("DET", "ADJ", "PREP", "PART", "SEG", "DIR", "MVT"):
                return False
        return False

    def _is_stretched(self, k: int) -> bool:
        return k >= 0 and (
            self.items[k].is_("STRETCH", "OPP")
            or self.items[k].text
            in ("relax", "rest", "massage", "release", "without", "than", "loosen", "from", "against")
        )

    def _held_from(self, k: int) -> int | None:
        """The verb in "stops the knee from (bending)" when item ``k`` is "from" or the part."""
        items = self.items
        for m in range(k, max(-1, k - 5), -1):
            if items[m].is_("OPP", "LET") and m < k:
                return m
            if not (items[m].is_("PART", "DET", "ADJ", "DIR", "IT") or items[m].text == "from"):
                return None
        return None
