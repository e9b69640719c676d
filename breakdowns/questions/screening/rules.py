"""Which facts together raise which flag: rows of data, each with its published source."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from breakdowns.questions.screening.lexicon import lexicon
from breakdowns.questions.screening.reading import DATA

URGENCIES = ("emergency now", "urgent same day", "see a clinician before training")
"""From the most to the least urgent."""
SIGN = re.compile(r"[()&|+]|\w+")


class Found(NamedTuple):
    """One fact that holds: sentence, first word and end in it, and its place in the text."""

    sentence: int
    start: int
    end: int
    span: tuple[int, int]


Facts = Mapping[str, list[Found]]


@dataclass(frozen=True)
class Need:
    """A fact by name, or parts joined by ``&`` (all), ``|`` (any) or ``+`` (all, in one sentence)."""

    sign: str
    name: str = ""
    parts: tuple[Need, ...] = ()

    def met(self, facts: Facts) -> tuple[Found, ...] | None:
        """What meets it, or None. Two parts are never met by the very same words."""
        if self.sign == "name":
            return tuple(facts[self.name][:1]) if facts.get(self.name) else None
        if self.sign == "|":
            return next((met for part in self.parts if (met := part.met(facts))), None)
        together: tuple[Found, ...] = ()
        for part in self.parts:
            met = part.met(_without(facts, together) if self.sign == "&" else facts)
            if met is None:
                return None
            together += met
        if self.sign == "+" and len({one.sentence for one in together}) > 1:
            return None
        return together

    def names(self) -> set[str]:
        """Every fact that it asks for."""
        return {self.name} if self.name else {name for part in self.parts for name in part.names()}


def _without(facts: Facts, used: tuple[Found, ...]) -> Facts:
    if not used:
        return facts
    taken = {(one.sentence, one.start, one.end) for one in used}
    return {
        name: [one for one in found if (one.sentence, one.start, one.end) not in taken]
        for name, found in facts.items()
    }


def parsed(text: str) -> Need:
    """The need written as ``a & (b | c)``. Raises ``ValueError`` for an unknown fact or a bracket left open."""
    signs = SIGN.findall(text)
    need, rest = _any(signs)
    if rest:
        raise ValueError(f"“{text}” goes on after its end; mend the brackets.")
    unknown = need.names() - set(lexicon().kind)
    if unknown:
        raise ValueError(
            f"“{text}” asks for {', '.join(sorted(unknown))}, which no file defines; mend the name."
        )
    return need


def _any(signs: list[str]) -> tuple[Need, list[str]]:
    return _joined(signs, "|", lambda rest: _joined(rest, "&", lambda more: _joined(more, "+", _one)))


def _joined(signs: list[str], sign: str, inner) -> tuple[Need, list[str]]:  # type: ignore[no-untyped-def]
    need, rest = inner(signs)
    parts = [need]
    while rest and rest[0] == sign:
        need, rest = inner(rest[1:])
        parts.append(need)
    return (parts[0] if len(parts) == 1 else Need(sign, parts=tuple(parts))), rest


def _one(signs: list[str]) -> tuple[Need, list[str]]:
    if signs and signs[0] == "(":
        need, rest = _any(signs[1:])
        if not rest or rest[0] != ")":
            raise ValueError("A bracket is left open; close it.")
        return need, rest[1:]
    if not signs or not re.fullmatch(r"\w+", signs[0]):
        raise ValueError("A fact is missing between two signs; name it.")
    return Need("name", signs[0]), signs[1:]


@dataclass(frozen=True)
class Rule:
    """One row: the flag it raises, what it needs, what takes it back, why, and the sources' keys."""

    flag: str
    needs: Need
    unless: Need | None
    why: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Kind:
    """One kind of flag: its name, region, urgency and which action it asks for."""

    key: str
    name: str
    region: str
    urgency: str
    action: str


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def kinds() -> dict[str, Kind]:
    """The kinds of flag by key. Raises ``ValueError`` for an urgency that does not exist."""
    found = {row["key"]: Kind(**row) for row in _rows("flags.csv")}
    for kind in found.values():
        if kind.urgency not in URGENCIES:
            raise ValueError(
                f"flags.csv: “{kind.key}” has no known urgency; use one of {', '.join(URGENCIES)}."
            )
    return found


@cache
def sources() -> dict[str, str]:
    """Sources by key, with how each was seen."""
    return {row["key"]: f"{row['source']} ({row['basis']})" for row in _rows("sources.csv")}


@cache
def rules() -> tuple[Rule, ...]:
    """All rules, the most urgent flags first. Raises ``ValueError`` naming line and mend for a broken row."""
    found = []
    for line, row in enumerate(_rows("rules.csv"), 2):
        named = tuple(row["source"].split("; "))
        if row["flag"] not in kinds() or not set(named) <= set(sources()):
            raise ValueError(
                f"rules.csv, line {line}: flag or source is not defined; add it or mend the name."
            )
        unless = parsed(row["unless"]) if row["unless"] else None
        found.append(Rule(row["flag"], parsed(row["needs"]), unless, row["why"], named))
    return tuple(sorted(found, key=lambda rule: URGENCIES.index(kinds()[rule.flag].urgency)))


@cache
def facts_asked_for() -> frozenset[str]:
    """Every fact that some rule needs."""
    return frozenset(
        name
        for rule in rules()
        for need in (rule.needs, rule.unless)
        if need is not None
        for name in need.names()
    )
