"""Claims about what only one of a pair has: lobes, a lower place, a vein of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.kinds.side_facts import SideFact, attribute_subjects, side_facts
from anatomy.claims.kinds.side_words import OTHER, WORDS
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence


@dataclass
class _Clause:
    i: int
    j: int


def _clauses(items: Sequence[Item]) -> Iterator[_Clause]:
    start = 0
    for k, item in enumerate(items):
        if item.is_("COMMA", "BUT", "AND", "SUB", "DASH") and item.text not in ("rather than", "not"):
            if k > start:
                yield _Clause(start, k)
            start = k + 1
    if start < len(items):
        yield _Clause(start, len(items))


def _subject(reading: Reading, clause: _Clause) -> tuple[str, str, int] | None:
    """The thing, the side that was said of it, and its item."""
    items = reading.items
    for k in range(clause.i, clause.j):
        item = items[k]
        name = str(item.c.get("STR", ""))
        side, _, rest = name.partition(" ")
        if (
            side in WORDS
            and rest
            and (rest in attribute_subjects() or item.text.split()[-1] in attribute_subjects())
        ):
            if k > 0 and items[k - 1].is_("PREP") and items[k - 1].text not in ("in", "into", "of"):
                continue
            return rest, side, k
        if "SSUBJ" in item.c or item.c.get("MUS") == "diaphragm" or (name and _is_subject(name)):
            word = item.c.get("SSUBJ") or ("diaphragm" if item.c.get("MUS") == "diaphragm" else name)
            before = items[k - 1] if k > clause.i else None
            m = k - 1
            while m > clause.i and (
                items[m].is_("DET") or items[m].text in ("of", "side", "half", "dome", "part")
            ):
                m -= 1
            if m < k - 2 and any(items[n].text == "of" for n in range(m + 1, k)):
                before = items[m]
            if before is not None and before.c.get("DIR") in WORDS:
                side = str(before.c["DIR"])
            elif item.text.startswith("kidney on the"):
                side = item.text.split()[-1]
            else:
                side = ""
            return str(word), side, k
    return None


def may_be_subject(item: Item) -> bool:
    held = item.c
    if "SSUBJ" in held or held.get("MUS") == "diaphragm":
        return True
    name = held.get("STR")
    return name is not None and (name in attribute_subjects() or name.startswith(("left ", "right ")))


def _is_subject(name: str) -> bool:
    return name in attribute_subjects()


def attributes(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "the left lung has three lobes", "the right kidney sits lower", "and the left only two"."""
    items = reading.items
    word, last_side = "", ""
    used: set[str] = set()
    for clause in _clauses(items):
        subject = _subject(reading, clause)
        than = next((k for k in range(clause.i, clause.j) if items[k].text == "than"), clause.j)
        said = " ".join(x.text for x in items[clause.i : than]) + " "
        at = clause.i
        sides = [
            (k, str(items[k].c["DIR"]))
            for k in range(clause.i, than)
            if items[k].c.get("DIR") in WORDS and not items[k].is_("STR", "MUS")
        ]
        if subject is not None:
            word, side, at = subject
            bool(side)
            if not side and sides and sides[-1][0] > at:
                side = sides[-1][1]
                at = sides[-1][0]
            last_side = side
        elif word and sides:
            at, side = sides[0]
            last_side = side
        elif word and last_side and not any(x.is_("STR", "MUS") for x in items[clause.i : clause.j]):
            side = last_side
        else:
            continue
        if subject is None:
            said = said.replace(" two ", " two lobes ").replace(" three ", " three lobes ")
        fact = _attribute(word, said, " ".join(x.text for x in items), clause is not None)
        if fact is None:
            continue
        denied = any(x.is_("NEG") for x in items[clause.i : than])
        finding = _attributed(fact, side, denied, f"{word} {side} {fact.attributes[0]}", used)
        if finding is None:
            continue
        replace = (
            (at, at + 1, items[at].text.replace(side, OTHER[side]))
            if finding.verdict == "wrong" and side in items[at].text
            else None
        )
        yield clause.i, clause.j, finding, replace


def _attribute(word: str, said: str, whole: str, _: bool) -> SideFact | None:
    best: tuple[int, SideFact] | None = None
    for fact in side_facts()["attribute"]:
        if word not in fact.words:
            continue
        for text in fact.attributes:
            if f" {text} " in f" {said}" and (best is None or len(text) > best[0]):
                best = len(text), fact
    return best[1] if best else None


def _attributed(fact: SideFact, side: str, denied: bool, key: str, used: set[str]) -> Finding | None:
    if key in used:
        return None
    used.add(key)
    if not side:
        if not fact.bare or denied:
            return None
        return Finding("depends", sentence(f"it depends on the side: {fact.why}"), "", fact.sources)
    right = (side == fact.sides[0]) != denied
    if right:
        return Finding("right", sentence(fact.why), "", fact.sources)
    if denied:
        return None
    return Finding("wrong", sentence(fact.why), sentence(fact.why), fact.sources)


CONTRACTED = re.compile(r"^(kidney|lung|ovary|testicle)'s on the (left|right)$")


def one_of_two(reading: Reading) -> Iterator[tuple[int, int, Finding]]:
    """ "the kidney's on the left": there is one on each side."""
    for k, item in enumerate(reading.items):
        match = CONTRACTED.match(item.text)
        if match:
            why = sentence(f"it depends which is meant: there is one {match[1]} on each side")
            yield k, k + 1, Finding("depends", why, "", ("openstax-ap2e-organs",))


def diaphragm_domes(reading: Reading) -> Iterator[tuple[int, int, Finding]]:
    """ "… sits higher on one side, and it's the right"."""
    items = reading.items
    if not any(x.c.get("MUS") == "diaphragm" for x in items) or "one side" not in " ".join(
        x.text for x in items
    ):
        return
    whole = " ".join(x.text for x in items)
    side = next((str(x.c["DIR"]) for x in reversed(items) if x.c.get("DIR") in WORDS), "")
    fact = _attribute("diaphragm", whole + " ", whole, True)
    if fact is not None and side:
        finding = _attributed(fact, side, False, "d", set())
        if finding is not None:
            yield 0, len(items), finding
