"""Claims about ribs, vertebrae, roots, dermatomes, reflexes and plexuses."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.kinds.level_counts import (
    count_list,
    counts_said,
    disc_roots,
    general_statements,
    rib_types,
)
from anatomy.claims.kinds.level_exits import root_exits
from anatomy.claims.kinds.level_facts import LevelFact, level_facts, levels_shown
from anatomy.claims.levels_said import PLACE, TO, Said, levels_said, regions_said, ribs_said
from anatomy.claims.numbers_said import UNITS
from anatomy.claims.reading import Reading
from anatomy.claims.shapes import Alphabet
from anatomy.claims.spoken import sentence

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
C = "[mabdpWDevTrtw:n]{0,9}"
"""Words that may stand between a thing and its level."""
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


class _Reader:
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
            a in ("down", "down to", "right down to", "as far as", "far as", "reaches") for a in texts
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


# -- judging -------------------------------------------------------------------------------------------------------------


def _distance(level: str, held: Sequence[str], ribs: bool) -> int:
    if ribs and level.isdigit():
        return min((abs(int(level) - int(other)) for other in held if other.isdigit()), default=0)
    known = [PLACE[other] for other in held if other in PLACE]
    return min(abs(PLACE[level] - other) for other in known) if known else 0


def judge_level(said: Said, held: Held, ribs: bool, equated: bool = False) -> str:
    """A verdict on levels said against levels held; what sources differ by (one level) is never called wrong."""
    all_held = (*held.levels, *held.also)
    if said.region:
        shared = sum(level in said.levels for level in held.levels)
        return (
            "right"
            if shared == len(held.levels)
            else "depends"
            if shared
            else "wrong"
            if not held.near
            else "unknown"
        )
    if not all_held or (not ribs and not any(level in PLACE for level in held.levels)):
        return "unknown"
    away = [_distance(level, all_held, ribs) for level in said.levels]
    inside = sum(distance == 0 for distance in away)
    if inside == len(away):
        missing = [lv for lv in held.levels if lv not in said.levels]
        if held.term and held.term[0] == "muscle" and not set(said.levels) & set(held.levels):
            return "unknown"
        if held.many and len(said.levels) == 1 and len(held.levels) >= 4:
            return "depends"
        if equated and len(said.levels) == 1 and missing and not held.near:
            return "depends"
        if said.spanned and held.many and len(missing) > 1:
            return "unknown"
        return "right"
    if not inside:
        far = said.spanned and max(away) > held.near + 1
        return "unknown" if held.near and min(away) <= held.near and not far else "wrong"
    if max(away) <= 1:
        return "right" if held.near else "unknown"
    return "wrong" if said.spanned or inside * 2 < len(away) else "unknown"


def _finding(verdict: str, said: Said, held: Held, ribs: bool) -> Finding:
    shown = levels_shown(held.levels, ribs)
    terms = (held.term,) if held.term else ()
    if held.term and held.term[0] in ("muscle", "group"):
        fact = f"{held.what} is supplied by the roots {shown}"
    elif held.term and held.term[0] == "nerve":
        fact = f"the {held.what} {'tests' if 'reflex' in held.what else 'comes from'} {shown}"
    else:
        fact = held.why or f"the {held.what} lies at {shown}"
    if verdict == "wrong":
        return Finding(
            "wrong",
            sentence(f"{fact}, not {levels_shown(said.levels, ribs)}"),
            sentence(fact),
            held.sources,
            terms,
        )
    if verdict == "depends":
        why = f"{fact}; {levels_shown(said.levels, ribs)} is only one of them"
        if held.extra:
            why = f"it depends on what is meant: by vertebra the {held.what} lies at {shown}, by skin at {levels_shown(held.extra, False)}"
        return Finding("depends", sentence(why), "", held.sources, terms)
    return Finding("right", sentence(fact), "", held.sources, terms)


ALWAYS = frozenset(
    {"always", "everyone", "everybody", "in everyone", "in everybody", "invariably", "without exception"}
)


def rank_of(worst: tuple[int, Finding, Held] | None) -> int:
    """How grave the gravest judgement so far is."""
    return worst[0] if worst else -1


def _judged(
    reader: _Reader, things: list[Node], level: Node, denied: bool, words: str
) -> tuple[Finding, Held] | None:
    ribs = level.letter == "R"
    said: Said = level.value
    worst: tuple[int, Finding, Held] | None = None
    order = {"right": 0, "unknown": 1, "depends": 2, "wrong": 3}
    for node in things:
        held = reader.held(node, level, words)
        if held is None or not held.levels:
            return None
        equated = node.letter == "M" and words.startswith("V") and "b" in words and "T" not in words
        verdict = judge_level(said, held, ribs, equated)
        if verdict == "right" and node.letter in "OP" and any(x.text in ALWAYS for x in reader.items):
            why = f"it varies from person to person: usually {levels_shown(held.levels, ribs)}"
            if rank_of(worst) < 2:
                worst = (
                    2,
                    Finding("depends", sentence(why), "", held.sources, (held.term,) if held.term else ()),
                    held,
                )
            continue
        bare = "Ob" in words and "p" not in words and "v" not in words
        if held.extra and bare and verdict == "right" and not set(said.levels) & set(held.extra):
            verdict = "depends"
        if denied:
            verdict = {"right": "wrong", "wrong": "right"}.get(verdict, "unknown")
        rank = order[verdict]
        if worst is None or rank > worst[0]:
            finding = _finding(verdict, said, held, ribs) if verdict != "unknown" else Finding("unknown", "")
            if denied and verdict != "unknown":
                finding = Finding(
                    finding.verdict,
                    _finding("right", said, held, ribs).why,
                    finding.instead,
                    held.sources,
                    finding.terms,
                )
            worst = rank, finding, held
    return (worst[1], worst[2]) if worst else None


def _resp(reader: _Reader) -> Iterator[tuple[int, int, list[Node], Node, bool, str]]:
    """ "the biceps and triceps reflexes are C5 and C7 respectively" is read level by level."""
    for i, j, things, level, denied, words in reader.read():
        said: Said = level.value
        if reader.reading.has("RESP") and len(things) == len(said.levels) > 1:
            for node, one in zip(things, said.levels, strict=True):
                yield (
                    i,
                    j,
                    [node],
                    Node(level.letter, level.i, level.j, Said(level.i, level.j, (one,))),
                    denied,
                    words,
                )
        else:
            yield i, j, things, level, denied, words


def _answered(reader: _Reader) -> Iterator[tuple[int, int, list[Node], Node, bool, str]]:
    """ "The phrenic nerve? C three, four and five.": an answer that is only a level."""
    memory = reader.reading.memory
    answer = memory.asked and re.match(r"^[ad,]*V$", reader.shape)
    short = len(memory.before or ()) <= 5 and re.match(r"^[ad,]*(?:e|i|ib)[av]*p?[ad]*W*p?d?V", reader.shape)
    if not answer and not short:
        return
    nerves = [
        reader.vocabulary.nerves[x.c["NRV"]]
        for x in memory.before or []
        if reader.vocabulary.nerves.get(x.c.get("NRV", "")) is not None
    ]
    if len(nerves) == 1 and nerves[0].roots:
        level = next(node for node in reader.nodes if node.letter == "V")
        yield 0 if short else level.i, level.j, [Node("N", level.i, level.j, nerves[0])], level, False, "V"


# -- ribs that float, counts, discs ---------------------------------------------------------------------------------------

RIB_TYPE = re.compile(r"(?P<v>R)(?P<c>[mabdn]{0,4})(?P<y>Y)")
TYPE_RIB = re.compile(r"(?P<y>Y)[Wa]*(?P<c>[bar:n]{1,4}|,)d?(?P<v>[RK])")


def claim_levels(reading: Reading) -> None:
    """Adds the sentence's claims about levels to the reading."""
    if not (
        reading.has("LEVEL", "LSIGN", "LCOUNT")
        or (reading.has("NUM") and (reading.memory.asked or _after_a_nerve(reading)))
        or (reading.has("NUM", "LFLOAT", "STR") and (reading.has("STR", "LCOUNT", "NRV", "PART", "LAREA")))
    ):
        return
    if not _may_hold_levels(reading):
        return
    reading = without_asides(reading)
    spans: list[tuple[int, int]] = []
    for special in (root_exits, general_statements, disc_roots, rib_types, count_list, counts_said):
        for i, j, finding, replace in special(reading):
            if any(a < j and i < b for a, b in spans):
                continue
            spans.append((i, j))
            reading.add("level", i, j, finding, replace)
    reader = _Reader(reading)
    if "V" not in reader.shape and "R" not in reader.shape:
        return
    for i, j, things, level, denied, words in (*_resp(reader), *_answered(reader)):
        if any(a < j and i < b for a, b in spans):
            continue
        judged = _judged(reader, things, level, denied, words)
        if judged is None or judged[0].verdict == "unknown":
            continue
        finding, held = judged
        replace = None
        if finding.verdict == "wrong" and len(things) == 1 and not denied:
            replace = (level.i, level.j, levels_shown(held.levels, level.letter == "R"))
        reading.add("level", i, j, finding, replace)


def _after_a_nerve(reading: Reading) -> bool:
    """ "The ulnar nerve. It's built from …": a sentence about what a short one before only named."""
    before = reading.memory.before
    return before is not None and len(before) <= 5 and any("NRV" in item.c for item in before)


def _may_hold_levels(reading: Reading) -> bool:
    for item in reading.items:
        held = item.c
        if (
            held.get("STR") == "ribs"
            or "LEVEL" in held
            or "NUM" in held
            or "LCOUNT" in held
            or "LFLOAT" in held
        ):
            return True
        if "STR" in held and str(held["STR"]).endswith((" rib", " vertebra", "ribs")):
            return True
        if (
            item.text.split()[0] in ("cervical", "lumbar", "thoracic", "sacral")
            or item.text.removesuffix("'s") in UNITS
        ):
            return True
    return False
