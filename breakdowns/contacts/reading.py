"""A contact read by the engine, from the words or from the place chosen on the drawing, in one shape for page and plate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from anatomy.contact.at_risk import AtRisk, ordered, structures_under
from anatomy.contact.cautions import cautions_for
from anatomy.contact.entries import LAYERS, Caution
from anatomy.contact.facts import ContactFacts
from anatomy.contact.hits import PlaceHit, named
from anatomy.contact.loading import packaged_facts
from anatomy.contact.read import ContactError, read_contact
from anatomy.contact.reasoning import steps
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.duties import Duty, duties, injuries_named, of_place
from breakdowns.contacts.state import State, phrases, read_rows

__all__ = ["Reading", "owed_by", "read", "sentences"]

_MOST_NAMED = 3
_MOST_WHY = 3


@dataclass(frozen=True)
class Reading:
    """What a contact could mean. ``layers`` go from the skin inwards; ``owed`` are the cautions a piece then carries.

    ``fault`` says why nothing could be read. ``place`` and ``side`` are what the drawing marks.
    """

    name: str = ""
    place: str = ""
    side: str = ""
    places: tuple[PlaceHit, ...] = ()
    structures: tuple[AtRisk, ...] = ()
    layers: tuple[tuple[str, tuple[AtRisk, ...]], ...] = ()
    cautions: tuple[Caution, ...] = ()
    unsure: tuple[str, ...] = ()
    reasoning: tuple[str, ...] = ()
    owed: tuple[Duty, ...] = ()
    fault: str = ""


def read(state: State) -> Reading:
    """The reading of a state: a place chosen on the drawing counts before the words. Never raises."""
    facts = packaged_facts()
    if state.place:
        return _of_place(state, facts)
    if not state.text.strip():
        return Reading()
    try:
        found = read_contact(state.text, state.side or None)
    except ContactError as fault:
        return Reading(fault=str(fault))
    structures = found.structures
    first = found.places[0] if found.places else None
    name = ", ".join(dict.fromkeys(hit.name for hit in found.places))
    return Reading(
        name,
        first.key if first else "",
        first.side if first and first.side in ("left", "right", "both") else "",
        found.places,
        structures,
        _layers(structures),
        found.cautions,
        found.unsure,
        found.reasoning,
        _owed(found.places, _said(state, name, structures)),
    )


def _of_place(state: State, facts: ContactFacts) -> Reading:
    place = facts.places[state.place]
    fixed = place.parity if place.parity in ("left", "right", "midline") else ""
    side = fixed or state.side or "either"
    levels = (state.level,) if state.level else ()
    mechanisms = (state.mechanism,) if state.mechanism else ()
    hit = PlaceHit(place.key, named(place.name, side), side, True, 0, 0, levels, 0)
    given = side if side in ("left", "right", "both") else None
    structures = ordered(
        structures_under(place.key, given, levels=levels, mechanisms=mechanisms, facts=facts)
    )
    keys = [row.entry for row in structures]
    return Reading(
        hit.name,
        place.key,
        given or "",
        (hit,),
        structures,
        _layers(structures),
        cautions_for([place.key], mechanisms, keys, facts),
        tuple(_unsaid(state, facts)),
        tuple(steps((hit,), facts, packaged_vocabulary())),
        _owed((hit,), _said(state, hit.name, structures)),
    )


def _unsaid(state: State, facts: ContactFacts) -> Iterator[str]:
    place = facts.places[state.place]
    if place.open:
        yield f"Which part of it is not said: {place.open}."
    if place.parity == "paired" and not state.side:
        yield "The side is not said, so what lies on one side only is listed with its side."
    if not state.level and len(place.ribs) > 1:
        yield "The rib is not said, so everything that lies under this place is listed."
    if not state.mechanism:
        yield "How it happened is not said, so every way counts."


def _layers(structures: tuple[AtRisk, ...]) -> tuple[tuple[str, tuple[AtRisk, ...]], ...]:
    found = ((layer, tuple(row for row in structures if row.layer == layer)) for layer in LAYERS)
    return tuple((layer, rows) for layer, rows in found if rows)


def _owed(places: tuple[PlaceHit, ...], said: list[str]) -> tuple[Duty, ...]:
    """What the places bring, and whatever else the sentences bring once all of them are said."""
    keys = {duty for hit in places for duty in of_place(hit.key)}
    while True:
        lines = [duty.line for key, duty in duties().items() if key in keys]
        more = {one.duty for one in injuries_named(" ".join((*said, *lines)))} - keys
        if not more:
            break
        keys |= more
    return tuple(duty for key, duty in duties().items() if key in keys or (keys and key == "no_diagnosis"))


@lru_cache(maxsize=512)
def owed_by(rows: tuple[str, ...]) -> tuple[str, ...]:
    """The keys of the cautions that a kept contact brings, from the place and what lies there."""
    return tuple(duty.key for duty in read(read_rows(rows)).owed) if rows else ()


def sentences(state: State, reading: Reading) -> tuple[str, ...]:
    """Hedged sentences ready to say: what could be hurt, why, and what would need care. Empty where nothing is known."""
    said = _said(state, reading.name, reading.structures)
    return tuple(dict.fromkeys((*said, *(duty.line for duty in reading.owed)))) if said else ()


def _said(state: State, name: str, structures: tuple[AtRisk, ...]) -> list[str]:
    if not structures:
        return []
    how = phrases("mechanism").get(state.mechanism) or phrases("mechanism")[""]
    opening = "" if how.startswith("whiplash") else "An " if how[0] in "aeio" else "A "
    how = how if opening else how.capitalize()
    direction = f" {phrases('direction')[state.direction]}" if state.direction else ""
    names = _and([_with_side(row) for row in _told_first(structures)])
    first = (
        f"{opening}{how} the {name}{direction} could hurt {names}; from here nobody can say which, if any."
    )
    return [first, *_urgent_says(structures)]


def _urgent_says(structures: tuple[AtRisk, ...]) -> list[str]:
    urgent = [row for row in structures if row.urgency == "emergency" and not row.who]
    watch = [f"Signs can come late. Emergency help at once for: {urgent[0].watch_for}."] if urgent else []
    return [row.why for row in urgent[:_MOST_WHY]] + watch


def _told_first(structures: tuple[AtRisk, ...]) -> list[AtRisk]:
    """The most urgent structures by different names, limits by side or person left out."""
    plain = [row for row in structures if not row.who and not row.only_if] or list(structures)
    return list({row.name: row for row in reversed(plain[: _MOST_NAMED * 2])}.values())[::-1][:_MOST_NAMED]


def _with_side(row: AtRisk) -> str:
    said = row.side if row.side in ("left", "right") and row.side not in row.name else ""
    return f"the {said} {row.name}" if said and row.layer != "organ" else f"the {row.name}"


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
