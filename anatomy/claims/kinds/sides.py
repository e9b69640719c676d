"""Claims about sides: left, right and midline of the trunk, inner and outer, front and back of a limb."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.kinds.side_attributes import attributes, diaphragm_domes, may_be_subject, one_of_two
from anatomy.claims.kinds.side_facts import SideFact, side_row
from anatomy.claims.kinds.side_words import ASIDE_SIDE, BACK, HAND, NOTES, OTHER, PLACES, SELF, WORDS
from anatomy.claims.reading import Reading
from anatomy.claims.shapes import Alphabet
from anatomy.claims.spoken import joined, sentence

LIMB_WORDS = ("SINNER", "SOUTER", "STHUMB", "SLITTLE", "SBIGTOE", "SLITTOE", "SMID", "SEACH", "SFRONT", "SBACK", "NREGION", "LAREA")  # fmt: skip
LETTERS = Alphabet(
    {
        "who": "r",
        "they are": "e",
        "it is": "e",
        "there's": "t",
        "there are": "t",
        "there is": "t",
        "where": "w",
        "that's": "e",
        "you'll": "h",
        "of": "o",
        "than": "T",
        "it's": "e",
        "they're": "e",
    },
    (("SVERB", "v"), ("SNOUN", "w"), ("SHIGH", "a"), ("SLOW", "a"), ("DIR", "a")),
)
SG = r"O(?:[,&]+[da]*O)*"
SOME = "(?:[wda]*o)?d?"
END = "(?=$|[,:;&)BsrehToxpiwv(])"
PATTERNS: tuple[re.Pattern[str], ...] = tuple(
    re.compile(p)
    for p in (
        # "the spleen lies on the left", "the liver is a left-sided organ", "all of them sit on the right"
        rf"(?P<s>{SG})(?:[:,]i|,[^,V]{{1,9}},)?[ramd]*(?P<c>[bvn][mabndvp]{{0,7}}(?:[Oxw]p)?o?[dap]*)(?P<v>V)",
        rf"(?P<s>{SG})(?P<c>,e[mabnp]{{0,4}}d?)(?P<v>V){END}",
        # "spleen left, liver right", "appendix, lower right", "liver on the right"
        rf"(?:^|(?<=[,:&Bsv])){SOME}(?P<s>{SG})(?P<c>[:,]?[a]*(?:p[pda]*)?)(?P<v>V){END}",
        # "a hand on the lower left, that's the appendix"
        r"(?P<v>V)w*,(?P<c>(?:e|ib))(?P<s>d?a*O)(?![wvb])",
        # "there is one kidney on each side"
        r"^t[dawx]{0,2}(?P<s>O)(?P<c>p?)(?P<v>V)",
        # "on the left lies the spleen", "on the right you find the liver"
        r"(?:^|(?<=[,:&Bs]))p?d?(?P<v>V)w*,?(?P<c>(?:h?m?[bva]+h?a*|:|h[mv]*|(?:[ieb]+)))(?P<s>d?a*O)(?![wvb])",
    )
)


@dataclass(frozen=True)
class Value:
    """A side that was said: ``side`` along one axis, ``height`` (upper, lower) where a quarter was said."""

    axis: str
    side: str
    height: str = ""
    at: int = -1
    self_side: str = ""


@dataclass(frozen=True)
class Node:
    """Items ``i`` to ``j`` read as one piece."""

    letter: str
    i: int
    j: int
    value: Value | None = None


LIMB_CLASSES = frozenset(
    (
        "STHUMB",
        "SLITTLE",
        "SBIGTOE",
        "SLITTOE",
        "SEACH",
        "SMID",
        "SINNER",
        "SOUTER",
        "SFRONT",
        "SBACK",
        "NREGION",
        "LAREA",
    )
)
LIMB_STARTS = frozenset(("thumb", "pinky", "ulnar", "radial"))
"""A side of a limb begins with one of these classes or words."""


def _may_be_side(item: Item) -> bool:
    """Whether a side may begin here at all; most sentences with a structure in them name none."""
    held = item.c
    if not held:
        return item.text in LIMB_STARTS
    return (
        held.get("DIR") in WORDS
        or "STR" in held
        or item.text in LIMB_STARTS
        or not LIMB_CLASSES.isdisjoint(held)
    )


class _Reader:
    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items = reading.items
        self.structures = reading.lexicon.vocabulary.structures
        # Without a thing there is nothing to read.
        named = any(map(self._is_thing, range(len(self.items))))
        self.letters = LETTERS.shape(self.items) if named else ""
        self.nodes = self._nodes() if named else []
        self.shape = "".join(node.letter for node in self.nodes)

    def _nodes(self) -> list[Node]:
        nodes: list[Node] = []
        k = 0
        while k < len(self.items):
            held = self.items[k].c
            read = self._value(k) if held or self.items[k].text in LIMB_STARTS else None
            if read is not None:
                node = read
            elif self._is_thing(k):
                node = Node("O", k, self._past_bulk(k + 1))
            else:
                node = Node(self.letters[k], k, k + 1)
            nodes.append(node)
            k = node.j
            if node.letter == "O" and self._has_is(k):
                nodes.append(Node("b", k, k))
        return nodes

    def _past_bulk(self, k: int) -> int:
        """ "the liver's bulk": what stands for the thing itself."""
        if self.items[k - 1].text.endswith("'s"):
            while k < len(self.items) and self.items[k].text in (
                "bulk",
                "mass",
                "main",
                "bigger",
                "greater",
                "part",
            ):
                k += 1
        return k

    def _has_is(self, k: int) -> bool:
        """ "the kidney's on the left": the 's is a verb where no noun follows."""
        if k >= len(self.items) or not self.items[k - 1].text.endswith("'s"):
            return False
        after = self.items[k]
        placed = after.is_("PREP", "ADV", "SVERB", "DET", "NEG") or after.text.startswith(
            ("at the ", "in ", "on ")
        )
        return placed and not after.is_("STR", "PART", "MUS")

    def _is_thing(self, k: int) -> bool:
        held = self.items[k].c
        if "SPLACE" in held:
            return True
        entry = self.structures.get(held.get("STR", ""))
        if entry is not None and entry.kind not in ("region", "rib", "vertebra"):
            return True
        name = held.get("MUS") or held.get("NRV")
        return bool(name) and (side_row("ml", str(name)) or side_row("fb", str(name))) is not None

    # -- sides said -------------------------------------------------------------------------------------------------------

    def _value(self, k: int) -> Node | None:
        item = self.items[k]
        entry = self.structures.get(item.c.get("STR", ""))
        if (
            entry is not None
            and entry.kind == "region"
            and len(entry.quadrants) == 1
            and " " in entry.quadrants[0]
        ):
            side, height = entry.quadrants[0].split()
            return Node("V", k, self._past_nouns(k + 1), Value("lr", side, height, k))
        if item.is_("STR", "MUS", "NRV") and "DIR" not in item.c and not item.is_("LAREA", "NREGION"):
            return None
        height = self._height(k)
        if height and k + 1 < len(self.items) and self._left_right(k + 1):
            return Node("V", k, self._past_nouns(k + 2), Value("lr", self._left_right(k + 1), height, k + 1))
        side = self._left_right(k)
        if side:
            return self._sided(k, side)
        return self._limb(k)

    def _sided(self, k: int, side: str) -> Node:
        end = k + 1
        height = ""
        ahead = end
        while ahead < len(self.items) and self.items[ahead].is_("COMMA", "SNOUN", "DIR") and ahead - k < 4:
            height = height or self._height(ahead)
            if self.items[ahead].is_("SNOUN") or self._height(ahead):
                end = ahead + 1
            ahead += 1
        if not height and k > 1:
            height = next((h for m in (k - 1, k - 2, k - 3) if m >= 0 and (h := self._height(m))), "")
        if end + 2 < len(self.items) and self.items[end].text == "of" and self.items[end + 2].is_("SMID"):
            end += 3
        return Node("V", k, self._past_nouns(end), Value("lr", side, height, k))

    def _height(self, k: int) -> str:
        item = self.items[k]
        if item.text in ("higher", "up", "down"):
            return ""
        return "upper" if item.is_("SHIGH") else "lower" if item.is_("SLOW") else ""

    def _past_nouns(self, k: int) -> int:
        while k < len(self.items) and self.letters[k] == "w" and not self._is_thing(k):
            k += 1
        return k

    def _left_right(self, k: int) -> str:
        item = self.items[k]
        side = item.c.get("DIR")
        if side not in WORDS or item.is_("STR", "MUS"):
            return ""
        following = self.items[k + 1] if k + 1 < len(self.items) else None
        if following is not None and following.is_("SSUBJ") and not following.is_("STR"):
            return ""
        if item.text == "right" and following is not None and following.text in SELF:
            return "" if k == 0 or not self.items[k - 1].is_("DET") else side
        return str(side)

    def _limb(self, k: int) -> Node | None:
        item = self.items[k]
        if LIMB_CLASSES.isdisjoint(item.c) and item.text not in LIMB_STARTS:
            return None
        before = self.items[k - 1] if k else None
        determined = before is not None and before.is_("DET", "ADV", "AUX", "PREP", "SVERB")
        end = self._past_nouns(k + 1)
        for name, side in (
            ("STHUMB", "thumb"),
            ("SLITTLE", "little finger"),
            ("SBIGTOE", "big toe"),
            ("SLITTOE", "little toe"),
        ):
            if name in item.c:
                axis, meant = ASIDE_SIDE[side]
                return Node("V", k, end, Value(axis, meant, "", k, side))
        two = f"{item.text} {self.items[k + 1].text}" if k + 1 < len(self.items) else ""
        for words, side in ((("thumb side",), "thumb"), (("pinky side",), "little finger"), (("ulnar side",), "little finger"), (("radial side",), "thumb")):  # fmt: skip
            if two in words:
                axis, meant = ASIDE_SIDE[side]
                return Node("V", k, self._past_nouns(k + 2), Value(axis, meant, "", k, side))
        if "SEACH" in item.c:
            return Node("V", k, end, Value("lr", "both", "", k))
        if "SMID" in item.c and determined:
            return Node("V", k, end, Value("lr", "midline", "", k))
        noun = end > k + 1
        said = item.text.split()
        if said[0] in ("front", "back") and "of" in said and determined:
            return Node("V", k, end, Value("fb", said[0], "", k))
        if said[0] in ("inner", "outer") and determined and "NREGION" in item.c:
            return Node("V", k, end, Value("ml", said[0], "", k))
        if item.text.startswith(("at the front", "at the back", "in front of")):
            return Node("V", k, end, Value("fb", "back" if "back" in item.text else "front", "", k))
        plain = item.text in ("medial", "lateral", "inner", "outer", "medially", "laterally")
        for name, side in (("SINNER", "inner"), ("SOUTER", "outer")):
            if name in item.c and (
                noun or plain or (determined and before is not None and before.is_("DET"))
            ):
                return Node("V", k, end, Value("ml", side, "", k))
        for name, side in (("SFRONT", "front"), ("SBACK", "back")):
            if name in item.c and before is not None and before.is_("DET") and not item.is_("STR"):
                after = self.items[k + 1] if k + 1 < len(self.items) else None
                if after is None or after.text == "of" or after.is_("COMMA", "SNOUN", "AND"):
                    return Node("V", k, end, Value("fb", side, "", k))
        return None

    # -- statements -------------------------------------------------------------------------------------------------------

    def read(self) -> Iterator[tuple[int, int, list[int], Value, bool]]:
        """From where to where, the things, the side, whether denied."""
        taken: set[int] = set()
        found: list[tuple[int, int, list[int], Value, bool]] = []
        for number, pattern in enumerate(PATTERNS):
            place = 0
            while match := pattern.search(self.shape, place):
                place = match.start() + 1
                things = [n for n in range(match.start("s"), match.end("s")) if self.shape[n] == "O"]
                node = self.nodes[match.start("v")]
                if taken & {*things, match.start("v")} or node.value is None:
                    continue
                if self._of_picture(node.j) or (number == 0 and self._governed(match.start("s"))):
                    continue
                if (
                    number == 2
                    and "p" in match.group("c")
                    and not found
                    and self.shape[: match.start()].strip("das,B&")
                ):
                    continue
                taken |= {*things, match.start("v")}
                i = min(self.nodes[things[0]].i, node.i)
                while i > 0 and self.items[i - 1].is_("DET", "PREP") and number == 5:
                    i -= 1
                if i > 0 and self.items[i - 1].is_("DET"):
                    i -= 1
                last = max(self.nodes[things[-1]].j, node.j)
                denied = match.group("c").count("n") % 2 == 1
                found.append((i, last, [self.nodes[n].i for n in things], node.value, denied))
        found += self._pointed(taken)
        yield from found

    def _pointed(self, taken: set[int]) -> Iterator[tuple[int, int, list[int], Value, bool]]:
        """A place pointed back to: "a kick on the left, that's where the spleen lives"; "… and the spleen sits there"."""
        for n, node in enumerate(self.nodes):
            if node.letter != "O" or n in taken:
                continue
            place = next((m for m in range(n - 1, max(-1, n - 26), -1) if self._is_place(m)), -1)
            value = self.nodes[place].value if place >= 0 else self._place_before()
            last = self._points_after(n) or (self._points_before(n, place) if place >= 0 else None)
            if value is None or last is None:
                continue
            denied = any(x.is_("NEG") for x in self.items[max(0, node.i - 2) : last])
            taken.add(n)
            yield node.i, last, [node.i], Value("lr", value.side, "", -1), denied

    def _place_before(self) -> Value | None:
        """The side that the sentence before named, where it named only one."""
        before = self.reading.memory.before or []
        if any(item.is_("SVIEW") for item in before):
            return None
        sides = {
            str(item.c["DIR"]) for item in before if item.c.get("DIR") in WORDS and not item.is_("STR", "MUS")
        }
        return Value("lr", sides.pop()) if len(sides) == 1 else None

    def _is_place(self, m: int) -> bool:
        value = self.nodes[m].value
        return (
            value is not None
            and value.axis == "lr"
            and value.side in WORDS
            and not self._of_picture(self.nodes[m].j)
        )

    def _points_after(self, n: int) -> int | None:
        """ "the spleen sits there", "the liver, which fills that corner"."""
        k = self.nodes[n].j
        for m in range(k, min(k + 8, len(self.items))):
            item = self.items[m]
            if item.text in BACK or (
                item.text in ("that", "this", "the same")
                and m + 1 < len(self.items)
                and self.items[m + 1].text in PLACES
            ):
                return (
                    m + (1 if item.text in BACK else 2)
                    if any(x.is_("SVERB", "AUX") or x.text.endswith("'s") for x in self.items[k - 1 : m])
                    else None
                )
            if (item.is_("COMMA", "AND", "BUT", "PERSON") or item.c.get("DIR") in WORDS) and not (
                item.is_("COMMA") and m == k
            ):
                return None
        return None

    def _points_before(self, n: int, place: int) -> int | None:
        """ "that's where the appendix is", "liver country", "over the tip of the heart"."""
        node = self.nodes[n]
        k = node.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADJ"):
            k -= 1
        after = self.items[node.j] if node.j < len(self.items) else None
        if after is not None and after.text in (
            "country",
            "territory",
            "land",
            "area",
            "region",
            "corner",
            "side",
            "zone",
            "spot",
        ):
            return node.j + 1 if k >= 0 and self.items[k].text.endswith(("is", "are", "'s", "'re")) else None
        if k < 0:
            return None
        if "where" in self.items[k].text.split():
            return node.j + 1 if after is not None and after.is_("AUX", "SVERB") else node.j
        gap = self.items[self.nodes[place].j : k]
        if (
            self.items[k].text in ("over", "above")
            and len(gap) <= 4
            and not any(x.is_("AUX", "SVERB", "PERSON") for x in gap)
        ):
            return node.j
        return None

    def _governed(self, n: int) -> bool:
        """Whether the thing hangs on a preposition, so that another word is the subject ("the pain in the liver is …")."""
        m = n - 1
        while m >= 0 and self.shape[m] in "daw":
            m -= 1
        if m < 0 or self.shape[m] not in "po":
            return False
        last = self.nodes[n].j
        if last < len(self.items) and self.items[last].text in ("being", "lying", "sitting", "hiding"):
            return False
        before = self.shape[max(0, m - 1) : m]
        text = self.items[self.nodes[m].i].text
        return not (
            text == "of" and (before in ("w", "a", "d") or self.shape[max(0, m - 1)] in "waO")
        ) and text not in ("with",)

    def _of_picture(self, k: int) -> bool:
        ahead = self.items[k : k + 4]
        return any(item.is_("SVIEW") and not item.is_("STR") for item in ahead)


# -- judging -------------------------------------------------------------------------------------------------------------


def _thing(reader: _Reader, k: int) -> tuple[str, str]:
    """The (kind, name) of the thing at item ``k``; extra things have the kind "place"."""
    held = reader.items[k].c
    if "SPLACE" in held and (held.get("STR") is None or side_row("place", held["SPLACE"])):
        return "place", held["SPLACE"]
    for kind, name in (("structure", "STR"), ("muscle", "MUS"), ("nerve", "NRV")):
        if name in held:
            return kind, held[name]
    return "place", ""


def _pancreas_end(reader: _Reader, k: int) -> SideFact | None:
    """ "the tail of the pancreas": an end of something whose middle is elsewhere."""
    if k >= 3:
        said = " ".join(item.text for item in reader.items[k - 3 : k + 1])
        return side_row("place", said)
    return None


def judge_side(reader: _Reader, k: int, value: Value) -> Finding:
    """A verdict on one thing and one side."""
    kind, name = _thing(reader, k)
    fact = _pancreas_end(reader, k) or (side_row("place", name) if kind == "place" else None)
    if fact is not None:
        return _by_fact(fact, value, name, "lr")
    if kind in ("muscle", "nerve"):
        return _limb_fact(reader, kind, name, value)
    entry = reader.structures.get(name)
    if entry is None:
        return Finding("unknown", "")
    terms = (("structure", entry.name),)
    if value.axis != "lr":
        return _limb_side(entry.name, entry.note, value, entry.sources)
    if reader.items[k].text in ONE_OF_TWO and value.side in WORDS and entry.side == "both":
        why = f"it depends which is meant: there is one {reader.items[k].text.removesuffix(chr(39) + 's')} on each side"
        return Finding("depends", sentence(why), "", entry.sources, terms)
    row = side_row("depends", entry.name)
    if row is not None and value.side in row.sides:
        return Finding("depends", sentence(row.why), "", row.sources, terms)
    return _trunk_side(entry, value, terms)


def _by_fact(fact: SideFact, value: Value, name: str, axis: str) -> Finding:
    if value.axis != axis or not fact.sides:
        return Finding("unknown", "")
    if value.side == fact.sides[0]:
        return Finding("right", sentence(fact.why), "", fact.sources)
    if value.side == OTHER.get(fact.sides[0]):
        return Finding("wrong", sentence(fact.why), sentence(fact.why), fact.sources)
    return Finding("unknown", "")


ONE_OF_TWO = frozenset(
    {"kidney", "lung", "ovary", "ureter", "testicle", "adrenal gland", "kidney's", "lung's"}
)


def _limb_fact(reader: _Reader, kind: str, name: str, value: Value) -> Finding:
    row = side_row(value.axis, name)
    if row is None or value.self_side:
        return Finding("unknown", "")
    side = row.sides[0]
    words = {
        "inner": "on the inner side",
        "outer": "on the outer side",
        "front": "on the front",
        "back": "on the back",
    }
    why = sentence(f"{name} lies {words[side]}") if row.why.startswith("it ") else sentence(row.why)
    terms = ((kind, name),)
    if value.side == side:
        return Finding("right", why, "", row.sources, terms)
    return Finding("wrong", why, why, row.sources, terms)


def _limb_side(name: str, note: str, value: Value, sources: tuple[str, ...]) -> Finding:
    first = re.split(r"[,;: ]", note)[0]
    axis, side = NOTES.get(first, ("", ""))
    row = side_row(value.axis, name)
    if not axis and row is not None:
        axis, side = value.axis, row.sides[0]
    if axis != value.axis:
        return Finding("unknown", "")
    hand = name in HAND
    lay = {"inner": "little finger", "outer": "thumb"} if hand else {}
    if hand and not value.self_side and value.axis != "ml":
        return Finding("unknown", "")
    shown = f"on the {lay[side]} side" if hand else f"on the {side}" + (" side" if axis == "ml" else "")
    why = sentence(f"the {name} lies {shown}")
    terms = (("structure", name),)
    if value.side == side:
        return Finding("right", why, "", sources, terms)
    return Finding("wrong", why, why, sources, terms)


def _trunk_side(entry: object, value: Value, terms: tuple[tuple[str, str], ...]) -> Finding:
    name, side = entry.name, entry.side  # type: ignore[attr-defined]
    quadrants, sources = entry.quadrants, entry.sources  # type: ignore[attr-defined]
    kind = entry.kind  # type: ignore[attr-defined]
    sides = {q.split()[0] for q in quadrants if " " in q}
    where = f"on the {side}" if side in WORDS else "in the midline" if side == "midline" else "on both sides"
    quarter = joined((f"the {q} quarter" for q in quadrants if " " in q), "or")
    if side in WORDS and quarter and len(sides) == 1:
        where += f", in {quarter} of the belly"
    why = sentence(f"the {name} lies {where}")
    wrong = Finding("wrong", why, why, sources, terms)
    right = Finding("right", why, "", sources, terms)
    if value.side == "both":
        if side == "both":
            return right
        return wrong if side_row("definite", name) else Finding("unknown", "")
    if value.side == "midline":
        if side == "midline":
            return right
        return wrong if side_row("definite", name) else Finding("unknown", "")
    if side in WORDS:
        if value.side != side:
            return wrong
        if value.height and quadrants and not side_row("free", name):
            heights = {q.split()[1] for q in quadrants if " " in q}
            if heights and value.height not in heights:
                return wrong
        return right
    if side == "midline" and kind == "organ":
        if value.side in sides:
            return Finding("unknown", "")
        return wrong if not value.height else Finding("unknown", "")
    return Finding("unknown", "")


# -- what only one of a pair has -------------------------------------------------------------------------------------------


def _is_picture(items: Sequence[Item]) -> bool:
    """Whether a side is one of the picture ("on the left of the frame") or of the field of play."""
    return any(
        item.is_("SVIEW") and k > 1 and items[k - 1].is_("DET") and items[k - 2].is_("PREP")
        for k, item in enumerate(items)
    )


# -- together --------------------------------------------------------------------------------------------------------------


def claim_sides(reading: Reading) -> None:
    """Adds the sentence's claims about sides to the reading."""
    if reading.has("STR", "SPLACE", "SSUBJ"):
        if not reading.has("DIR", *LIMB_WORDS, "STR", "SSUBJ"):
            return
    elif not (reading.has("MUS", "NRV") and reading.has(*LIMB_WORDS, "DIR") and reading.has("AUX", "SVERB")):
        return
    reading = without_asides(reading)
    spans: list[tuple[int, int]] = []
    if any(map(may_be_subject, reading.items)) and not _is_picture(reading.items):
        for i, j, finding in (*diaphragm_domes(reading), *one_of_two(reading)):
            spans.append((i, j))
            reading.add("side", i, j, finding)
        for i, j, finding, replace in attributes(reading):
            if not any(a < j and i < b for a, b in spans):
                spans.append((i, j))
                reading.add("side", i, j, finding, replace)
    if not reading.has("DIR", *LIMB_WORDS, "STR"):
        return
    if not any(_may_be_side(item) for item in reading.items):
        return
    reader = _Reader(reading)
    if "O" not in reader.shape or ("V" not in reader.shape and reader._place_before() is None):
        return
    for i, j, things, value, denied in reader.read():
        if any(a < j and i < b for a, b in spans):
            continue
        _add(reading, reader, i, j, things, value, denied)


def _add(
    reading: Reading, reader: _Reader, i: int, j: int, things: list[int], value: Value, denied: bool
) -> None:
    order = {"right": 0, "unknown": 1, "depends": 2, "wrong": 3}
    findings = [judge_side(reader, k, value) for k in things]
    worst = max(findings, key=lambda f: order[f.verdict])
    if worst.verdict == "unknown":
        return
    if denied:
        if worst.verdict == "depends":
            return
        turned = (
            "right"
            if all(f.verdict == "wrong" for f in findings)
            else "wrong"
            if worst.verdict == "right"
            else ""
        )
        if not turned:
            return
        worst = Finding(turned, worst.why, worst.why if turned == "wrong" else "", worst.sources, worst.terms)  # type: ignore[arg-type]
    replace = None
    if worst.verdict == "wrong" and not denied and len(things) == 1 and value.at >= 0:
        text = reader.items[value.at].text
        other = OTHER.get(value.self_side or value.side, "")
        said = value.self_side or value.side
        if other and said in text and value.side != "both":
            replace = (value.at, value.at + 1, text.replace(said, other))
    reading.add("side", i, j, worst, replace)
