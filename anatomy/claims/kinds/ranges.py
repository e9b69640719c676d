"""Claims about how far a joint moves: "the knee bends to about 140 degrees", "normal neck rotation is 70 each way".

A figure said as a norm is judged against the published spread; one said of a single frame only against what is
possible. Figures that are true of a part only (one posture, one joint of several, one side) depend.
"""

from __future__ import annotations

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.kinds.range_facts import Moving, Quantity, range_books
from anatomy.claims.kinds.range_reading import DEFINITE, RangeGrammar, is_copula
from anatomy.claims.lexicon import Pair
from anatomy.claims.published_ranges import Spread, published_ranges
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import motion_noun, sentence

SIDED = frozenset({"rotation", "lateral flexion"})


def claim_ranges(reading: Reading) -> None:
    """Adds the sentence's claims about degrees of motion to the reading."""
    if not reading.has("NUM", "ROMWORD") or not reading.has(
        "PART", "FAM", "PV", "MOTN", "MVT", "SEG", "STR", "CPT"
    ):
        return
    reading = without_asides(reading)
    RangeReader(reading, range_books(), published_ranges(reading.lexicon.vocabulary)).read()


class RangeReader(RangeGrammar):
    """Reads and judges the statements of degrees in one sentence."""

    def read(self) -> None:
        """Every quantity with the motion that it is said of, judged."""
        quantities = self._quantities()
        if not quantities:
            return
        movings = self._movings()
        self.postures = {s.value for s in self.books.postures.sightings(self.stream)}
        before = 0
        previous: Moving | None = None
        for number, quantity in enumerate(quantities):
            after = quantities[number + 1].i if number + 1 < len(quantities) else len(self.items)
            moving = self._moving_of(quantity, movings, before, after, previous)
            if moving is not None and moving.pairs:
                self._claim(quantity, moving, before, after)
                previous = moving
            before = max(quantity.j, moving.j if moving is not None and moving.i >= quantity.j else 0)

    # -- judging --------------------------------------------------------------------------------------------------------

    def _claim(self, q: Quantity, moving: Moving, before: int, after: int) -> None:
        mode = self._mode(q, moving, before, after)
        postures = self.postures | set(moving.postures)
        finding = self._in_use(q, moving, mode) or self._judged(q, moving, mode, postures, after)
        if self._denied(q, moving):
            verdict = {"wrong": "right"}.get(finding.verdict, "unknown")
            finding = (
                Finding("right", finding.why, "", finding.sources, finding.terms)
                if verdict == "right"
                else Finding("unknown", "")
            )
        if finding.verdict == "unknown":
            return
        i, j = min(moving.i, q.i), max(moving.j, q.j)
        mend = self._mend(q, moving, postures) if finding.verdict == "wrong" else None
        self.reading.add("rom", i, j, finding, mend)

    def _in_use(self, q: Quantity, moving: Moving, mode: str) -> Finding | None:
        """A figure for what an everyday movement takes: walking, stairs, getting up from a chair."""
        uses = [
            (s, use) for s in self.books.functional.sightings(self.stream) for use in s.values
            if use.pair in moving.pairs and not s.i < moving.j < s.j
        ]  # fmt: skip
        if not uses or any(item.text in DEFINITE for item in self.items):
            return None
        use = uses[0][1]
        spread, terms = use.spread, (("motion", f"{use.pair[0]}: {use.pair[1]}"),)
        why = sentence(spread.note)
        above = self._between("above", q.i - 3, q.i) or self._between("below", q.i - 3, q.i)
        if spread.low - 5 <= q.low and q.high <= spread.high + 5:
            return Finding("right", why, "", spread.sources, terms)
        if above or (
            mode == "instance" and not any(is_copula(x) or x.is_("PV", "PROD", "SVERB") for x in self.items)
        ):
            return None
        if q.low > spread.high * 1.35 + 8 or q.high < spread.low * 0.65:
            return Finding("wrong", why, why, spread.sources, terms)
        return Finding("unknown", "")

    def _mend(self, q: Quantity, moving: Moving, postures: set[str]) -> tuple[int, int, str] | None:
        spread = self.published.spread(moving.pairs[0], postures)
        if spread is None or not _rounded(spread.middle) > 0:
            return None
        unit = (
            " degrees"
            if self.items[q.j - 1].is_("DEGREES")
            else "°"
            if self.items[q.j - 1].is_("DEGREE")
            else ""
        )
        return q.i, q.j, f"{_rounded(spread.middle)}{unit}"

    def _judged(self, q: Quantity, moving: Moving, mode: str, postures: set[str], after: int) -> Finding:
        findings = [self._one(q, pair, moving, mode, postures, after) for pair in moving.pairs]
        order = ("depends", "right", "unknown", "wrong")
        return min(findings, key=lambda f: order.index(f.verdict))

    def _one(
        self, q: Quantity, pair: Pair, moving: Moving, mode: str, postures: set[str], after: int
    ) -> Finding:
        spread = self.published.spread(pair, postures)
        if spread is None:
            return Finding("unknown", "")
        terms = (("motion", f"{pair[0]}: {pair[1]}"),)
        why = self._why(pair, spread)
        highest = (
            max(self.published.highest(pair), spread.high)
            if not self._limited(pair, postures)
            else spread.high
        )
        total = None if self._limited(pair, postures) else self._total(pair, spread, moving)
        if mode == "instance":
            settled = self._conditioned(q, pair, postures)
            if settled is not None and settled.verdict == "right":
                return settled
            top = max(highest * 1.1, highest + 15)
            if self._between("total", q.i, after) and total is not None:
                top = max(top, total.high + 15)
            bad = q.low > top
            return Finding(
                "wrong" if bad else "unknown", why, self._words(pair, spread), spread.sources, terms
            )
        if mode == "norm" or mode == "bare":
            condition = self._conditioned(q, pair, postures)
            if condition is not None:
                return condition
        if self._between("total", q.j, after) or self._between("total", max(0, moving.i - 2), q.i):
            if total is None:
                return Finding("unknown", "")
            spread, why = total, self._why(pair, total)
        each = self._between("each", 0, len(self.items))
        return self._against(q, pair, spread, None if each else total, mode, why, highest, terms)

    def _limited(self, pair: Pair, postures: set[str]) -> bool:
        return any((*pair, posture) in self.published.limits for posture in (*postures, ""))

    def _conditioned(self, q: Quantity, pair: Pair, postures: set[str]) -> Finding | None:
        terms = (("motion", f"{pair[0]}: {pair[1]}"),)
        for condition in self.published.conditions.get(pair, ()):
            if not (condition.low <= q.low and q.high <= condition.high) or condition.not_with & postures:
                continue
            if "rotated_in" in condition.settled_by and not condition.settled_by & postures and self._whole():
                continue
            verdict = "right" if condition.settled_by & postures else "depends"
            return Finding(
                "right" if verdict == "right" else "depends",
                sentence(condition.note),
                "",
                condition.sources,
                terms,
            )
        return None

    def _whole(self) -> bool:
        """ "Fully", "in a healthy shoulder": nobody means the arm turned in, which is not its full motion."""
        words = {"fully", "full", "healthy", "normal", "normally", "maximum", "complete", "completely"}
        return any(item.text in words for item in self.items)

    def _total(self, pair: Pair, spread: Spread, moving: Moving) -> Spread | None:
        """Both directions together: left plus right, or in plus out."""
        joint, motion = pair
        if motion in SIDED:
            published = self.published.spread((joint, f"{motion} left plus right"))
            low, high = 2 * spread.low, 2 * spread.high
            if published is not None:
                low, high = min(low, published.low), max(high, published.high)
            return Spread(low, high, 2 * spread.middle, spread.sources)
        others = [p for p in moving.pairs if p[0] == joint and p[1] != motion]
        if len(others) == 1:
            other = self.published.spread(others[0])
            if other is not None:
                return Spread(
                    spread.low + other.low,
                    spread.high + other.high,
                    spread.middle + other.middle,
                    spread.sources,
                )
        return None

    def _against(
        self, q: Quantity, pair: Pair, spread: Spread, total: Spread | None, mode: str, why: str,
        highest: float, terms: tuple[tuple[str, str], ...],
    ) -> Finding:  # fmt: skip
        tolerance = self.published.tolerance(pair)
        low, high = spread.low - tolerance.below, spread.high + tolerance.above
        above = self._between("above", q.i - 3, q.i)
        below = self._between("below", q.i - 3, q.i)
        words = self._words(pair, spread)
        top = spread.high if mode == "norm" else max(spread.high, highest)
        too_high = q.low > max(top * tolerance.wrong_share, top + tolerance.wrong_degrees)
        if (
            total is not None
            and mode != "instance"
            and too_high
            and total.low - 5 <= q.low
            and q.high <= total.high + 5
        ):
            note = f"it depends on whether both directions are counted together: each way about {_rounded(spread.middle)} degrees"
            return Finding("depends", sentence(note), "", spread.sources, terms)
        if too_high and not below:
            return Finding("wrong", why, words, spread.sources, terms)
        if mode == "bare":
            good = low <= q.low and q.high <= high
            return Finding("right" if good else "unknown", why, "", spread.sources, terms)
        if above:
            return Finding(
                "right" if q.high <= high and q.low >= low * 0.6 else "unknown",
                why,
                "",
                spread.sources,
                terms,
            )
        wide = spread.high - spread.low >= 10 and self._between("universal", 0, len(self.items))
        if wide and low <= q.low and q.high <= high:
            return Finding("depends", why, "", spread.sources, terms)
        if low <= q.low and q.high <= high and not below:
            return Finding("right", why, "", spread.sources, terms)
        if q.high < spread.low * tolerance.wrong_below and q.high < spread.low - 10:
            return Finding("wrong", why, words, spread.sources, terms)
        return Finding("unknown", "")

    def _why(self, pair: Pair, spread: Spread) -> str:
        if spread.note:
            return sentence(spread.note)
        low, high = _rounded(spread.low, 1), _rounded(spread.high, 1)
        figures = f"{low} to {high}" if low != high else f"about {low}"
        return sentence(
            f"published figures for {motion_noun(*pair)} run from {figures} degrees"
            if low != high
            else f"the published figure for {motion_noun(*pair)} is {figures} degrees"
        )

    def _words(self, pair: Pair, spread: Spread) -> str:
        return sentence(f"{motion_noun(*pair)} is about {_rounded(spread.middle)} degrees")


def _rounded(value: float, step: int = 5) -> int:
    return int(step * round(value / step))
