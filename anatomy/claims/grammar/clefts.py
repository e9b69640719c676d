"""Clefts, causes and losses: "what lifts the heel is …", "when the quads shorten …", "without … you can't"."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.rightward import Rightward
from anatomy.claims.grammar.terms import WEAK, Link, Subject


class Clefts(Rightward):
    """Reads clefts, causes and losses."""

    def cleft_of(self, expression: Expression) -> Link | None:
        """ "What lifts the heel is gastrocnemius", "the muscle that bends the elbow is biceps"."""
        items = self.items
        k = expression.i - 1
        while k >= 0 and (items[k].is_("ADV", "AUX", "MODAL", "HELP") or items[k].text == "to"):
            k -= 1
        held = self._held_from(k) if k > 0 else None
        if held is not None and items[held].is_("LET"):
            k = held - 1
        if k < 0:
            return None
        generic = (
            items[k].text in ("one", "ones")
            or items[k].is_("MUSNOUN")
            or items[k].text.endswith(("muscle", "muscles"))
        )
        if generic and "MUS" not in items[k].c and not self._ends_muscle(k):
            return self._listed_after(expression)
        relative = (
            items[k].is_("REL")
            and k > 0
            and (
                items[k - 1].is_("MUSNOUN", "IT", "ROLE")
                or items[k - 1].text in ("thing", "chap", "fellow", "bloke")
            )
            and "MUS" not in items[k - 1].c
        )
        if not relative and items[k].text not in ("what", "whatever", "who"):
            return None
        m = expression.j
        while m < len(items) and items[m].is_("ADV", "PREP", "DET", "PART"):
            m += 1
        if relative and (pointed := self._pointed_after(m)) is not None:
            return pointed
        if m < len(items) and items[m].is_("COMMA") and relative:
            return self._named_after(m + 1, Link(Subject(0, 0, ())))
        if m < len(items) and not items[m].is_("AUX", "COLON"):
            m = self._past_phrases(expression.j)
        if m >= len(items) or not items[m].is_("AUX", "COLON"):
            return None
        return self._named_after(m + 1, Link(Subject(0, 0, ())))

    def one_of_group(self, expression: Expression) -> Link | None:
        """ "The cuff muscle that turns the arm in is …", "infraspinatus is the cuff muscle that …": one of a group, named."""
        items = self.items
        k = expression.i - 1
        if k < 2 or not items[k].is_("REL") or not items[k - 1].text.endswith("muscle"):
            return None
        group = k - 1 if "MUS" in items[k - 1].c else k - 2
        if "MUS" not in items[group].c:
            return None
        before = group - 1
        while before >= 0 and items[before].is_("DET", "ADJ", "ADV", "NUM") and not items[before].is_("AUX"):
            before -= 1
        if before > 0 and items[before].is_("AUX", "COP") and self._ends_muscle(before - 1):
            return self._walk(before, Link(Subject(0, 0, ())), None)
        m = self._past_phrases(expression.j)
        if m < len(items) and items[m].is_("AUX", "COLON"):
            return self._named_after(m + 1, Link(Subject(0, 0, ())))
        return None

    def _past_phrases(self, m: int) -> int:
        """Past what hangs on a verb: "(bends the elbow) fast at the finish (is …)"."""
        items = self.items
        while m < len(items):
            if items[m].is_("PREP") and (after := self._past_phrase(m)) is not None and after > m:
                m = after
            elif items[m].is_("ADV", "DET", "PART") and not items[m].is_("AUX", "MUS"):
                m += 1
            else:
                break
        return m

    def cause_of(self, expression: Expression) -> Link | None:
        """ "When the quads shorten the knee straightens", "the fingers bend because the flexors pull"."""
        if expression.object != "self" and not expression.passive:
            return None
        items, n = self.items, len(self.items)
        k = expression.j
        if k < n and items[k].text in ("because", "when", "once", "whenever"):
            subject = self.starting_at(k + 1)
            if subject is not None and subject.j < n and items[subject.j].is_("CONTRACT"):
                return Link(subject)
        if (
            k + 1 < n
            and items[k].is_("COMMA")
            and items[k + 1].text in ("so", "and", "because", "since", "as")
        ):
            worked = self._working(k + 2)
            if worked is not None:
                return Link(worked)
        k = expression.i - 1
        while k >= 0 and items[k].is_("PART", "DET", "ADJ", "ADV", "MODAL", "AUX", "NUM"):
            k -= 1
        if k > 1 and items[k].is_("COMMA") and self._ends_muscle(k - 1):
            subject = self.ending_at(k - 1)
            if subject is not None and subject.i > 0 and items[subject.i - 1].is_("PASSBY", "BY"):
                return Link(subject)
        if k < 1 or not (items[k].is_("COMMA", "AND", "SUB", "CONTRACT", "MUS")):
            return None
        while k > 0 and items[k].is_("COMMA", "AND", "ADV"):
            k -= 1
        if self._ends_muscle(k):
            subject = self.ending_at(k)
            ruled = (
                subject is not None and subject.i > 0 and items[subject.i - 1].is_("CONTRACT", "BY", "WITH")
            )
            return Link(subject) if ruled and subject is not None else None
        if (
            k > 1
            and items[k].text in ("on", "active", "working", "firing", "engaged", "busy")
            and items[k - 1].is_("AUX")
        ):
            k -= 1
        elif k == 0 or not items[k].is_("CONTRACT"):
            return None
        if items[k - 1].is_("IT") or items[k - 1].text == "that":
            meant = self._last_subject_before(k - 1)
            return Link(replace(meant, i=k - 1, j=k, pronoun=True)) if meant is not None else None
        if not self._ends_muscle(k - 1):
            return None
        subject = self.ending_at(k - 1)
        if subject is None:
            return None
        opens = subject.i == 0 or items[subject.i - 1].is_("SUB", "POSTURE", "AS", "COMMA", "AND")
        return Link(subject) if opens else None

    def loss_of(self, expression: Expression) -> Link | None:
        """ "Without the triceps you can't straighten the elbow": the muscle is what makes the motion."""
        items = self.items
        k = expression.i - 1
        while k >= 0 and items[k].is_("ADV", "AUX"):
            k -= 1
        if k < 1:
            return None
        nobody = items[k].is_("MODAL") and items[k - 1].text in ("nobody", "no one")
        unable = items[k].is_("NEG") and (items[k - 1].is_("PERSON") or "MUS" in items[k - 1].c)
        if not nobody and not unable:
            return None
        for m in range(k - 1, max(-1, k - 16), -1):
            if "MUS" not in items[m].c:
                continue
            subject = self.ending_at(m)
            if subject is None or subject.i == 0:
                return None
            without = items[subject.i - 1].text in (
                "without",
                "kill",
                "cut",
                "lose",
                "remove",
                "paralyse",
                "knock out",
            )
            weak = items[subject.i - 1].is_("RELAX", "FAIL") or any(
                q in WEAK for n in subject.names for q in n.qualifiers
            )
            lacking = items[subject.i - 1].text == "no" or weak
            led = any(item.text in ("with", "without") for item in items[max(0, subject.i - 3) : subject.i])
            idle = m + 2 < k and items[m + 1].is_("NEG") and items[m + 2].is_("CONTRACT", "HELP")
            if without or idle or (lacking and led) or (m + 1 < k and items[m + 1].is_("FAIL")):
                names = tuple(
                    replace(named, qualifiers=tuple(q for q in named.qualifiers if q not in WEAK))
                    for named in subject.names
                )
                return Link(replace(subject, names=names))
            return None
        return self._weak_after(expression.j)

    def _weak_after(self, k: int) -> Link | None:
        """ "She can't lift her toes because tibialis anterior is weak.": the muscle whose loss is given as the cause."""
        items, n = self.items, len(self.items)
        if k < n and items[k].text == "without":
            lacking = self.starting_at(k + 1)
            return Link(lacking) if lacking is not None else None
        if k >= n or items[k].text not in ("because", "when", "if", "since", "once", "as"):
            return None
        subject = self.starting_at(k + 1)
        if subject is None or subject.j >= n:
            return None
        gone = items[subject.j].is_("FAIL") or (
            subject.j + 1 < n
            and items[subject.j].is_("AUX")
            and items[subject.j + 1].is_("RELAX", "FAIL", "NLOSS")
        )
        return Link(subject) if gone else None
