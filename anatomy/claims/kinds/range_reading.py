"""What a sentence says of degrees: quantities, motions, which belong together, and how they are said."""

from __future__ import annotations

from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.items import Item
from anatomy.claims.kinds.range_facts import Moving, Quantity, RangeBooks
from anatomy.claims.lexicon import Pair
from anatomy.claims.phrases import Sighting
from anatomy.claims.published_ranges import PublishedRanges
from anatomy.claims.reading import Reading

SPINAL = frozenset({"rotation same side", "rotation opposite side"})


BEFORE_NUMBER = frozenset(
    {
        "to",
        "about",
        "around",
        "roughly",
        "is",
        "are",
        "at",
        "nearly",
        "almost",
        "of",
        "than",
        "only",
        "full",
        "by",
        "barely",
        "hardly",
        "just",
        "some",
        "another",
    }
)
HINGING = frozenset({"bends", "bend", "flexes", "flex", "covers", "cover"})
"""Verbs after which an elbow's or a knee's degrees are those of bending."""
LIMITS = frozenset({"hardly", "barely", "scarcely"})
"""Words that deny nothing where a number follows: they say that it is small."""


ONE_LIMB = frozenset(
    {"right", "left", "front", "back", "rear", "lead", "leading", "trail", "trailing", "throwing", "kicking"}
    | {"plant", "planted", "standing", "support", "supporting", "landing", "stance", "swing", "near", "far"}
)
"""Words that tell one limb of one person apart from its fellow."""


DEFINITE = frozenset({"he", "she", "his", "her", "him", "i", "my"})


class RangeGrammar:
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
            "COMMA", "DASH", "AND", "DET", "ADV", "PREP", "BUT", "CLOSE", "OR", "SUB", "AUX"
        ):
            return False
        before = items[i - 1] if i else None
        value = float(items[i].c["NUM"])
        if before is not None and before.text == "from":
            return value == 0
        if before is not None and value >= 20 and value % 5 == 0 and self._moves(before, following):
            return True
        if before is None or not (
            before.text in BEFORE_NUMBER
            or before.is_("COMEFROM")
            or before.text.endswith((" about", " to", " around"))
        ):
            return any(q.sure for q in found) and before is not None and before.is_("DIR", "FAM", "MOTN")
        return float(items[i].c["NUM"]) >= 5 or (
            float(items[i].c["NUM"]) == 0 and before.text in ("to", "at")
        )

    def _moves(self, before: Item, following: Item | None) -> bool:
        """A number right after a motion, or after a colon with a verb behind it: "bends back a hundred and twenty"."""
        named = any(item.is_("PART") and not item.is_("DIR") for item in self.items)
        if not named or self.seen("instance"):
            return False
        if before.is_("COLON"):
            return following is None or following.is_("AUX")
        ended = following is None or following.is_("COMMA", "PREP", "AND", "BUT")
        return ended and before.is_("FAM", "PV", "DIR") and not before.is_("MVT", "PREP", "AUX")

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
            if item.is_("FAM", "MOTN") or (item.is_("PV") and not item.is_("AUX", "HAVE")):
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
        bend = any(item.text in ("bend", "bending") for item in self.items[q.j : q.j + 2]) or any(
            item.text in HINGING for item in self.items[max(0, q.i - 3) : q.i]
        )
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
            if self.items[k].is_("BUT", "MUS", "SUB", "FAM"):
                break
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
        if (moving.form == "ed" or self._one_limb(i, j)) and not self._between("norm", before, after):
            return "instance"  # "the front knee is bent to ninety": how somebody stands, not how far it goes
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
            and not any(is_copula(item) for item in items[moving.j : q.i])
            and not self._between("norm", moving.j, q.i)
        ):
            return "bare"
        start, end = (moving.j, q.i) if moving.j <= q.i else (q.j, moving.i)
        if any(is_copula(item) or item.is_("COMEFROM") for item in items[start:end]) or self._between(
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
        near = self._between("limit", max(before, q.i - 3), min(after, q.j + 5))
        return "norm" if moving.j <= q.i and (near or self._plain(q, moving)) else "bare"

    def _one_limb(self, i: int, j: int) -> bool:
        """Whether a limb of one person is meant: "the right knee bends to ninety", "the front knee …"."""
        items = self.items
        return any(
            items[k].text in ONE_LIMB and k + 1 < len(items) and items[k + 1].is_("PART")
            for k in range(max(0, i - 2), j)
        )

    def _plain(self, q: Quantity, moving: Moving) -> bool:
        """ "The wrist extends ten degrees." and nothing else: what wrists do, not what one does at some moment."""
        items = self.items
        if moving.form != "s" or not q.sure or moving.j != q.i or len(items) > q.j:
            return False
        named = next((k for k, item in enumerate(items[:4]) if item.is_("PART")), 0)
        return (
            named > 0 and items[0].text in ("the", "a", "an", "your", "our", "this") and moving.i <= named + 1
        )

    def _denied(self, q: Quantity, moving: Moving) -> bool:
        i, j = min(moving.i, q.i), max(moving.j, q.j)
        bounds = {k for s in self.seen("above") if s.value == "atmost" for k in range(s.i, s.j)}
        return any(
            self.items[k].is_("NEG") and k not in bounds and self.items[k].text not in LIMITS
            for k in range(max(0, i - 2), j)
        )


def is_copula(item: Item) -> bool:
    return (
        item.is_("AUX", "COP")
        or item.text.startswith(("is ", "are "))
        or item.text.endswith((" is", " are"))
        or item.text.endswith("n't")
    )
