"""The walk from a motion to the right: "is bent by the biceps", "comes from the glutes"."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.answering import Answering
from anatomy.claims.grammar.terms import SIDES, Link, Subject


class Rightward(Answering):
    """Walks right from a motion."""

    def right_of(self, expression: Expression) -> Link | None:
        """ "is bent by the biceps", "comes from the glutes", "is the job of teres minor", "flexors such as psoas"."""
        items, n = self.items, len(self.items)
        k = expression.j
        link = Link(Subject(0, 0, ()), denied=self._denied_before(expression))
        if (
            expression.i > 1
            and items[expression.i - 1].is_("PREP")
            and any("antagonist" in item.text for item in items[max(0, expression.i - 6) : expression.i - 1])
        ):
            link = replace(link, against=True)
        passed_be = False
        steps = 0
        while k < n and steps < 12:
            steps += 1
            item = items[k]
            if item.is_("PASSOPP"):
                return self._named_after(k + 1, replace(link, against=True))
            if expression.form == "agent" and (named := self._announced(k, expression)) is not None:
                return replace(link, subject=named)
            if (closing := self._closing(k, expression)) is not None:
                return replace(link, subject=closing)
            if (
                item.is_("REL")
                and expression.form == "noun"
                and (does := self._what_does(k + 1, link)) is not None
            ):
                return does
            if passed_be and item.text in SIDES and k + 1 < n and items[k + 1].is_("MUS"):
                return self._bare_after(k, link, passed_be, expression)
            if item.is_("PASSBY", "COMEFROM"):
                return self._named_after(k + 1, link)
            if expression.form == "agent" and item.is_("PERSON") and k + 1 < n and items[k + 1].is_("HAVE"):
                k += 2
                continue
            verbal = expression.form in ("s", "base", "ed", "ing")
            if item.is_("COMMA") and verbal and k + 1 < n and items[k + 1].text == "using":
                k += 1
                continue
            if (
                item.text == "because"
                and expression.form == "base"
                and (worked := self._working(k + 1)) is not None
            ):
                return replace(link, subject=worked)
            if item.is_("NEED") and passed_be and k > 0 and items[k - 1].is_("COMMA"):
                return self._named_after(k + 1, link)
            if item.text == "from" and expression.form in ("noun", "ing") and not passed_be:
                return self._named_after(k + 1, link)
            if (item.text == "where" and passed_be) or item.text in ("is where", "are where"):
                return self._named_after(k + 1, link)
            if item.is_("COMMA") and expression.form in ("noun", "ing") and not passed_be:
                after = self._past_aside(k)
                if after is not None:
                    k = after
                    continue
            if item.text == "that" and expression.form == "noun" and not passed_be:
                after = next((m for m in range(k, min(n, k + 9)) if items[m].is_("COMMA")), -1)
                if after > 0 and self._that_is(after + 1):
                    k = after + 1
                    continue
            if item.is_("PREP") and expression.passive and not passed_be:
                skipped = self._past_phrase(k)
                if skipped is None or not items[skipped].is_("BY", "PASSBY"):
                    return None
                k = skipped
                continue
            if item.is_("PREP") and expression.form == "base" and self._needs_before(expression):
                after = next((m for m in range(k, min(n, k + 8)) if items[m].is_("PERSON")), -1)
                if after > 0 and not any(x.is_("COMMA", "MUS") for x in items[k:after]):
                    k = after
                    continue
            if item.is_("HAVE") and expression.form in ("noun", "ing"):
                subject = self.starting_at(k + 1)
                role = subject is not None and subject.j < n and items[subject.j].is_("AS")
                return replace(link, subject=subject) if role and subject is not None else None
            if (
                item.is_("COMMA")
                and expression.form in ("noun", "ing")
                and not passed_be
                and self._that_is(k + 1)
            ):
                k += 1
                continue
            pulling = (
                k + 1 < n
                and items[k + 1].is_("CONTRACT", "NEED", "FORCE", "WITH")
                and not self._starts_muscle(k + 1)
            )
            if item.is_("BY") and pulling:
                return self._named_after(k + 1, link)
            if item.is_("BY") and (
                passed_be
                or expression.passive
                or expression.form in ("noun", "ing")
                or expression.object == "self"
            ):
                return self._named_after(k + 1, link)
            if (item.text == "what" and passed_be) or item.text in ("is what", "are what"):
                return self._what_does(k + 1, link)
            if item.is_("PERSON", "IT") and k + 1 < n and self._needs_before(expression):
                return self._needed(k + 1, link)
            if item.is_("HAPPEN") and expression.form in ("noun", "ing"):
                k += 1
                continue
            if item.text in ("when", "because", "once", "if", "whenever") and expression.form in (
                "noun",
                "ing",
            ):
                subject = self.starting_at(k + 1)
                pulls = subject is not None and subject.j < n and items[subject.j].is_("CONTRACT")
                return replace(link, subject=subject) if subject is not None and pulls else None
            if (
                item.is_("COMMA")
                and k + 1 < n
                and (items[k + 1].is_("BY", "PASSBY", "PASSOPP") or self._needs_before(expression))
            ):
                k += 1
                passed_be = True
                continue
            if (
                item.is_("COMMA")
                and expression.form == "agent"
                and expression.i > 0
                and items[expression.i - 1].is_("AS")
            ):
                return self._named_after(k + 1, link)
            if item.is_("WITH") and expression.form != "agent":
                return self._with_after(k + 1, link)
            if item.is_("JOB") and passed_be and k + 1 < n and items[k + 1].text in ("of", "for"):
                return self._named_after(k + 2, link)
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AUX", "COP"):
                passed_be = True
            elif self._starts_muscle(k) and passed_be and any(x.is_("JOB") for x in items[max(0, k - 3) : k]):
                subject = self.starting_at(k)
                return replace(link, subject=subject) if subject is not None else None
            elif self._starts_muscle(k):
                return self._bare_after(k, link, passed_be, expression)
            elif item.text == "like" and expression.form == "agent" and self.left_of(expression) is not None:
                return None
            elif (item.is_("SUCHAS") and expression.form == "agent") or (
                item.is_("OPEN", "COLON") and expression.form in ("agent", "noun")
            ):
                return self._named_after(k + 1, link)
            elif item.is_("ADV", "MODAL", "DET", "ADJ", "HELP", "MUSNOUN", "ROLE") or (
                passed_be and item.is_("JOB", "PROD")
            ):
                pass
            elif item.is_("PREP") and not passed_be and expression.form in ("noun", "ing"):
                skipped = self._past_phrase(k)
                if skipped is None:
                    return None
                k = skipped
                continue
            elif (
                item.is_("COMMA") and expression.form == "agent" and k + 1 < n and items[k + 1].is_("SUCHAS")
            ):
                pass
            elif item.is_("COMMA") and expression.form == "agent" and not passed_be:
                return self._apposed_after(k + 1, link, expression)
            else:
                return None
            k += 1
        return None
