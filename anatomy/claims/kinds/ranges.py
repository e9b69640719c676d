"""Claims about how far a joint moves: "the knee bends to about 140 degrees", "normal neck rotation is 70 each way".

A figure said as a norm is judged against the published spread; one said of a single frame only against what is
possible. Figures that are true of a part only (one posture, one joint of several, one side) depend.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.expressions import Expression
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair, listed, rows
from anatomy.claims.phrases import PhraseBook, Sighting
from anatomy.claims.published_ranges import PublishedRanges, Spread, published_ranges
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import motion_noun, sentence

SPINAL = frozenset({"rotation same side", "rotation opposite side"})
SIDED = frozenset({"rotation", "lateral flexion"})
BEFORE_NUMBER = frozenset(
    {"to", "about", "around", "roughly", "is", "are", "at", "nearly", "almost", "of", "than", "only"}
)
DEFINITE = frozenset({"he", "she", "his", "her", "him", "i", "my"})


@dataclass(frozen=True)
class Quantity:
    """Degrees said in the items ``i`` to ``j`` (half-open); ``sure`` when the word degrees or its sign stands there."""

    i: int
    j: int
    low: float
    high: float
    sure: bool
    from_zero: bool = False


@dataclass(frozen=True)
class Moving:
    """The motion that a quantity is said of."""

    i: int
    j: int
    pairs: tuple[Pair, ...]
    part: str = ""
    form: str = "noun"
    hyper: bool = False
    postures: tuple[str, ...] = ()
    word: str = ""


@dataclass(frozen=True)
class Use:
    """What everyday movement takes of a joint: a row of rom_functional.csv."""

    pair: Pair
    spread: Spread

    @classmethod
    def of(cls, row: dict[str, str]) -> Use:
        """The row's motion and degrees."""
        low, high = float(row["low"]), float(row["high"])
        spread = Spread(low, high, (low + high) / 2, tuple(listed(row["sources"])), row["note"])
        return cls((row["joint"], row["motion"]), spread)


class RangeBooks:
    """The phrases and tables of this kind."""

    def __init__(self) -> None:
        gathered: dict[str, list[tuple[str, str]]] = {}
        for row in rows("rom_words"):
            gathered.setdefault(row["sort"], []).extend((text, row["value"]) for text in listed(row["words"]))
        self.words = {sort: PhraseBook(entries) for sort, entries in gathered.items()}
        self.postures = PhraseBook.of_table("rom_postures", "posture")
        self.motions = PhraseBook(
            (text, (row["joint"], row["motion"], row["posture"]))
            for row in rows("rom_motions")
            for text in listed(row["words"])
        )
        self.parts = {row["part"]: tuple(listed(row["joints"])) for row in rows("rom_parts")}
        self.functional = PhraseBook(
            (text, Use.of(row)) for row in rows("rom_functional") for text in listed(row["words"])
        )
        self.sides: dict[tuple[str, str], Pair] = {
            (row["part"], text): (row["joint"], row["motion"])
            for row in rows("rom_sides")
            for text in listed(row["words"])
        }


@lru_cache(maxsize=1)
def range_books() -> RangeBooks:
    """The compiled tables."""
    return RangeBooks()


def claim_ranges(reading: Reading) -> None:
    """Adds the sentence's claims about degrees of motion to the reading."""
    if not reading.has("NUM", "ROMWORD") or not reading.has(
        "PART", "FAM", "PV", "MOTN", "MVT", "SEG", "STR", "CPT"
    ):
        return
    reading = without_asides(reading)
    RangeReader(reading, range_books(), published_ranges(reading.lexicon.vocabulary)).read()


class RangeReader:
    """Reads and judges the statements of degrees in one sentence."""

    def __init__(self, reading: Reading, books: RangeBooks, published: PublishedRanges) -> None:
        self.reading = reading
        self.items = reading.items
        self.books = books
        self.published = published
        self.stream = reading.stream
        self.held: dict[str, list[Sighting]] = {}

    def seen(self, sort: str) -> list[Sighting]:
        """The sightings of one sort of words, looked up once."""
        if sort not in self.held:
            self.held[sort] = self.books.words[sort].sightings(self.stream)
        return self.held[sort]

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

    # -- quantities ---------------------------------------------------------------------------------------------------

    def _quantities(self) -> list[Quantity]:
        found: list[Quantity] = []
        items, n = self.items, len(self.items)
        k = 0
        while k < n:
            if "NUM" not in items[k].c:
                k += 1
                continue
            low = high = float(items[k].c["NUM"])
            end = k + 1
            m = end
            if m < n and items[m].is_("DEGREES", "DEGREE"):
                m += 1
            if m < n and (
                items[m].is_("PREP", "OR", "DASH", "AND", "TO")
                and items[m].text in ("to", "or", "-", "–", "—", "and", "/")
            ):
                m += 1
            if m + 1 < n and m > end and items[m].text in ("about", "around", "roughly", "some", "nearly"):
                m += 1
            if m < n and "NUM" in items[m].c and float(items[m].c["NUM"]) > low and (m > end or high >= 5):
                joined_by = items[end].text if end < m else ""
                if joined_by != "and" or (k > 0 and items[k - 1].text == "between"):
                    high = float(items[m].c["NUM"])
                    end = m + 1
            sure = end < n and items[end].is_("DEGREES", "DEGREE")
            if sure:
                end += 1
            start = k
            k = end
            if high > 400 or not (sure or self._bare(start, end, found)):
                continue
            from_zero = low == 0 and high > 20
            if from_zero:
                low = high
            found.append(Quantity(start, end, low, high, sure, from_zero))
        for sighting in self.seen("value"):
            found.append(Quantity(sighting.i, sighting.j, float(sighting.value), float(sighting.value), True))
        return sorted(found, key=lambda quantity: quantity.i)

    def _bare(self, i: int, j: int, found: list[Quantity]) -> bool:
        """Whether a number without "degrees" is an angle all the same: "the knee bends to about 140"."""
        items = self.items
        if any(s.i <= j < s.j or s.i == j for s in self.seen("unit")):
            return False
        following = items[j] if j < len(items) else None
        if following is not None and not following.is_(
            "COMMA", "DASH", "AND", "DET", "ADV", "PREP", "BUT", "CLOSE", "OR", "SUB"
        ):
            return False
        before = items[i - 1] if i else None
        if before is None or not (
            before.text in BEFORE_NUMBER
            or before.is_("COMEFROM")
            or before.text.endswith((" about", " to", " around"))
        ):
            return any(q.sure for q in found) and before is not None and before.is_("DIR", "FAM", "MOTN")
        return float(items[i].c["NUM"]) >= 5 or (
            float(items[i].c["NUM"]) == 0 and before.text in ("to", "at")
        )

    # -- motions ----------------------------------------------------------------------------------------------------------

    def _movings(self) -> list[Moving]:
        found: list[Moving] = []
        named = self.books.motions.sightings(self.stream)
        taken: set[int] = set()
        for sighting in named:
            pairs = tuple((joint, motion) for joint, motion, _ in sighting.values)
            postures = tuple(posture for _, _, posture in sighting.values if posture)
            found.append(
                Moving(sighting.i, sighting.j, pairs, "", "noun", False, postures, sighting.words[-1])
            )
            taken.update(range(sighting.i, sighting.j))
        parts: tuple[str, ...] = ()
        for e in self.reading.expressions:
            if e.form == "agent" or (e.form == "ed" and not e.passive) or not e.pairs or e.head in taken:
                continue
            said = e.parts or self._part_near(e)
            if not said and parts and e.form == "noun":
                said = parts
            pairs = self._main(e.pairs, said)
            parts = said or parts
            i = min(
                [
                    e.i,
                    *(
                        k
                        for k in range(max(0, e.i - 3), e.i)
                        if e.object == "self" and self.items[k].is_("PART")
                    ),
                ]
            )
            if pairs:
                part = said[0] if said else ""
                hyper = self.items[e.head].text.startswith("hyperext")
                found.append(Moving(i, e.j, pairs, part, e.form, hyper, (), e.word))
        return sorted(found, key=lambda moving: (moving.i, moving.j))

    def _part_near(self, e: Expression) -> tuple[str, ...]:
        """A part that stands before a motion without one: "the knee has … of hyperextension", "her ankle, … inversion"."""
        for k in range(e.i - 1, -1, -1):
            item = self.items[k]
            loose = item.is_("DIR") and not (k and self.items[k - 1].is_("DET", "ADJ"))
            if "PART" in item.c and not loose and not item.is_("MUS") and item.c["PART"] in self.books.parts:
                return (item.c["PART"],)
            if item.is_("FAM", "MOTN", "PV"):
                break
        for k in range(e.j, min(len(self.items), e.j + 11) if e.form == "noun" else 0):
            item = self.items[k]
            if item.is_("SUB", "COMMA", "AND"):
                break
            if (
                "PART" in item.c
                and not item.is_("MUS")
                and (self.items[k - 1].is_("DET", "PREP") or self.items[k - 1].text in ("normal", "healthy"))
            ):
                return (item.c["PART"],) if item.c["PART"] in self.books.parts else ()
        return ()

    def _main(self, pairs: tuple[Pair, ...], parts: tuple[str, ...]) -> tuple[Pair, ...]:
        """The pairs with published ranges, at the joints that the part of the body is measured by."""
        known: list[Pair] = []
        for joint, motion in pairs:
            measured = (joint, "rotation") if motion in SPINAL else (joint, motion)
            if self.published.has(measured) and measured not in known:
                known.append(measured)
        main = [joint for part in parts for joint in self.books.parts.get(part, ())]
        if main:
            at_main = [(joint, motion) for joint in main for joint2, motion in known if joint == joint2]
            if not at_main:
                motions = dict.fromkeys(motion if motion not in SPINAL else "rotation" for _, motion in pairs)
                at_main = [(j, m) for j in main for m in motions if self.published.has((j, m))]
            return tuple(dict.fromkeys(at_main or known))
        if not parts:
            usual = {joint for joints in self.books.parts.values() for joint in joints}
            known = [
                pair for pair in known
                if pair[0] in usual and not any(w in pair[0] for w in ("finger", "thumb", "toe", "hallux"))
            ] or known  # fmt: skip
            if len({joint for joint, _ in known if joint not in ("glenohumeral", "subtalar")}) > 1:
                return ()
            known = [p for p in known if p[0] not in ("glenohumeral", "subtalar")] or known
        return tuple(known)

    def _moving_of(
        self, q: Quantity, movings: list[Moving], before: int, after: int, previous: Moving | None
    ) -> Moving | None:
        right = [m for m in movings if q.j <= m.i < after]
        if right and self._of(q.j, right[0].i):
            return right[0]
        left = [m for m in movings if before <= m.j and m.j <= q.i and m.i >= before]
        left = [m for m in left if not self._broken(m.j, q.i)]
        if left:
            chosen = left[-1]
            for earlier in reversed(left[:-1]):
                if self._aside(earlier, chosen):
                    chosen = earlier
            return chosen
        inside = [m for m in movings if m.i < q.i < m.j and m.i >= before]
        if inside:
            return inside[-1]
        sideways = self._sideways(q, after)
        if sideways is not None:
            return sideways
        elliptic = self._elliptic(q, before, previous)
        if elliptic is not None:
            return elliptic
        if right and not self._broken(q.j, right[0].i) and len(self.items[q.j : right[0].i]) <= 5:
            between = self.items[q.j : right[0].i]
            if any(item.text in ("for", "in", "with") for item in between) or not between:
                return right[0]
        if right and not self._broken(q.j, right[0].i) and self._pointed(q.j, right[0].i):
            return right[0]
        used = self._used(q)
        if used is not None:
            return used
        bend = any(item.text in ("bend", "bending") for item in self.items[q.j : q.j + 2])
        return self._whole_range(q, before) if q.from_zero or bend else None

    def _used(self, q: Quantity) -> Moving | None:
        """ "getting up takes ninety degrees at the knee": what a movement takes of a joint that is only named."""
        uses = [use for s in self.books.functional.sightings(self.stream) for use in s.values]
        for k in range(q.j, min(q.j + 4, len(self.items)) if uses else 0):
            part = self.items[k].c.get("PART")
            held = next((use for use in uses if use.pair[0] == part and use.pair[1] == "flexion"), None)
            if held is not None:
                return Moving(k, k + 1, (held.pair,), str(part), "s")
        return None

    def _sideways(self, q: Quantity, after: int) -> Moving | None:
        """ "the wrist goes thirty degrees to the thumb side": a joint, an angle and where to."""
        part = next(
            (self.items[k].c["PART"] for k in range(q.i - 1, -1, -1)
             if "PART" in self.items[k].c and not self.items[k].is_("MUS", "DIR")), "",
        )  # fmt: skip
        for k in range(q.j, min(q.j + 3, after)):
            item = self.items[k]
            pair = self.books.sides.get((part, item.text)) or self.books.sides.get(
                (part, str(item.c.get("DIR")))
            )
            if pair is not None and "DIR" in item.c and self.published.has(pair):
                return Moving(k, k + 1, (pair,), part, "s")
            if not item.is_("ADV", "DIR"):
                break
        return None

    def _whole_range(self, q: Quantity, before: int) -> Moving | None:
        """ "the elbow goes from zero to about 145": the bending of a hinge."""
        for k in range(q.i - 1, before - 1, -1):
            part = self.items[k].c.get("PART")
            if part in ("elbow", "knee"):
                return Moving(k, k + 1, ((part, "flexion"),), part, "s")
        return None

    def _pointed(self, i: int, j: int) -> bool:
        """ "Ninety degrees, that's what a normal hip has in …"."""
        return any(
            item.text in ("that's", "that is", "is what", "that") for item in self.items[i : min(i + 3, j)]
        )

    def _of(self, i: int, j: int) -> bool:
        between = self.items[i:j]
        return bool(between) and any(item.text in ("of",) for item in between[:2]) and len(between) <= 4

    def _broken(self, i: int, j: int) -> bool:
        """Another person or a new clause lies between a motion and a number."""
        between = self.items[i:j]
        return len(between) > 14 or any(
            item.is_("BUT") or (item.is_("PERSON") and item.text in ("i", "we", "he", "she"))
            for item in between
        )

    def _aside(self, earlier: Moving, later: Moving) -> bool:
        """Whether a later motion only adds where or how: "forearm rotation, palm up, is …", "with the knee bent"."""
        between = self.items[earlier.j : later.i]
        if any(item.is_("WITH", "SUB") or item.text in ("with", "when", "in", "during") for item in between):
            return True
        return (
            bool(between)
            and between[0].is_("COMMA")
            and not any(item.is_("AND") for item in between)
            and (later.j < len(self.items) and self.items[later.j].is_("COMMA"))
        )

    def _elliptic(self, q: Quantity, before: int, previous: Moving | None) -> Moving | None:
        """ "… about thirty degrees, radial about twenty": another direction of the same family."""
        if previous is None:
            return None
        between = self.items[before : q.i]
        for k, item in enumerate(between):
            if "DIR" not in item.c:
                continue
            motion = self.reading.lexicon.families.get((previous.word, item.c["DIR"]))
            joints = [joint for joint, _ in previous.pairs]
            pairs = tuple((j, motion) for j in joints if motion and self.published.has((j, motion)))
            if pairs:
                return replace(previous, i=before + k, j=before + k + 1, pairs=pairs)
        return None

    # -- how it is said -----------------------------------------------------------------------------------------------

    def _between(self, sort: str, i: int, j: int) -> bool:
        return any(s.i < j and s.j > i and s.value != "atmost" for s in self.seen(sort))

    def _mode(self, q: Quantity, moving: Moving, before: int, after: int) -> str:
        """ "norm" (what joints do), "bare" (left open) or "instance" (one moment, one person)."""
        items = self.items
        i, j = min(moving.i, q.i), max(moving.j, q.j)
        strong = self._between("strong", before, after) or self._between("universal", before, after)
        if strong:
            return "norm"
        head = self.items[max(0, i - 3) : i]
        if any(item.text in DEFINITE for item in (*head, *items[i:j])) or self._between(
            "instance", before, after
        ):
            return "instance"
        if self._between("need", before, q.i):
            return "bare"
        if any(item.is_("MVT") for item in items) and not self._between("norm", i, j):
            return "instance"
        preceding = items[q.i - 1] if q.i else None
        if (
            preceding is not None
            and preceding.text == "at"
            and not self._between("norm", max(0, q.i - 3), q.i)
        ):
            return "instance"
        if (
            moving.form == "base"
            and (moving.i == 0 or items[moving.i - 1].is_("TO", "COMMA", "AND", "SUB"))
            and not (items[moving.i].is_("PART", "DET"))
        ):
            return "instance"
        if (
            moving.form == "ing"
            and not any(_is_copula(item) for item in items[moving.j : q.i])
            and not self._between("norm", moving.j, q.i)
        ):
            return "bare"
        start, end = (moving.j, q.i) if moving.j <= q.i else (q.j, moving.i)
        if any(_is_copula(item) or item.is_("COMEFROM") for item in items[start:end]) or self._between(
            "norm", before, after
        ):
            return "norm"
        if (
            moving.j <= q.i
            and any(item.text == "to" for item in items[start:end])
            and moving.form in ("s", "noun", "base")
        ):
            return "norm"
        if self._between("about", max(before, q.i - 2), min(after, q.j + 3)):
            return "norm"
        return "bare"

    def _denied(self, q: Quantity, moving: Moving) -> bool:
        i, j = min(moving.i, q.i), max(moving.j, q.j)
        bounds = {k for s in self.seen("above") if s.value == "atmost" for k in range(s.i, s.j)}
        return any(self.items[k].is_("NEG") and k not in bounds for k in range(max(0, i - 2), j))

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
            mode == "instance" and not any(_is_copula(x) or x.is_("PV", "PROD", "SVERB") for x in self.items)
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
            verdict = "right" if condition.settled_by & postures else "depends"
            return Finding(
                "right" if verdict == "right" else "depends",
                sentence(condition.note),
                "",
                condition.sources,
                terms,
            )
        return None

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


def _is_copula(item: Item) -> bool:
    return (
        item.is_("AUX", "COP")
        or item.text.startswith(("is ", "are "))
        or item.text.endswith((" is", " are"))
        or item.text.endswith("n't")
    )


def _rounded(value: float, step: int = 5) -> int:
    return int(step * round(value / step))
