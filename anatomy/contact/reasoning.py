"""The way from what was said to a level and from there to what lies under it, as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from anatomy.contact.entries import Place, SurfaceMark
from anatomy.contact.facts import ContactFacts
from anatomy.contact.hits import PlaceHit
from anatomy.contact.spans import TOLERANCE, away, distance, spoken
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["steps"]

MOST_STEPS = 40
MOST_LANDMARKS = 3


def steps(hits: tuple[PlaceHit, ...], facts: ContactFacts, vocabulary: Vocabulary) -> list[str]:
    """What was reasoned for each place that was hit, each sentence once."""
    told: dict[str, None] = {}
    for hit in hits:
        for sentence in _of_hit(hit, facts, vocabulary):
            told[sentence] = None
            if len(told) >= MOST_STEPS:
                return list(told)
    return list(told)


def _of_hit(hit: PlaceHit, facts: ContactFacts, vocabulary: Vocabulary) -> Iterator[str]:
    place = facts.places[hit.key]
    for level in hit.levels:
        yield from _of_level(level, place, vocabulary)
    name = f"{hit.name[0].upper()}{hit.name[1:]}"
    span = spoken(place.ribs, place.vertebrae)
    where = "; ".join(one for one in (place.gloss, f"it spans {span}" if span else "") if one)
    if where:
        yield f"{name}: {where}."
    if not (place.ribs or place.vertebrae):
        return
    for mark in facts.surface:
        landmark = vocabulary.structures[mark.of].kind == "landmark"
        if (hit.levels or not landmark) and _belongs(mark, hit, place):
            yield _said(mark)
    yield from _left_out(hit, facts)


def _of_level(level: str, place: Place, vocabulary: Vocabulary) -> Iterator[str]:
    if level.isdigit():
        rib = next(
            (s for s in vocabulary.structures.values() if s.kind == "rib" and s.ribs == (level,)), None
        )
        if rib is not None and rib.vertebrae:
            lower = "" if "back" in place.views else "; towards the front it has sunk below that level"
            yield f"Rib {level} leaves the spine at {spoken((), rib.vertebrae)}{lower}."
        return
    marks = [
        one.name
        for one in vocabulary.structures.values()
        if one.kind == "landmark" and level in one.vertebrae and len(one.vertebrae) < 3
    ]
    if marks:
        yield f"{level} is the level of: {', '.join(marks[:MOST_LANDMARKS])}."
    if level.startswith("T"):
        yield f"Behind, {level} carries rib {level[1:]}."


def _belongs(mark: SurfaceMark, hit: PlaceHit, place: Place) -> bool:
    if mark.view not in place.views:
        return False
    if mark.side in ("left", "right") and hit.side in ("left", "right") and hit.side != mark.side:
        return False
    asked = hit.levels or (*place.ribs, *place.vertebrae)
    room = TOLERANCE if hit.levels else 0
    gaps = [gap for level in asked if (gap := distance(level, mark.ribs, mark.vertebrae, place)) is not None]
    return bool(gaps) and min(gaps) <= room


def _said(mark: SurfaceMark) -> str:
    side = f" on the {mark.side}" if mark.side in ("left", "right") and mark.side not in mark.of else ""
    note = f" ({mark.note})" if mark.note else ""
    name = f"{mark.of[0].upper()}{mark.of[1:]}"
    return f"{name}{side}, {mark.line}: {spoken(mark.ribs, mark.vertebrae)}{note}."


def _left_out(hit: PlaceHit, facts: ContactFacts) -> Iterator[str]:
    said = spoken(
        [one for one in hit.levels if one.isdigit()], [one for one in hit.levels if not one.isdigit()]
    )
    for key in (hit.key, *facts.below(hit.key)):
        place = facts.places[key]
        for risk in facts.risks_at(key):
            other = risk.side in ("left", "right") and hit.side in ("left", "right") and risk.side != hit.side
            if not other and away(risk, place, hit.levels):
                yield f"{risk.of[0].upper()}{risk.of[1:]}: {spoken(risk.ribs, risk.vertebrae)}, away from {said}, left out."
