"""What a sentence says of sides: the things in it, the sides said, and which is said of which."""

from __future__ import annotations

import re
from collections.abc import Iterator

from anatomy.claims.kinds.side_nodes import SideNodes, Value
from anatomy.claims.kinds.side_words import BACK, PLACES, WORDS

SG = r"O(?:[,&]+[da]*O)*"


SOME = "(?:[wda]*o)?d?"


END = "(?=$|[,:;&)BsrehToxpiwv(])"


PATTERNS: tuple[re.Pattern[str], ...] = tuple(
    re.compile(p)
    for p in (
        # "left: spleen, right: liver"
        r"(?:^|(?<=,))[pd]*(?P<v>V)w*(?P<c>:)(?P<s>d?a*O)(?=$|[,&])",
        # "on the left the spleen, on the right the liver"
        r"(?:^|(?<=[,&B]))[pa]d?(?P<v>V)w*(?P<c>,?)(?P<s>dO)(?=$|[,&B])",
        # "the organ under the left ribs is the spleen", "what lies on the right is the liver"
        r"(?:w|^s)(?:r?b)?[pavdn]{0,4}(?P<v>V)w?(?:[ox]d?[wx])?(?:r[^OV,]{1,5})?(?P<c>b)(?P<s>d?a*O)(?=$|[,:&B])",
        # "you've got the liver on your right"
        rf"h[maH]{{0,3}}d?(?P<s>{SG})(?P<c>a?pd?a?)(?P<v>V)",
        # "that's where the appendix lives, lower right"
        rf"ew(?P<s>d?O)(?P<c>v?,?[pd]*)(?P<v>V){END}",
        # "the spleen lies on the left", "the liver is a left-sided organ", "all of them sit on the right"
        rf"(?P<s>{SG})(?:[:,]i|,[^,V]{{1,9}},)?[ramd]*(?P<c>[bvn][mabndvp]{{0,7}}(?:[Oxw]p)?o?[dap]*(?:&[dap]*)?)(?P<v>V)",
        rf"(?P<s>{SG})(?P<c>,e[mabnp]{{0,4}}d?)(?P<v>V){END}",
        # "spleen left, liver right", "appendix, lower right", "liver on the right"
        rf"(?:^|(?<=[,:&Bsv])){SOME}(?P<s>{SG})(?P<c>[:,]?[a]*(?:p[pda]*)?)(?P<v>V){END}",
        # "a hand on the lower left, that's the appendix"
        r"(?P<v>V)w*[,:](?P<c>(?:e|ib))(?P<s>d?a*O)(?![wvb])",
        # "there is one kidney on each side"
        r"^t[dawx]{0,2}(?P<s>O)(?P<c>p?)(?P<v>V)",
        # "on the left lies the spleen", "on the right you find the liver"
        r"(?:^|(?<=[,:&Bs]))p?d?(?P<v>V)w*(?:[ox]d?[wx])?,?(?P<c>(?:h?m?[bvaH]+h?a*|:|h[mv]*|(?:[ieb]+)))(?P<s>d?a*O)(?![wvb])",
    )
)


ABOVE, HAD, SAID, VERBLESS, INVERTED = 1, 3, 5, 7, 10
"""Places of patterns that have rules of their own."""
GENERIC = ("you", "we", "everyone", "everybody", "people", "one", "humans")


FINDING = frozenset({"palpate", "find", "locate", "percuss", "feel", "expect", "look for"})
"""Verbs of looking for a place."""


class SideReader(SideNodes):
    """What a sentence says of sides: the things in it, the sides said, and which is said of which."""

    # -- statements -------------------------------------------------------------------------------------------------------

    def read(self) -> Iterator[tuple[int, int, list[int], Value, bool]]:
        """From where to where, the things, the side, whether denied."""
        if any(item.is_("RESP") for item in self.items) and (pairs := self._paired()):
            yield from pairs
            return
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
                if self._of_picture(node.j) or (number == SAID and self._governed(match.start("s"))):
                    continue
                if (
                    number == VERBLESS
                    and "p" in match.group("c")
                    and not found
                    and self.shape[: match.start()].strip("das,B&")
                    and not self._finding(match.start())
                ):
                    continue
                if number == HAD and not self._generic(match.start()):
                    continue
                taken |= {*things, match.start("v")}
                i = min(self.nodes[things[0]].i, node.i)
                while i > 0 and self.items[i - 1].is_("DET", "PREP") and number in (ABOVE, INVERTED):
                    i -= 1
                if i > 0 and self.items[i - 1].is_("DET"):
                    i -= 1
                last = max(self.nodes[things[-1]].j, node.j)
                denied = match.group("c").count("n") % 2 == 1
                found.append((i, last, [self.nodes[n].i for n in things], node.value, denied))
        found += self._pointed(taken)
        yield from found

    def _generic(self, n: int) -> bool:
        """Whether the one who has it is anybody: "you have the liver on your right", not "she had her spleen …"."""
        item = self.items[self.nodes[n].i]
        after = self.items[self.nodes[n].i + 1 : self.nodes[n].i + 4]
        has = item.text.endswith("'ve") or any(x.is_("HAVE") or x.text in ("carry", "carries") for x in after)
        return has and item.text.split("'")[0].split(" ")[0] in GENERIC

    def _paired(self) -> list[tuple[int, int, list[int], Value, bool]]:
        """ "The liver and the spleen lie on the right and the left respectively": each thing with its own side."""
        things = [node for node in self.nodes if node.letter == "O"]
        sides = [node for node in self.nodes if node.value is not None]
        if len(things) != len(sides) or len(things) < 2:
            return []
        i, j = min(things[0].i, sides[0].i), max(things[-1].j, sides[-1].j)
        return [
            (i, j, [thing.i], side.value, False)
            for thing, side in zip(things, sides, strict=True)
            if side.value is not None
        ]

    def _finding(self, n: int) -> bool:
        """ "you'd palpate the gallbladder on the left": where a thing is to be found is where it is."""
        before = [self.items[node.i] for node in self.nodes[max(0, n - 4) : n] if node.i < node.j]
        return any(item.text in FINDING for item in before) and any(
            item.text.startswith(("you", "we", "one")) for item in before
        )

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
