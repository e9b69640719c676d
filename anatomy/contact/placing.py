"""Mentions to places: each part with its aspects, and neighbouring mentions that say the same place more closely."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from anatomy.contact.entries import VIEWS
from anatomy.contact.facts import ROOT, ContactFacts
from anatomy.contact.lexicon import places_of_entry
from anatomy.contact.mentions import Mention
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["Hit", "merged", "placed"]

MIDDLE = "middle"
LIMBS = frozenset({"arm", "hand", "leg", "foot"})


@dataclass(slots=True)
class Hit:
    """One blow's place as the text gives it: ``places`` are the keys that it may be, ``side`` as said or None.

    ``levels`` are ribs ("10") and vertebrae ("T10"); ``start`` and ``end`` are offsets into the text. ``implied`` is the
    organ that gave the side, ``against`` one that lies on the other side than the text says. ``terms`` are the mentions.
    """

    places: tuple[str, ...]
    side: str | None
    start: int
    end: int
    aspects: frozenset[str] = frozenset()
    levels: tuple[str, ...] = ()
    implied: str = ""
    terms: list[str] = field(default_factory=list)
    against: str = ""


def placed(mentions: Sequence[Mention], facts: ContactFacts, vocabulary: Vocabulary) -> list[Hit]:
    """The places that were hit, in the order of the text; strikers and what is denied are left out."""
    named = [mention for mention in mentions if mention.role in ("hit", "both")]
    strong = [mention for mention in named if not mention.weak]
    if strong:
        _lend_sides([mention for mention in named if mention.weak], strong)
    hits: list[Hit] = []
    for mention in strong or named:
        hit = _hit(mention, facts, vocabulary)
        if hit is None:
            continue
        closer = _closer(hits[-1], hit, facts) if hits and not mention.joined else None
        if closer is not None:
            hits[-1] = closer
        elif hits and _is_near(mention, hit, hits[-1], facts):
            continue
        elif hits and not mention.joined and _lends_its_side(hits[-1], mention, hit, facts):
            hits[-1].side = hit.side
        else:
            hits.append(hit)
    for mention in mentions:
        if mention.role == "striker" and mention.sides:
            _lend_from_striker(mention, hits, facts)
        elif mention.role == "height":
            _at_height(mention, hits, facts)
    return [_settled(hit, facts) for hit in hits]


def _lend_from_striker(mention: Mention, hits: list[Hit], facts: ContactFacts) -> None:
    """ "Punched a locker with the right hand, knuckles cut": a part of what hit is on the side of what hit."""
    larger = facts.places_for(mention.part, frozenset())
    for hit in hits:
        inside = any(key not in larger and facts.is_within(key, one) for key in hit.places for one in larger)
        if hit.side is None and inside:
            hit.side = _one_side(mention.sides)


def _at_height(mention: Mention, hits: list[Hit], facts: ContactFacts) -> None:
    """ "At the height of the navel": its levels, and of each hit the smallest places that span one of them."""
    named = [facts.places[key] for key in facts.places_for(mention.part, frozenset())] if mention.part else []
    levels = mention.item.levels or tuple(dict.fromkeys(one for place in named for one in place.ribs))
    levels = levels or tuple(dict.fromkeys(one for place in named for one in place.vertebrae))
    for hit in hits:
        spanning = [
            key
            for key in dict.fromkeys(leaves(hit.places, facts))
            if set(levels) & {*facts.places[key].ribs, *facts.places[key].vertebrae}
        ]
        if spanning and not hit.levels:
            hit.places, hit.levels = tuple(spanning), levels


def _lend_sides(weak: list[Mention], strong: list[Mention]) -> None:
    """ "thigh, on the left side": a side of the body is no place where another is named."""
    for mention in weak:
        nearest = min(strong, key=lambda one: abs(one.at - mention.at))
        nearest.sides |= mention.sides if not nearest.sides else set()


def _hit(mention: Mention, facts: ContactFacts, vocabulary: Vocabulary) -> Hit | None:
    aspects = frozenset(mention.aspects)
    implied = ""
    if mention.item.levels:
        places = _at_levels(mention.item.levels, aspects, facts)
    elif mention.part:
        places = facts.places_for(mention.part, aspects)
        implied = _one_sided(mention.part, vocabulary)
    else:
        kind, _, name = mention.item.classes["entry"].partition(":")
        places = _of_entry(places_of_entry(facts, vocabulary, kind, name), aspects, facts)
        implied = _one_sided(name, vocabulary)
    if not places:
        return None
    item = mention.item
    side = _one_side(mention.sides) or (implied or None)
    told = item.text if implied and side == implied else ""
    against = item.text if implied and side not in (implied, "both") else ""
    return Hit(places, side, item.start, item.end, aspects, item.levels, told, [item.text], against)


def _one_sided(name: str, vocabulary: Vocabulary) -> str:
    structure = vocabulary.structures.get(name)
    return structure.side if structure is not None and structure.side in ("left", "right") else ""


def _one_side(sides: Iterable[str]) -> str | None:
    said = set(sides)
    if len(said) > 1:
        return "both"
    return said.pop() if said else None


def _at_levels(levels: tuple[str, ...], aspects: frozenset[str], facts: ContactFacts) -> tuple[str, ...]:
    """The smallest places that span one of the levels; a vertebra alone is meant from behind."""
    ribs = frozenset(level for level in levels if level.isdigit())
    found = [
        key
        for key, place in facts.places.items()
        if facts.is_leaf(key) and (ribs & set(place.ribs) or set(levels) & set(place.vertebrae))
    ]
    views = aspects & frozenset(VIEWS)
    if not ribs and not views:
        views = frozenset({"back"})
    if ribs:
        found = [key for key in found if ribs & set(facts.places[key].ribs)]
    seen = [key for key in found if views & set(facts.places[key].views)] if views else found
    return tuple(seen or found)


def _of_entry(keys: tuple[str, ...], aspects: frozenset[str], facts: ContactFacts) -> tuple[str, ...]:
    views = aspects & frozenset(VIEWS)
    seen = tuple(key for key in keys if views & set(facts.places[key].views))
    return seen or keys


def _lends_its_side(before: Hit, mention: Mention, hit: Hit, facts: ContactFacts) -> bool:
    """ "the ankle, left foot": a limb that is named after a part of it says which side is meant."""
    if before.side is not None or hit.side is None or mention.part not in LIMBS or hit.aspects:
        return False
    regions = {facts.places[key].region for key in hit.places}
    return any(facts.places[key].region in regions for key in before.places)


def _is_near(mention: Mention, hit: Hit, before: Hit, facts: ContactFacts) -> bool:
    """ "the calf, near the knee": a neighbour says whereabouts, and is no second place."""
    if "beside" not in mention.aspects:
        return False
    if facts.uses(mention.part, "beside"):
        return bool(before.levels) and not hit.levels
    regions = {facts.places[key].region for key in hit.places}
    return any(facts.places[key].region in regions for key in before.places)


def merged(one: Iterable[str], other: Iterable[str], facts: ContactFacts) -> tuple[str, ...]:
    """The places that both sets of places allow, the smaller of two where one lies within the other."""
    found: dict[str, None] = {}
    others = list(other)
    for key in one:
        for second in others:
            if facts.is_within(key, second):
                found[key] = None
            elif facts.is_within(second, key):
                found[second] = None
    return tuple(key for key in facts.places if key in found)


def _closer(before: Hit, hit: Hit, facts: ContactFacts) -> Hit | None:
    """The two as one place, when one says the other more closely; None when they are two places."""
    if {before.side, hit.side} == {"left", "right"}:
        return None
    places = merged(before.places, hit.places, facts)
    if not places:
        return None
    return Hit(
        places,
        hit.side or before.side,
        min(before.start, hit.start),
        max(before.end, hit.end),
        before.aspects | hit.aspects,
        tuple(dict.fromkeys((*before.levels, *hit.levels))),
        hit.implied or before.implied,
        [*before.terms, *hit.terms],
        hit.against or before.against,
    )


def _settled(hit: Hit, facts: ContactFacts) -> Hit:
    """Fewer places where a view, the midline or a side that was said rules some out."""
    places = list(hit.places)
    views = hit.aspects & set(VIEWS)
    rules = [
        lambda key: not views or bool(views & set(facts.places[key].views)),
        lambda key: not views or facts.places[key].views[0] in views,
        lambda key: _may_be_on(key, hit, facts),
    ]
    for rule in rules:
        left = [key for key in places if rule(key)]
        places = left or places
    hit.places = tuple(places)
    return hit


def _may_be_on(key: str, hit: Hit, facts: ContactFacts) -> bool:
    parity = facts.places[key].parity
    if hit.side in ("left", "right", "both"):
        # A place beside the midline has no side, and the heart's place is there on the left only.
        return parity in ("paired", "across") or parity == hit.side
    if MIDDLE in hit.aspects or _all_vertebrae(hit):
        return parity != "paired"
    return True


def _all_vertebrae(hit: Hit) -> bool:
    return (
        bool(hit.levels) and not any(level.isdigit() for level in hit.levels) and "beside" not in hit.aspects
    )


def leaves(keys: Iterable[str], facts: ContactFacts) -> Iterator[str]:
    """The smallest places within some places."""
    for key in keys:
        if facts.is_leaf(key):
            yield key
        else:
            yield from (below for below in facts.below(key) if facts.is_leaf(below) and below != ROOT)
