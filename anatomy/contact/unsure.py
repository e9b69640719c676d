"""What a text leaves open, as sentences: side, part, level, force, mechanism, and what was read in one of two ways."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from anatomy.contact.at_risk import AtRisk
from anatomy.contact.facts import ContactFacts
from anatomy.contact.hits import PlaceHit
from anatomy.contact.placing import Hit

__all__ = ["Told", "unsure_lines"]

MANY_RIBS = 3
MOST_LINES = 60


@dataclass
class Told:
    """What reading noticed beside the places, gathered over the stretches of a text."""

    taken_back: list[tuple[str, str]] = field(default_factory=list)
    mended: list[tuple[str, str]] = field(default_factory=list)
    denied: list[str] = field(default_factory=list)
    strikers: list[str] = field(default_factory=list)
    readings: list[tuple[str, str]] = field(default_factory=list)
    clock: list[str] = field(default_factory=list)
    torn: list[str] = field(default_factory=list)
    viewer: bool = False
    force: bool = False


def unsure_lines(
    told: Told,
    hits: list[Hit],
    found: tuple[PlaceHit, ...],
    structures: tuple[AtRisk, ...],
    side: str | None,
    mechanisms: tuple[str, ...],
    facts: ContactFacts,
) -> list[str]:
    """The lines, each once, in the order in which one would ask."""
    lines = [
        *_nothing(told, found),
        *_sides(found, structures),
        *_contradictions(hits, side, facts),
        *_parts(found, facts),
        *_levels(found, facts),
        *_readings(told),
        *_circumstances(told, found, mechanisms),
    ]
    return list(dict.fromkeys(lines))[:MOST_LINES]


def _nothing(told: Told, found: tuple[PlaceHit, ...]) -> Iterator[str]:
    if found:
        return
    if told.strikers:
        yield f"Where the blow landed is not said: only what hit is read ({_listed(told.strikers)})."
    else:
        yield "No place on the body is read: say the part, its side, and whether front, back, inner or outer."


def _sides(found: tuple[PlaceHit, ...], structures: tuple[AtRisk, ...]) -> Iterator[str]:
    for hit in found:
        if hit.side != "either":
            continue
        depends = {
            side: [row.name for row in structures if row.only_if == side and hit.key in _keys(row)]
            for side in ("left", "right")
        }
        more = "".join(
            f" On the {side} it would be over {_listed(names)}." for side, names in depends.items() if names
        )
        yield f"{_capital(hit.name)}: left or right is not said.{more}"


def _keys(row: AtRisk) -> tuple[str, ...]:
    return row.places


def _contradictions(hits: list[Hit], side: str | None, facts: ContactFacts) -> Iterator[str]:
    for hit in hits:
        name = facts.places[hit.places[0]].name.replace("{side} ", "").replace(", {side}", "")
        if side and hit.side and hit.side != side:
            yield f"{_capital(name)}: the text says {hit.side} and the side given is {side}; the text is followed."
        if hit.side in ("left", "right") and hit.against:
            other = "left" if hit.side == "right" else "right"
            yield f"The {hit.against} lies on the {other} and the text says {hit.side}: which of the two is meant?"
    for hit in hits:
        if (
            side
            and not hit.side
            and any(facts.places[key].parity not in ("paired", "across", side) for key in hit.places)
        ):
            yield f"The side given ({side}) says nothing about {facts.places[hit.places[0]].name}."


def _parts(found: tuple[PlaceHit, ...], facts: ContactFacts) -> Iterator[str]:
    groups: dict[int, list[PlaceHit]] = {}
    for hit in found:
        groups.setdefault(hit.group, []).append(hit)
        place = facts.places[hit.key]
        if place.open and not facts.is_leaf(hit.key):
            yield f"{_capital(hit.name)}: {place.open} is not said."
    for together in groups.values():
        if len(together) > 1:
            yield f"One or more of these may be meant: {_listed([hit.name for hit in together])}."


def _levels(found: tuple[PlaceHit, ...], facts: ContactFacts) -> Iterator[str]:
    for hit in found:
        place = facts.places[hit.key]
        if hit.levels or not facts.is_leaf(hit.key):
            continue
        if len(place.ribs) >= MANY_RIBS:
            yield f"{_capital(hit.name)}: which rib is not said."
        elif len(place.vertebrae) >= MANY_RIBS and "back" in place.views:
            yield f"{_capital(hit.name)}: which level of the spine is not said."


def _readings(told: Told) -> Iterator[str]:
    for said, meant in told.mended:
        yield f"“{said}” is read as {meant}."
    for before, after in told.taken_back:
        yield f"“{before}” is taken back in the text; “{after}” is read."
    for part in dict.fromkeys(told.denied):
        yield f"The text says that this was not hit, and it is left out: {part}."
    for word, reading in dict(told.readings).items():
        yield f"“{word}” has more than one reading: {reading}."
    for part in dict.fromkeys(told.clock):
        yield (
            f"The clock face on “{part}” is read as an examiner sees it: from in front (on the back from behind), "
            "twelve towards the head."
        )
    for part in dict.fromkeys(told.torn):
        yield f"“{part}” is said to be left and right at once: which of the two is meant? Both are kept."
    if told.viewer:
        yield "Left or right as a viewer sees it is not the body's own side: say which side of the body."
    for part in dict.fromkeys(told.strikers):
        yield f"“{part}” is read as what hit; the body it belongs to may be hurt as well."


def _circumstances(told: Told, found: tuple[PlaceHit, ...], mechanisms: tuple[str, ...]) -> Iterator[str]:
    if not found:
        return
    if not mechanisms:
        yield "How it happened is not said: blow, fall, twist, stretch, cut or crush."
    if not told.force:
        yield "How hard it was is not said."


def _listed(names: Iterable[str]) -> str:
    told = list(dict.fromkeys(names))[:6]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} or {told[-1]}"


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
