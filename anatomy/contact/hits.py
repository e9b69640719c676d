"""All the hits of a text as one list of places with sides: doubles joined, larger places dropped for the smaller said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from anatomy.contact.facts import ContactFacts
from anatomy.contact.placing import Hit

__all__ = ["PlaceHit", "named", "place_hits"]

FIXED = ("left", "right", "midline")


@dataclass(frozen=True, slots=True)
class PlaceHit:
    """A place that was hit. ``side``: left, right, both or midline; either when it is not said.

    ``said`` is false when the side came from elsewhere than the text. ``group`` is shared by places one of which is meant.
    """

    key: str
    name: str
    side: str
    said: bool
    start: int
    end: int
    levels: tuple[str, ...]
    group: int


def named(name: str, side: str) -> str:
    """A place's name with its side: "{side} temple" → left temple; without a side when it is not said."""
    word = {"left": "left", "right": "right", "both": "left and right"}.get(side, "")
    if word:
        return name.format(side=word)
    return name.replace(", {side}", "").replace("{side} ", "").replace("{side}", "").strip()


def place_hits(hits: Iterable[Hit], side: str | None, facts: ContactFacts) -> tuple[PlaceHit, ...]:
    """The places of all hits, in the order of the text; ``side`` answers where the text says none."""
    found: dict[tuple[str, str], PlaceHit] = {}
    for group, hit in enumerate(hits):
        for key in hit.places:
            one = _of(key, hit, group, side, facts)
            found.setdefault((key, one.side), one)
    return tuple(_finest(_one_side_each(list(found.values())), facts))


def _of(key: str, hit: Hit, group: int, side: str | None, facts: ContactFacts) -> PlaceHit:
    place = facts.places[key]
    given: str
    if place.parity in FIXED:
        given = place.parity
    elif hit.side is not None:
        given = hit.side
    elif side is not None:
        given = side
    else:
        given = "either" if place.parity == "paired" else "midline"
    return PlaceHit(
        key, named(place.name, given), given, hit.side is not None, hit.start, hit.end, hit.levels, group
    )


def _one_side_each(hits: list[PlaceHit]) -> list[PlaceHit]:
    """A place whose side is said once is not also one whose side is open."""
    known = {hit.key for hit in hits if hit.said}
    return [hit for hit in hits if hit.said or hit.key not in known]


def _finest(hits: list[PlaceHit], facts: ContactFacts) -> list[PlaceHit]:
    """Without the larger places within which a smaller one of the same side is named."""
    return [
        hit
        for hit in hits
        if not any(
            other.key != hit.key
            and other.group != hit.group
            and facts.is_within(other.key, hit.key)
            and (other.side == hit.side or not hit.said)
            for other in hits
        )
    ]
