"""The walk from a verb to the left, to the muscles that it is said of."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.asides import Asides
from anatomy.claims.grammar.terms import FIBRES, ORDINALS, Link, Subject


class Leftward(Asides, ABC):
    """Walks left from a verb."""

    @abstractmethod
    def left_of(self, expression: Expression) -> Link | None:
        """The subject of a verb, a motion noun or an agent."""

    def _one_of(self, k: int) -> Subject | None:
        """ "Subscapularis is the only one of the (cuff muscles) that …": what is said is said of the one."""
        items = self.items
        while k > 0 and items[k - 1].is_("DET", "NUM", "ADJ") and items[k - 1].text != "one of":
            k -= 1
        if k == 0 or items[k - 1].text != "one of":
            return None
        k -= 1
        while k > 0 and items[k - 1].is_("DET", "ADJ", "ADV"):
            k -= 1
        if k < 2 or not items[k - 1].is_("AUX", "COP") or not self._ends_muscle(k - 2):
            return None
        return self.ending_at(k - 2)

    def _walk(self, k: int, link: Link, expression: Expression | None) -> Link | None:
        items = self.items
        steps = 0
        to = cleft = False
        loose = 0
        while k >= 0 and steps < 40:
            steps += 1
            item = items[k]
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.text in FIBRES and (fibres := self._fibres(k)) is not None:
                return replace(link, subject=fibres)
            elif (
                item.is_("IT")
                and self._stands_alone(k)
                and not (
                    cleft
                    and k > 0
                    and items[k - 1].is_("AUX")
                    and item.text not in ("this one", "these", "those")
                )
            ):
                return None if self._moves_itself(k, expression) else self._pronoun(k, link)
            elif self._ends_muscle(k):
                if expression is not None and expression.passive:
                    return None
                subject = self.ending_at(k)
                if subject is None:
                    return None
                if subject.i > 0 and items[subject.i - 1].is_("NEG") and not items[subject.i - 1].is_("ADV"):
                    link = replace(link, denied=not link.denied)
                if to and self._is_stretched(subject.i - 1):
                    return None
                contrasted = subject.i > 1 and items[subject.i - 1].text in (
                    "rather than",
                    "instead of",
                    "unlike",
                    "and not",
                    "not",
                )
                if contrasted and self._ends_muscle(subject.i - 2):
                    instead = self.ending_at(subject.i - 2)
                    if instead is not None and not self._governed(instead.i - 1):
                        return replace(link, subject=instead)
                if self._governed(subject.i - 1) and not to and not cleft:
                    given = self._given_job(subject.i - 1, k + 1)
                    if not given and expression is not None and expression.form == "s":
                        given = self._after_clause(subject.i)
                    if not given and not self._has_at_work(subject.i - 1, k, expression):
                        return None
                if to and (helped := self._helped(subject)) is not None:
                    subject = helped
                if cleft and (member := self._one_of(subject.i)) is not None:
                    subject = member
                return replace(link, subject=subject)
            elif item.text in ("that", "this") and k == 0 and self.topic is not None:
                return replace(link, subject=Subject(0, 1, self.topic.names, pronoun=True))
            elif item.is_("REL"):
                cleft = True
            elif (
                item.text in ("one", "ones")
                and k > 1
                and items[k - 1].is_("DET")
                and items[k - 2].is_("AUX", "POSS", "COMMA", "DASH")
            ):
                cleft = True
                k -= 1
            elif item.is_("RESP"):
                pass
            elif cleft and item.text in ("these are", "those are", "that's", "they're") and k > 0:
                return self._pronoun(k, link)
            elif cleft and item.is_("MUSNOUN", "DET", "ADJ", "NUM") and not item.is_("MUS"):
                pass
            elif cleft and k > 0 and self._unknown(item) and items[k - 1].is_("AS"):
                k -= 1
            elif (
                cleft
                and k > 0
                and not item.is_("MUS", "PERSON", "COMMA", "AND", "AUX", "IT", "PREP")
                and items[k - 1].is_("DET", "ADJ", "NUM", "AUX", "COP")
            ):
                pass
            elif cleft and item.is_("COMMA") and k > 0 and self._ends_muscle(k - 1):
                denied = self._one_ending_at(k - 1)
                if denied is not None and denied[1] > 1 and items[denied[1] - 1].is_("NEG", "BUT"):
                    k = denied[1] - 1
            elif cleft and item.is_("COMMA", "DASH") and k > 0 and self._names_muscle(k - 1):
                pass
            elif item.text == "whose" or (
                item.is_("FORCE", "JOB") and k > 0 and items[k - 1].text in ("whose", "its", "their")
            ):
                before = self._last_subject_before(k - (0 if item.text == "whose" else 1))
                return replace(link, subject=replace(before, pronoun=True)) if before is not None else None
            elif item.text == "by" and expression is not None and expression.form == "ing" and k > 0:
                if items[k - 1].is_("COMMA") and k > 1 and self._ends_muscle(k - 2):
                    k -= 1
                elif not self._ends_muscle(k - 1):
                    return self._joined(k, expression)
            elif item.is_("COLON", "COMMA", "DASH") and to and k > 0 and items[k - 1].is_("JOB"):
                return self._of_job(k - 1, link)
            elif item.is_("COLON") and k > 0 and (headed := self._headed(k)) is not None:
                return replace(link, subject=headed)
            elif (
                (item.is_("HAVE") and not item.is_("AUX"))
                or (item.is_("CONTRACT") and k + 1 < len(items) and items[k + 1].is_("AND", "COMMA"))
                or (
                    item.is_("FORCE", "JOB")
                    and k > 0
                    and "POSS" in items[k - 1].c
                    and not items[k - 1].is_("PART")
                )
            ):
                pass
            elif item.text in ("that", "this") and k == 0 and self.topic is not None:
                return replace(link, subject=Subject(0, 1, self.topic.names, pronoun=True))
            elif (
                item.text in ORDINALS
                and k > 0
                and items[k - 1].is_("DET")
                and (expression is None or k + 1 >= expression.i - 1)
            ):
                return self._pronoun(k, link)
            elif item.is_("PERSON") and k > 0 and items[k - 1].is_("LET"):
                k -= 1
            elif item.is_("JOB") and k + 1 < len(items) and items[k + 1].is_("AUX"):
                return self._of_job(k, link)
            elif (
                item.text in ("all", "both", "each", "all three", "all four")
                and k > 0
                and self._ends_muscle(k - 1)
            ):
                pass
            elif item.is_("OPP") and (
                to
                or items[k + 1].is_("ADV", "DET", "FAM", "PART", "PV")
                or k + 1 == (expression.i if expression else -1)
            ):
                link = replace(link, against=not link.against)
            elif item.is_("STRETCH") and not item.is_("ADJ"):
                link = replace(link, lengthened=True)
            elif item.text == "to":
                to = True
            elif item.text == "there is" and k > 0 and items[k - 1].is_("DO"):
                pass
            elif item.text == "what" and k > 0 and items[k - 1].is_("AUX"):
                cleft = True
            elif item.is_("AUX") and to and (job := self._job_far_before(k)) is not None:
                return self._of_job(job, link)
            elif item.is_("AUX", "DO", "PROD") and (named := self._named_by_what(k)) is not None:
                return replace(link, subject=named)
            elif item.is_("AUX", "MODAL", "DO", "ADV", "HELP", "COP", "CORRECT") and not item.is_("PERSON"):
                loose = 0
            elif (
                to
                and loose < 4
                and (
                    item.is_("ADJ", "DET", "FORCE", "JOB")
                    or self._unknown(item)
                    or (item.is_("PV") and item.text.endswith("ed"))
                )
                and self._able(k)
            ):
                loose += 1
            elif item.text in ("in", "at", "by", "for", "with") and k > 0 and items[k - 1].is_("HELP", "JOB"):
                pass
            elif item.is_("BUT", "AND", "COMMA", "OR", "DASH"):
                if item.text in ("rather than", "instead of", "and not"):
                    link = replace(link, denied=not link.denied)
                joined = self._joined(k, expression)
                if joined is not None:
                    return replace(
                        joined,
                        denied=link.denied if link.denied else joined.denied and item.is_("OR"),
                        against=link.against,
                        hedged=link.hedged or joined.hedged,
                    )
                if item.is_("AND") and expression is not None and expression.form in ("s", "base"):
                    same = self._same_subject(k)
                    if same is not None:
                        return replace(link, subject=same.subject)
                apposed = self._apposed_before(k)
                if apposed is not None:
                    return replace(link, subject=apposed)
                if item.is_("COMMA") and k > 0 and self._ends_muscle(k - 1) and self._opens(k - 1):
                    listed = self.ending_at(k - 1)
                    held = items[listed.i : listed.j] if listed is not None else []
                    plain = not any(one.is_("NEG", "BUT") for one in held)
                    if listed is not None and len(listed.names) > 1 and plain:
                        return replace(link, subject=listed)
                aside = self._before_aside(k)
                if aside is not None:
                    example = self._example(aside + 2, k)
                    if example is not None and (outer := self.ending_at(aside)) is not None:
                        return replace(link, subject=Subject(outer.i, k, (*outer.names, *example.names)))
                    if (part := self._part_in_aside(aside + 2, k)) and (outer := self.ending_at(aside)):
                        names = tuple(replace(named, qualifiers=(part,)) for named in outer.names)
                        return replace(link, subject=replace(outer, j=k, names=names))
                    k = aside
                    continue
                adjectival = k + 1 < len(items) and items[k + 1].text.startswith(("responsible", "in charge"))
                if item.is_("COMMA") and k > 0 and adjectival and self._ends_muscle(k - 1):
                    subject = self.ending_at(k - 1)
                    return replace(link, subject=subject) if subject is not None else None
                if (
                    item.is_("COMMA", "AND")
                    and k > 0
                    and expression is not None
                    and (
                        items[k - 1].is_("ADV", "HELP", "CONTRACT", "REL", "AND", "COMMA", "BUT")
                        or self._ends_muscle(k - 1)
                    )
                ):
                    if self._ends_muscle(k - 1) and expression.form != "ing" and item.is_("AND"):
                        return None
                    if self._ends_muscle(k - 1) and not self._opens(k - 1):
                        return None
                else:
                    return None
            elif item.is_("PERSON"):
                if item.text in ("he", "she", "they") and (named := self._dislocated(k)) is not None:
                    return replace(link, subject=named)
                return self._with_before(k, link)
            elif (stop := self._held_from(k)) is not None:
                if not items[stop].is_("LET"):
                    link = replace(link, against=not link.against)
                k = stop
            else:
                passed = self._before_phrase(k)
                if passed is None:
                    return None
                k = passed
                continue
            k -= 1
        return None

    def _moves_itself(self, k: int, expression: Expression | None) -> bool:
        """ "They slow the knee down as it straightens": "it" is the part named last, since nothing is moved by it."""
        if expression is None or expression.object or expression.parts or self.items[k].text != "it":
            return False
        if expression.passive or k == 0 or not self.items[k - 1].is_("SUB"):
            return False
        for item in reversed(self.items[: k - 1]):
            if "PART" in item.c and not item.is_("MUS", "DIR"):
                return True
            if item.is_("MUS"):
                return False
        return False

    def _joined(self, k: int, expression: Expression | None) -> Link | None:
        """The subject of the predicate that ends before a comma or "and"."""
        items = self.items
        m = k
        while (
            m > 0
            and items[m - 1].is_("ADV", "COMMA", "AND", "BUT", "OR", "SUB")
            and not items[m - 1].is_("DIR")
        ):
            m -= 1
        if (
            expression is not None
            and expression.form == "base"
            and items[expression.i - 1].text in ("so", "therefore")
        ):
            return None
        earlier = self.by_end.get(m)
        steps = 0
        while (
            earlier is None
            and m > 0
            and steps < 7
            and not items[m - 1].is_("MUS", "PERSON", "AUX", "SUB", "COLON", "IT", "REL")
        ):
            m -= 1
            steps += 1
            earlier = self.by_end.get(m)
        if (
            earlier is None
            or earlier is expression
            or (earlier.form in ("noun", "agent") and expression is not None and expression.form in ("s",))
        ):
            return None
        if earlier.form in ("noun", "agent"):
            return self.left_of(earlier) if expression is None or expression.form == earlier.form else None
        if earlier.object == "self" and not earlier.passive:
            return None
        return self.left_of(earlier)

    def _headed(self, k: int) -> Subject | None:
        """ "Action of popliteus: …", "Teres major, action: …": the muscle that a heading before the colon ``k`` names."""
        items = self.items
        m = k - 1
        if m >= 0 and items[m].is_("JOB"):
            m -= 1
            while m > 0 and items[m].is_("COMMA", "ADJ", "DET"):
                m -= 1
            return self.ending_at(m) if m >= 0 and self._ends_muscle(m) else None
        if m < 2 or not self._ends_muscle(m):
            return None
        subject = self.ending_at(m)
        of_job = subject is not None and subject.i > 1 and items[subject.i - 1].text in ("of", "for")
        return subject if subject is not None and of_job and items[subject.i - 2].is_("JOB") else None

    def _opening(self, k: int, link: Link, loose: bool = False) -> Link | None:
        """Muscles ending at ``k`` that open their clause ("Biceps: elbow flexion")."""
        subject = self.ending_at(k)
        if subject is None:
            return None
        before = self.items[subject.i - 1] if subject.i else None
        if (
            before is None
            or before.is_("COMMA", "AND", "SUB", "ADV", "COLON", "DASH", "BUT")
            or (before.text == "of" and subject.i > 1 and self.items[subject.i - 2].is_("JOB"))
            or (
                loose
                and before.text
                in (
                    "use",
                    "uses",
                    "need",
                    "needs",
                    "using",
                    "think",
                    "have",
                    "got",
                    "want",
                    "recruit",
                    "recruits",
                    "take",
                    "with",
                    "thank",
                    "thanks",
                    "blame",
                    "credit",
                    "praise",
                    "train",
                )
            )
        ):
            return replace(link, subject=subject)
        return None

    def _of_job(self, k: int, link: Link) -> Link | None:
        """Around "job": "its main job is", "the job of the deltoid is", "subscapularis' job is"."""
        items = self.items
        m = k - 1
        while m >= 0 and items[m].is_("ADJ", "ADV") and not items[m].is_("MUS"):
            m -= 1
        while m > 0 and (items[m].is_("NUM") or (items[m].is_("DET") and items[m - 1].is_("HAVE"))):
            m -= 1
        if m > 0 and items[m].is_("HAVE") and self._ends_muscle(m - 1):
            m -= 1
        if m >= 0 and items[m].text in ("its", "their", "whose"):
            subject = self._last_subject_before(m)
            return replace(link, subject=Subject(m, m + 1, subject.names, pronoun=True)) if subject else None
        if m >= 0 and "MUS" in items[m].c:
            subject = self.ending_at(m)
            return replace(link, subject=subject) if subject else None
        if k + 1 < len(items) and items[k + 1].text in ("of", "for"):
            subject = self.starting_at(k + 2)
            return replace(link, subject=subject) if subject else None
        return None
