"""Asides and phrases that may stand between a subject and its verb."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.government import Government
from anatomy.claims.grammar.terms import AREAS, ASIDE, EXAMPLES, FIBRES, HEADS, PART_NAMING, Link, Subject


class Asides(Government):
    """Passes over asides."""

    def _before_aside(self, k: int) -> int | None:
        """Item before "…, which sits on the back of the shoulder blade," when ``k`` is the closing comma."""
        items = self.items
        if not items[k].is_("COMMA", "DASH"):
            return None
        for m in range(k - 1, max(0, k - ASIDE), -1):
            if (
                items[m].is_("COMMA", "DASH")
                and m > 0
                and (self._ends_muscle(m - 1) or self._before_phrase(m - 1) is not None)
            ):
                inside = items[m + 1 : k]
                if (
                    inside
                    and (inside[0].is_("REL", "DET", "ADV", "SUCHAS", "ADJ", "PREP") or len(inside) <= 10)
                    and (not inside[0].is_("PERSON") or self._opens(m - 1))
                ):
                    return m - 1
        return None

    def _example(self, i: int, j: int) -> Subject | None:
        """ "…, gluteus minimus for example, …": the muscles that an aside from ``i`` to ``j`` gives as examples."""
        items = self.items
        given = items[i:j]
        if not any(item.is_("SUCHAS") or item.text in EXAMPLES for item in given):
            return None
        while i < j and items[i].is_("SUCHAS", "ADV", "COMMA"):
            i += 1
        subject = self.starting_at(i) if i < j else None
        if subject is None or subject.j > j:
            return None
        rest = items[subject.j : j]
        return subject if all(item.is_("SUCHAS", "ADV") or item.text in EXAMPLES for item in rest) else None

    def _part_in_aside(self, i: int, j: int) -> str:
        """ "Deltoid, mainly its back part, …": the word of the part that an aside from ``i`` to ``j`` narrows the muscle to."""
        inside = self.items[i:j]
        if not inside or inside[-1].text not in FIBRES or len(inside) > 5:
            return ""
        words = [
            item.text
            for item in inside
            if item.text in AREAS or item.text in PART_NAMING or item.text in HEADS
        ]
        rest = [item for item in inside[:-1] if item.text not in words]
        plain = all(
            item.is_("ADV", "DET", "SUCHAS") or item.text in ("its", "their", "the", "most of")
            for item in rest
        )
        return words[0] if len(words) == 1 and plain else ""

    def _apposed_before(self, k: int) -> Subject | None:
        """ "The muscle behind the shin bone, tibialis posterior, …": a name between marks where no name stands before."""
        items = self.items
        if not items[k].is_("COMMA", "DASH", "CLOSE") or k == 0 or not self._ends_muscle(k - 1):
            return None
        subject = self.ending_at(k - 1)
        if subject is None or subject.i < 2 or not items[subject.i - 1].is_("COMMA", "DASH", "OPEN"):
            return None
        before = subject.i - 2
        if len(subject.names) > 1 or self._ends_muscle(before) or items[before].is_("ADV", "PERSON", "NEG"):
            return None
        opens = next(
            (m for m in range(before, max(-1, before - 9), -1) if items[m].is_("COMMA", "SUB", "AUX", "AND")),
            -1,
        )
        inside = items[opens + 1 : before + 1]
        named = bool(inside) and (inside[0].is_("DET") or inside[0].text.startswith("the "))
        return (
            subject if named and not any(item.is_("MUS", "PERSON", "PV", "FAM") for item in inside) else None
        )

    def _before_phrase(self, k: int) -> int | None:
        """Item before a phrase such as "on the front of the arm" that ends with item ``k`` and follows a muscle."""
        items = self.items
        for m in range(k, max(-1, k - 9), -1):
            item = items[m]
            if item.is_(
                "COMMA", "PERSON", "SUB", "AND", "COLON", "REL", "AUX", "MODAL", "DO"
            ) and not item.is_("PREP"):
                return None
            meant = m > 0 and (
                self._ends_muscle(m - 1) or (items[m - 1].is_("IT") and items[m - 1].text != "this")
            )
            if meant and item.is_("PREP", "WITH", "BY"):
                return m - 1
        return None

    def _with_before(self, k: int, link: Link) -> Link | None:
        """ "With your glutes you extend the hip": the subject behind a person."""
        if k < 2:
            return None
        m = k - 1
        if self.items[m].is_("COMMA"):
            m -= 1
        if not self._ends_muscle(m):
            return None
        subject = self.ending_at(m)
        if subject is None or subject.i == 0:
            return None
        means = self.items[subject.i - 1]
        if (
            means.text in ("contracting", "using", "firing", "squeezing", "engaging", "tightening")
            and subject.i > 1
        ):
            means = self.items[subject.i - 2]
        if not means.is_("WITH", "BY"):
            return None
        return replace(link, subject=subject)

    def _closing(self, k: int, expression: Expression) -> Subject | None:
        """ "Bending the elbow, biceps.", "To bend the elbow: biceps.": a motion that opens, a name that closes."""
        items = self.items
        if (
            k != expression.j
            or not items[k].is_("COMMA", "COLON", "DASH")
            or expression.form not in ("ing", "base", "noun")
        ):
            return None
        opening = items[: expression.i]
        if not all(item.is_("DET", "ADV", "COMMA", "AND") or item.text in ("to", "for") for item in opening):
            return None
        if expression.form == "base" and not any(item.text == "to" for item in opening):
            return None
        subject = self.starting_at(k + 1)
        return subject if subject is not None and subject.j >= len(items) else None

    def _announced(self, k: int, expression: Expression) -> Subject | None:
        """ "A powerful extender of the knee, the biceps femoris …": what opens the sentence is said of the next name."""
        opening = self.items[: expression.i]
        if not opening or opening[0].text not in ("a", "an", "as a", "as an", "as the", "as", "being"):
            return None
        if k != expression.j or not (
            self.items[k].is_("COMMA") or (opening[0].is_("AS") and self.items[k].is_("DET", "MUS"))
        ):
            return None
        if not all(item.is_("DET", "ADJ", "ADV", "AS", "DIR") or item.text == "being" for item in opening):
            return None
        return self.starting_at(k + 1 if self.items[k].is_("COMMA") else k)

    def _past_phrase(self, k: int) -> int | None:
        """Past "in the serve", "on the way up": a preposition, its article and at most four words."""
        items, n = self.items, len(self.items)
        m = k + 1
        while m < n and m - k <= 8:
            if items[m].is_("AUX", "PASSBY", "COMEFROM", "PASSOPP", "BY", "COP"):
                return m
            noun = items[m - 1].is_("PREP", "DET", "ADJ")
            if items[m].is_("COMMA", "COLON") and m > k + 1:
                return m
            if items[m].is_("MUS", "PERSON", "COMMA", "AND", "SUB") or (
                items[m].is_("FAM", "PV") and not noun
            ):
                return None
            m += 1
        return None

    def _past_aside(self, k: int) -> int | None:
        """The item after ", it was argued," when a verb of being or doing follows it."""
        items = self.items
        for m in range(k + 2, min(len(items) - 1, k + 12)):
            if items[m].is_("COMMA"):
                return m + 1 if items[m + 1].is_("AUX", "PASSBY", "COMEFROM", "COP") else None
            if items[m].is_("MUS", "FAM", "PV"):
                return None
        return None

    def _that_is(self, k: int) -> bool:
        """Whether "(now) that's" follows a comma."""
        while k < len(self.items) and self.items[k].is_("ADV"):
            k += 1
        return k < len(self.items) and self.items[k].text in ("that's", "it's", "that is")
