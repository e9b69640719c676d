"""The pieces of a sentence about sides: things, sides said, and the small words between, one letter each."""

from __future__ import annotations

from dataclasses import dataclass

from anatomy.claims.kinds.side_facts import side_row
from anatomy.claims.kinds.side_words import ASIDE_SIDE, SELF, WORDS
from anatomy.claims.reading import Reading
from anatomy.claims.shapes import Alphabet

LETTERS = Alphabet(
    {
        "itself": "a",
        "themselves": "a",
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
        "carry": "H",
        "carries": "H",
        "we've got": "h",
        "you feel": "h",
        "you find": "h",
        "you see": "h",
        "it's": "e",
        "they're": "e",
    },
    (("SVERB", "v"), ("HAVE", "H"), ("SNOUN", "w"), ("SHIGH", "a"), ("SLOW", "a"), ("DIR", "a")),
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


BLOWS = frozenset({"shot", "punch", "hook", "kick", "blow", "shots", "punches"})
"""What is aimed at an organ, and so lands where it lies."""
SIDE_NOUNS = frozenset(
    {"side", "flank", "half", "other side", "the other side", "opposite side", "the opposite side"}
)
LIKE_SIDE = {
    "same": False,
    "the same": False,
    "the": False,
    "opposite": True,
    "the opposite": True,
    "other": True,
    "the other": True,
    "across from": True,
    "away from": True,
    "other side": True,
    "the other side": True,
    "opposite side": True,
    "the opposite side": True,
}
"""Words before the side of another organ, and whether the opposite side is meant."""
WORDS_OTHER = {"left": "right", "right": "left"}


class SideNodes:
    """What a sentence says of sides: the things in it, the sides said, and which is said of which."""

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
        if k + 1 < len(self.items) and self.items[k].text in BLOWS and self.items[k + 1].is_("SVERB", "AUX"):
            entry = self.structures.get(self.items[k - 1].c.get("STR", ""))
            return k + (entry is not None and entry.side in WORDS)
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
        if item.text in LIKE_SIDE or (k + 1 < len(self.items) and self.items[k + 1].text in SIDE_NOUNS):
            told = self._side_of_another(k)
            if told is not None:
                return told
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

    def _side_of_another(self, k: int) -> Node | None:
        """ "The appendix side", "the same side as the heart", "opposite the liver", "the side of the spleen"."""
        items = self.items
        other = LIKE_SIDE.get(items[k].text)
        if other is None:
            side = self._own_side(k)
            return Node("V", k, k + 2, Value("lr", side, "", -1)) if side else None
        noun = k
        while noun < min(k + 3, len(items)) and items[noun].text not in SIDE_NOUNS:
            noun += 1
        sided = noun < len(items) and items[noun].text in SIDE_NOUNS
        if items[k].text == "the" and sided and " " in items[noun].text:
            return None
        if any(item.is_("DIR", "SINNER", "SOUTER", "SFRONT", "SBACK") for item in items[k + 1 : noun]):
            return None
        if not sided and items[k].text in ("same", "the same", "other", "the other", "the"):
            return None
        m = noun + 1 if sided else k + 1
        while m < min(noun + 5, len(items)) and items[m].is_("PREP", "AS", "DET", "WITH", "SUB"):
            m += 1
        side = self._own_side(m) if m < len(items) and m > k + 1 - (not sided) else ""
        if not side or (sided and not items[noun + 1].is_("PREP", "AS", "WITH", "SUB")):
            return None
        return Node("V", k, m + 1, Value("lr", WORDS_OTHER[side] if other else side, "", -1))

    def _own_side(self, k: int) -> str:
        """The side on which an organ lies; nothing for one in the midline or on both sides."""
        if k >= len(self.items):
            return ""
        held = self.items[k].c
        row = side_row("place", held["SPLACE"]) if "SPLACE" in held else None
        entry = self.structures.get(held.get("STR", ""))
        side = (
            row.sides[0]
            if row
            else entry.side
            if entry is not None and entry.kind in ("organ", "vessel")
            else ""
        )
        return side if side in WORDS else ""

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
        if (
            end + 2 < len(self.items)
            and self.items[end].text == "of"
            and self.items[end + 2].is_("SMID", "SAXIS")
        ):
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
