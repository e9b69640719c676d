"""What lies under a place and could be hurt there: the rows of risks.csv that fit a place, a side, a level and a mechanism."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from anatomy.contact.entries import URGENCIES, Layer, Place, Risk, Urgency
from anatomy.contact.facts import ContactFacts
from anatomy.contact.loading import packaged_facts
from anatomy.contact.spans import away
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Structure
from anatomy.vocabulary.packaged import packaged_vocabulary

__all__ = ["AtRisk", "ordered", "places", "structures_under"]

HEDGE = re.compile(r"\b(could|may|might)\b")
OPENING = frozenset({"cut", "bite"})
"""Mechanisms that break the skin: what only they could do is left out when another one is known."""
LEVELLED = frozenset(
    {"ribs", "floating ribs", "cervical vertebrae", "thoracic vertebrae", "lumbar vertebrae"}
)
"""Names of the vocabulary that become the one rib or vertebra that was said."""


@dataclass(frozen=True, slots=True)
class AtRisk:
    """A structure that a blow could hurt. ``side``: left, right, both, midline, or either when the side is not known.

    ``kind`` and ``entry`` name it in the vocabulary. ``only_if`` is "left" or "right" when it lies there only and the side
    is not known; ``who`` limits it ("in a child"). ``places`` are the keys under which it was met.
    """

    name: str
    kind: str
    entry: str
    risk: str
    layer: Layer
    side: str
    why: str
    watch_for: str
    urgency: Urgency
    sources: tuple[str, ...]
    who: str
    only_if: str
    places: tuple[str, ...]


def places(facts: ContactFacts | None = None) -> tuple[Place, ...]:
    """Every place of the map, head to foot, with its lasting key, views, region and span of levels."""
    return tuple((facts or packaged_facts()).places.values())


def structures_under(
    place: str,
    side: str | None = None,
    *,
    levels: Collection[str] = (),
    mechanisms: Collection[str] = (),
    facts: ContactFacts | None = None,
    vocabulary: Vocabulary | None = None,
) -> tuple[AtRisk, ...]:
    """What a contact at a place could hurt, the most urgent first; places within it and the larger ones count too.

    ``side`` is left, right, both or None (not known). ``levels`` are ribs ("10") or vertebrae ("T10"): what spans others
    only is left out. ``mechanisms`` are keys of mechanisms.csv: what belongs to others only is left out unless it is
    urgent. Raises KeyError for an unknown place and ValueError for an unknown side.
    """
    facts = facts or packaged_facts()
    vocabulary = vocabulary or packaged_vocabulary()
    if side not in (None, "left", "right", "both"):
        raise ValueError(f"{side!r} is no side: write left, right or both.")
    facts.places[place]
    found: list[AtRisk] = []
    for key in (place, *facts.below(place), *facts.above(place)):
        for risk in facts.risks_at(key):
            if not _fits(risk, key, levels, mechanisms, facts):
                continue
            found += _rows(risk, key, place, side, levels, facts, vocabulary)
    return ordered(found)


def ordered(rows: Iterable[AtRisk]) -> tuple[AtRisk, ...]:
    """Each structure and risk once with all its places, the most urgent first, else in the order in which they came."""
    joined: dict[tuple[str, ...], AtRisk] = {}
    for row in rows:
        key = (row.kind, row.name, row.side, row.risk, row.who)
        before = joined.get(key)
        if before is None:
            joined[key] = row
        else:
            urgency = min(before.urgency, row.urgency, key=URGENCIES.index)
            keys = tuple(dict.fromkeys((*before.places, *row.places)))
            joined[key] = replace(before, urgency=urgency, places=keys)
    return tuple(sorted(joined.values(), key=_rank))


def _rank(row: AtRisk) -> tuple[int, bool, bool]:
    return URGENCIES.index(row.urgency), bool(row.who), bool(row.only_if)


def _fits(
    risk: Risk, key: str, levels: Collection[str], mechanisms: Collection[str], facts: ContactFacts
) -> bool:
    other_way = risk.mechanisms and mechanisms and not set(risk.mechanisms) & set(mechanisms)
    if other_way and (risk.urgency != "emergency" or OPENING.issuperset(risk.mechanisms)):
        return False
    return not away(risk, facts.places[key], levels)


def _rows(
    risk: Risk,
    key: str,
    place: str,
    side: str | None,
    levels: Collection[str],
    facts: ContactFacts,
    vocabulary: Vocabulary,
) -> list[AtRisk]:
    parity = facts.places[key].parity
    if parity == "left" and side == "right":
        return []
    only_if = ""
    if risk.side in ("left", "right"):
        if side is None and parity in ("paired", "across") and _paired_here(key, facts):
            only_if = risk.side
        elif side in ("left", "right") and side != risk.side and parity != "midline":
            return []
        given: str = risk.side
    elif risk.side == "struck":
        beside = facts.places[place].parity != "midline" or parity == "midline"
        given = _struck(parity, side) if beside else "midline"
    else:
        given = risk.side
    return [
        AtRisk(
            name, kind, risk.of, risk.risk, risk.layer, given, _why(risk), risk.watch_for, risk.urgency, risk.sources,
            risk.who, only_if, (key,),
        )
        for kind, name in _names(risk, levels, vocabulary)
    ]  # fmt: skip


def _paired_here(key: str, facts: ContactFacts) -> bool:
    return facts.places[key].parity == "paired"


def _struck(parity: str, side: str | None) -> str:
    if parity in ("left", "right"):
        return parity
    if parity == "midline":
        return "both"
    return side or "either"


def _why(risk: Risk) -> str:
    """The row's sentence, never firmer than a possibility."""
    why = risk.why if HEDGE.search(risk.why) else f"{risk.why} Possible: {risk.risk}."
    return f"{risk.who[0].upper()}{risk.who[1:]}: {why[0].lower()}{why[1:]}" if risk.who else why


def _names(risk: Risk, levels: Collection[str], vocabulary: Vocabulary) -> list[tuple[str, str]]:
    """The name to show: a joint is called one, and ribs or vertebrae are the ones said."""
    if risk.kind == "joint":
        name, bracket, rest = risk.of.partition(" (")
        return [("joint", f"{name} joint{bracket}{rest}")]
    if risk.of in LEVELLED and levels:
        spans = vocabulary.structures[risk.of]
        said = [level for level in levels if level in spans.ribs or level in spans.vertebrae]
        named = [one for level in said if (one := _of_level(level, vocabulary))]
        if named:
            return [("structure", name) for name in named]
    return [(risk.kind, risk.of)]


def _of_level(level: str, vocabulary: Vocabulary) -> str:
    """The one rib or vertebra of a level: "10" → tenth rib, "L4" → L4 vertebra."""

    def is_it(one: Structure) -> bool:
        if level.isdigit():
            return one.kind == "rib" and one.ribs == (level,)
        return one.kind == "vertebra" and one.vertebrae == (level,) and one.name != "dens"

    return next((one.name for one in vocabulary.structures.values() if is_it(one)), "")
