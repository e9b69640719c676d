"""What a clause says about which segment turns first. Imports no Django.

The clause is written as one letter an item, so that the shapes of such statements can be told as patterns. An item that
means nothing here is an "x", which no pattern holds: then nothing is said.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from breakdowns.scripts.measured.amounts import Unit
from breakdowns.scripts.measured.mentions import Mention, noun_of
from breakdowns.scripts.measured.said import Amount, Noun, OrderSaid

__all__ = ["Line", "line_of", "orders_said"]

# N segment, V turns, L leads, F follows, B before, A after, T together, 1 first, > then, O in that order, & and, w as or
# with, c comma or dash, q a time, v a speed, R so many times as fast, x anything else.
_LETTERS = (
    ("LEADVERB", "L"), ("FOLLOWVERB", "F"), ("BEFORE", "B"), ("AFTERW", "A"), ("TOGETHER", "T"), ("FIRST", "1"),
    ("THEN", ">"), ("INORDER", "O"), ("RATIO", "R"), ("ORDERVERB", "V"), ("AND", "&"), ("ASWITH", "w"),
)  # fmt: skip
_DROPPED = ("FILL", "DET", "BE", "PREP", "OWNER", "HEDGE", "REACH")
_END = r"(?=$|c|&|>)"
_SEQUENCE = r"N(?:c?&?>?V?N)+"
_SHAPES = (
    ("line", re.compile(rf"{_SEQUENCE}c?O|Oc?{_SEQUENCE}")),
    ("line", re.compile(r"1c?N(?:c?&?>V?N)+")),
    ("line", re.compile(r"N[VL]?1?(?:c?&?>V?N)+")),
    ("before", re.compile(r"NL(q?)N(q?)|NV*(q?)BN(q?)")),
    ("after", re.compile(r"NFA?(q?)N(q?)|NV*(q?)AN(q?)")),
    ("together", re.compile(r"N&N(?:V|&)?T|N(?:V)?Tw?&?N|TN&NV")),
    ("leads", re.compile(rf"NL{_END}|NV1{_END}|1VN{_END}")),
)


@dataclass(frozen=True, slots=True)
class Line:
    """A clause as letters, with what each stands for."""

    letters: str
    nouns: tuple[Noun | None, ...]
    amounts: tuple[Amount | None, ...]
    spans: tuple[tuple[int, int], ...]


def line_of(units: Sequence[Unit], mentions: Sequence[Mention]) -> Line:
    """The clause as letters."""
    named = {one.at: one for one in mentions}
    inside = {at: one for one in mentions for at in range(one.first, one.limit)}
    letters: list[str] = []
    nouns: list[Noun | None] = []
    amounts: list[Amount | None] = []
    spans: list[tuple[int, int]] = []
    for at, unit in enumerate(units):
        if at in inside and at not in named:
            continue
        noun = noun_of(units, named[at]) if at in named else None
        letter = "N" if noun else "x" if at in named else _letter(unit)
        if letter:
            letters.append(letter)
            nouns.append(noun)
            amounts.append(unit.amount)
            spans.append((unit.start, unit.end))
    return Line("".join(letters), tuple(nouns), tuple(amounts), tuple(spans))


def _letter(unit: Unit) -> str:
    if unit.amount is not None:
        return {"ms": "q", "frames": "q", "deg_s": "v", "ratio": "R"}.get(unit.amount.quantity, "x")
    item = unit.item
    if item.text in (",", ":", "–", "—", "-", ";", "(", ")"):
        return "c"
    if item.text in ("&",):
        return "&"
    for kind, letter in _LETTERS:
        if item.is_(kind):
            return letter
    if item.is_(*_DROPPED) or item.text == "that":
        return ""
    return "x"


def orders_said(line: Line) -> Iterator[OrderSaid]:
    """Every order told, the widest first; no word counts twice."""
    taken: set[int] = set()
    for kind, shape in _SHAPES:
        for match in shape.finditer(line.letters):
            places = set(range(*match.span()))
            if places & taken:
                continue
            taken |= places
            yield _order(line, kind, match)


def _order(line: Line, kind: str, match: re.Match[str]) -> OrderSaid:
    first, limit = match.span()
    nouns = tuple(noun for noun in line.nouns[first:limit] if noun is not None)
    start, end = nouns[0].start, nouns[-1].end
    lag = next((amount for amount in line.amounts[first:limit] if amount is not None), None)
    if kind == "together":
        at = first + match.group().index("T")
        return OrderSaid(*line.spans[at], "together", nouns, nouns)
    if kind == "leads":
        inner = line.spans[first:limit]
        return OrderSaid(inner[0][0] if line.letters[first] == "1" else start, inner[-1][1] if line.letters[first] != "1" else end, "leads", nouns, nouns)  # fmt: skip
    told = nouns[::-1] if kind == "after" else nouns
    return OrderSaid(start, end, "before", told, nouns, lag)
