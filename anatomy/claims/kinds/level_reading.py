"""What a sentence says of levels, and the levels that a thing has by the books."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from anatomy.claims.kinds.level_facts import LevelFact, level_facts
from anatomy.claims.levels_said import PLACE, TO, Said, levels_said, regions_said, ribs_said
from anatomy.claims.reading import Reading
from anatomy.claims.shapes import Alphabet

LETTERS = Alphabet(
    {
        "who": "r",
        "they are": "e",
        "it is": "e",
        "there are": "t",
        "there is": "t",
        "where": "w",
        "that's": "e",
        "it's": "e",
        "there": "t",
        "there's": "t",
        "not": "n",
        "for": "p",
    },
    (
        ("LFLOAT", "Y"),
        ("LTEST", "T"),
        ("LBEGIN", "v"),
        ("LEND", "v"),
        ("LVERB", "v"),
        ("COMEFROM", "v"),
        ("PROD", "v"),
        ("LTWO", "a"),
        ("DIR", "a"),
        ("NPASS", "v"),
        ("PASSBY", "v"),
        ("NSUP", "v"),
        ("LSKIN", "D"),
        ("LROOT", "W"),
        ("NUM", "#"),
    ),
)


S = "[NXMOAZP]"


SG = rf"{S}(?:[,&]+[da]*{S})*"


END = "(?=$|[,:;&)BsrehiTDWaWpnx(])"


ASIDE = "(?:,[^,VR]{1,9},)?"


PATTERNS: tuple[re.Pattern[str], ...] = tuple(
    re.compile(p)
    for p in (
        rf"(?P<s>{SG})[WD]*(?:[pa][da]*p?d?[OWax])?{ASIDE}(?:,(?=b))?(?P<c>[ramn]*[bvTG][mabdpWDvTtwnh]{{0,7}})[WD]*(?P<v>[VR])(?P<w>[WD]*)",
        rf"(?P<v>[VR])(?P<w>[WD]*)(?P<c>[ramn]*[bvT][mabdpWDvTtwn]{{0,7}})(?P<s>{SG})",
        rf"(?P<v>[VR])(?P<w>[WD]*),?(?P<c>(?:e|ib)[da]*)(?P<s>{SG}){END}",
        rf"(?P<v>[VR])(?P<w>[WD]*)(?P<c>pd?a*)(?P<s>{SG}){END}",
        rf"(?:^|(?<=[,:&B]))[da]*(?P<s>{SG})[WD]*(?P<c>:|,?[:a]*[da]*[WD]*a*|[,a]*p?[da]*W*|,?a*W[pdWav]{{0,7}})(?P<v>[VR])(?P<w>[WD]*){END}",
        rf"(?P<s>{SG})[WD]*(?P<c>(?:,[da]*M?N?)?,[da]*W+a*)(?P<v>V)(?P<w>[WD]*){END}",
        # "L4, the level of the iliac crests"
        rf"(?P<v>[VR])(?P<w>,[da]*[Wv])(?P<c>pd?a*)(?P<s>{SG})",
        # "the kidneys sit below, around T12"
        rf"(?P<s>{SG})(?P<c>[bv][ap]{{1,3}},[paW]+d?W*)(?P<v>[VR])(?P<w>[WD]*)",
        # "the bump at the bottom of your neck, that one's C7"
        rf"(?P<s>{S})[^VR,]{{0,9}},(?P<c>(?:[ie]|ib|x)[pa]*)(?P<v>V)(?P<w>[WD]*){END}",
        # "the nipple line tingled, and T4 is the dermatome there"
        r"(?P<s>A)[^VR]{0,14}(?P<v>V)(?P<w>)(?P<c>bd?a*D)",
    )
)


LOST = re.compile(r"(?P<v>V)(?P<w>W*)x?(?P<c>[,a]*s)(?P<s>M)b")


NAMED_VERTEBRAE = frozenset({"atlas", "axis vertebra", "vertebra prominens", "dens"})


NUMBERED = frozenset({"atlas", "axis vertebra"})
"""Vertebrae that a name gives as plainly as a number does: a level beside is no near miss."""


@dataclass(frozen=True)
class Node:
    """Items ``i`` to ``j`` read as one piece of the sentence."""

    letter: str
    i: int
    j: int
    value: Any = None


@dataclass(frozen=True)
class Held:
    """The levels that something has by the books."""

    what: str
    levels: tuple[str, ...]
    also: tuple[str, ...] = ()
    many: bool = False
    near: int = 0
    sources: tuple[str, ...] = ()
    term: tuple[str, str] | None = None
    why: str = ""
    extra: tuple[str, ...] = field(default=())


class LevelReader:
    """What a sentence says of levels, and the levels that a thing has by the books."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items = reading.items
        self.vocabulary = reading.lexicon.vocabulary
        self.facts = level_facts()
        self.levels = {said.i: said for said in regions_said(self.items)}
        self.levels |= {said.i: said for said in levels_said(self.items, self.reading.text)}
        self.ribs = {said.i: said for said in ribs_said(self.items)}
        # Without a level there is nothing to read.
        self.nodes = self._nodes() if self.levels or self.ribs else []
        self.shape = "".join(node.letter for node in self.nodes)

    # -- nodes ----------------------------------------------------------------------------------------------------------

    def _nodes(self) -> list[Node]:
        levels, ribs = self.levels, self.ribs
        letters = LETTERS.shape(self.items)
        nodes: list[Node] = []
        k = 0
        while k < len(self.items):
            said: Said | None = levels.get(k)
            letter = "V"
            if said is None:
                said, letter = ribs.get(k), "R"
            if said is not None:
                nodes.append(Node(letter, k, said.j, said))
                k = said.j
                continue
            area = " ".join(item.text for item in self.items[k : k + 4])
            if " of " in area and area in self.facts["skin"] and k + 4 <= len(self.items):
                nodes.append(Node("A", k, k + 4, area))
                k += 4
                continue
            nodes.append(self._single(k, letters[k]))
            k += 1
        return nodes

    def _single(self, k: int, letter: str) -> Node:
        held = self.items[k].c
        nerve = self.vocabulary.nerves.get(held.get("NRV", ""))
        if nerve is not None and nerve.kind in ("nerve", "plexus") and nerve.roots:
            return Node("N", k, k + 1, nerve)
        if nerve is not None and nerve.kind == "reflex":
            return Node("X", k, k + 1, nerve)
        if "MUS" in held:
            return Node("M", k, k + 1, held["MUS"])
        if "LSIGN" in held:
            return Node("Z", k, k + 1, held["LSIGN"])
        if (
            self.items[k].text in ("reflex", "jerk")
            and k
            and self.items[k - 1].text in ("that", "this", "the", "which")
        ):
            earlier = [x.c["NRV"] for x in self.items[:k] if "NRV" in x.c]
            meant = self.vocabulary.nerves[earlier[-1]] if earlier else None
            if meant is not None and meant.kind == "reflex":
                return Node("X", k, k + 1, meant)
        if "LPLACE" in held and (
            held["LPLACE"] != "bump" or any(x.text in ("neck", "of your neck") for x in self.items)
        ):
            return Node("P", k, k + 1, held["LPLACE"])
        structure = self.vocabulary.structures.get(held.get("STR", ""))
        if self.items[k].text == "axis" and any(x.c.get("STR") in ("atlas", "dens") for x in self.items):
            structure = self.vocabulary.structures.get("axis vertebra")
        if (
            structure is not None
            and (structure.vertebrae or structure.ribs)
            and (structure.kind not in ("vertebra", "rib") or structure.name in NAMED_VERTEBRAE)
        ):
            return Node("O", k, k + 1, structure)
        if "LAREA" in held:
            return Node("A", k, k + 1, held["LAREA"])
        return Node(letter, k, k + 1)

    # -- statements -----------------------------------------------------------------------------------------------------

    def read(self) -> Iterator[tuple[int, int, list[Node], Node, bool, str]]:
        """From where to where, the things, the level, whether denied, and the words between."""
        taken: set[int] = set()
        for number, pattern in enumerate((*PATTERNS, LOST)):
            place = 0
            while match := pattern.search(self.shape, place):
                place = match.start() + 1
                used = [
                    n for n in range(match.start("s"), match.end("s")) if self.nodes[n].letter in "NXMOAZP"
                ]
                level = match.start("v")
                if level in taken or taken & set(used):
                    continue
                if (number == 3 and self._mere(match)) or (number == 1 and self._only_to(match)):
                    continue
                taken |= {level, *used}
                things = [self.nodes[n] for n in used]
                mixed = {node.letter for node in things} == {"M", "N"}
                if mixed:
                    things = [node for node in things if node.letter == "M"]
                between_ = match.group("c")
                denied = between_.count("n") % 2 == 1
                i = min(things[0].i, self.nodes[level].i)
                if mixed:
                    i = self.nodes[max(used) + 1].i
                    i += self.items[i].is_("COMMA")
                last = max(
                    match.end("s"), match.end("w") if "w" in match.groupdict() else match.end("v"), level + 1
                )
                yield i, self.nodes[last - 1].j, things, self.nodes[level], denied, match.group()

    def _only_to(self, match: re.Match[str]) -> bool:
        """ "from T10 down to the sacrum": a stretch and no statement."""
        nodes = self.nodes[match.start("c") : match.end("c")]
        texts = [self.items[node.i].text for node in nodes if node.i < node.j]
        return all(
            text in TO or self.items[node.i].is_("DET") for text, node in zip(texts, nodes, strict=False)
        )

    def _mere(self, match: re.Match[str]) -> bool:
        """ "T4 at the nipple" opens its clause; "pain from L4 to the knee" does not."""
        start = match.start("v")
        while start > 0 and self.shape[start - 1] in "daW":
            start -= 1
        return start > 0 and self.shape[start - 1] not in ",&:s"

    # -- what the books say ---------------------------------------------------------------------------------------------

    def held(self, node: Node, level: Node, words: str) -> Held | None:
        """The levels of a thing, of the sort that was said of it."""
        if node.letter == "Z":
            fact = self.facts["test"].get(node.value)
            return self._fact(fact, node.value) if fact else None
        if node.letter == "P":
            return self._place(node)
        if node.letter == "A":
            fact = self.facts["skin"].get(node.value)
            return self._fact(fact, node.value) if fact and level.letter == "V" else None
        if node.letter in "NX":
            n = node.value
            return Held(n.name, n.roots, n.also_roots, node.letter == "N", 0, n.sources, ("nerve", n.name))
        if node.letter == "M":
            return self._muscle(node) if level.letter == "V" else None
        return self._structure(node, level, words)

    def _fact(self, fact: LevelFact, name: str) -> Held:
        return Held(name, fact.levels, fact.also, False, 0, fact.sources, None, fact.why)

    def _place(self, node: Node) -> Held | None:
        word = node.value
        fact = self.facts["place"].get(word)
        if fact is None:
            table = "baby" if any("LBABY" in item.c for item in self.items) else "adult"
            fact = self.facts[table].get(word) if self._ends() else None
        return self._fact(fact, word) if fact else None

    def _ends(self) -> bool:
        texts = [item.text for item in self.items]
        return any("LEND" in item.c for item in self.items) or any(
            a
            in (
                "down",
                "down to",
                "right down to",
                "as far as",
                "far as",
                "reaches",
                "all the way to",
                "all the way down to",
                "extends to",
                "runs down to",
            )
            for a in texts
        )

    def _muscle(self, node: Node) -> Held | None:
        members = self.vocabulary.members(node.value)
        roots: dict[str, None] = {}
        also: dict[str, None] = {}
        sources: dict[str, None] = {}
        for name in members:
            muscle = self.vocabulary.muscles[name]
            if not muscle.roots:
                return None
            roots |= dict.fromkeys(muscle.roots)
            also |= dict.fromkeys(muscle.also_roots)
            sources |= dict.fromkeys(muscle.sources)
        if not roots or any(root not in PLACE for root in roots):
            return None
        kind = "muscle" if node.value in self.vocabulary.muscles else "group"
        return Held(node.value, tuple(roots), tuple(also), False, 0, tuple(sources)[:4], (kind, node.value))

    def _structure(self, node: Node, level: Node, words: str) -> Held | None:
        entry = node.value
        ends = self._ends()
        if entry.name in ("spinal cord", "conus medullaris"):
            table = "baby" if any("LBABY" in item.c for item in self.items) else "adult"
            return (
                self._fact(self.facts[table]["spinal cord"], "the spinal cord")
                if ends or "conus" in entry.name
                else None
            )
        if level.letter == "R":
            return (
                Held(entry.name, entry.ribs, (), False, 1, entry.sources, ("structure", entry.name))
                if entry.ribs
                else None
            )
        skin = self.facts["skin"].get(self.items[node.i].text) or self.facts["skin"].get(entry.name)
        if "D" in words or (skin and not entry.vertebrae):
            return self._fact(skin, entry.name) if skin else None
        if not entry.vertebrae:
            return None
        levels = entry.vertebrae
        if ends and len(levels) > 3:
            levels = levels[-1:]
        elif any("LBEGIN" in item.c for item in self.items) and len(levels) > 3:
            levels = levels[:1]
        return Held(
            entry.name,
            levels,
            skin.levels if skin else (),
            False,
            int(entry.name not in NUMBERED),
            entry.sources,
            ("structure", entry.name),
            extra=skin.levels if skin else (),
        )
