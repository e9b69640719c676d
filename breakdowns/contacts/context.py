"""What the pages of the contact map show. No Django here but addresses."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from anatomy.contact.hits import named
from anatomy.contact.loading import packaged_facts
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.body import VIEWS, View, spots
from breakdowns.contacts.drawing import CLOSER, best_view, body_svg
from breakdowns.contacts.reading import Reading, read, sentences
from breakdowns.contacts.state import SIDES, Asked, State, levels_of, phrases

__all__ = ["map_page"]

_VIEW_WORDS = {"front": "front", "back": "back", "left": "left side", "right": "right side"}
_URGENCIES = {"emergency": "emergency", "soon": "to be seen soon", "routine": "routine"}


def map_page(asked: Asked) -> dict[str, Any]:
    """Drawing, choices and reading of one state."""
    state, reading = asked.state, read(asked.state)
    view = _view(state, reading)
    here = reverse("contacts:map")

    def address(place: str, side: str) -> str:
        kept = side or (state.side if packaged_facts().places[place].parity != "midline" else "")
        return f"{here}?{state.query(text='', place=place, side=kept, level='', view=view)}#reading"

    shown = [name for name, (_, windows) in CLOSER.items() if view in windows]
    closer = state.closer if state.closer in shown else ""
    title = (
        f"The body, {_VIEW_WORDS[view]}{f', {CLOSER[closer][0]} larger' if closer else ''}: places to choose"
    )
    drawing = body_svg(
        view, place=reading.place, side=reading.side, closer=closer, address=address, title=title
    )
    return {
        "state": state,
        "errors": asked.errors,
        "query": state.query(),
        "reading": reading,
        "fault": reading.fault,
        "drawing": drawing,
        "view": view,
        "view_words": _VIEW_WORDS[view],
        "views": [
            (one, _VIEW_WORDS[one], f"{here}?{state.query(view=one, closer='')}", one == view)
            for one in VIEWS
        ],
        "closers": [
            (CLOSER[one][0], f"{here}?{state.query(view=view, closer=one)}", one == closer) for one in shown
        ],
        "whole": f"{here}?{state.query(view=view, closer='')}" if closer else "",
        "regions": _regions(),
        "sides": SIDES,
        "levels": levels_of(state.place),
        "mechanisms": [(one.key, one.name) for one in packaged_facts().mechanisms.values()],
        "directions": list(phrases("direction").items()),
        "layers": [(layer, [_row(one) for one in rows]) for layer, rows in reading.layers],
        "cautions": [(one.line, _cite(one.sources)) for one in reading.cautions],
        "sentences": sentences(state, reading),
        "larger": _steps(state, reading, here),
        "address": f"{here}?{state.query()}",
    }


def _view(state: State, reading: Reading) -> View:
    wanted: View | None = next((one for one in VIEWS if one == state.view), None)
    if not reading.place:
        return wanted or "front"
    # A view that was asked for stays, and the marker is missing where it can't be seen there.
    return wanted or best_view(reading.place, reading.side) or "front"


def _regions() -> list[tuple[str, list[tuple[str, str]]]]:
    """Every place by its region, for the list beside the drawing."""
    found: dict[str, list[tuple[str, str]]] = {}
    for place in packaged_facts().places.values():
        name = named(place.name, "either")
        found.setdefault(place.region, []).append((place.key, f"{name[0].upper()}{name[1:]}"))
    return list(found.items())


def _row(row: Any) -> dict[str, Any]:
    known = packaged_vocabulary().structures.get(row.entry)
    one_sided = known is not None and known.side in ("left", "right")
    plain = one_sided or row.side in ("midline", "either", "both") or row.side in row.name
    side = "" if plain else f"{row.side} "
    return {
        "name": f"{side}{row.name}",
        "only_if": f"only if it was the {row.only_if} side" if row.only_if else "",
        "risk": row.risk,
        "why": row.why,
        "watch_for": row.watch_for,
        "urgency": row.urgency,
        "urgency_words": _URGENCIES[row.urgency],
        "sources": _cite(row.sources),
    }


def _cite(keys: tuple[str, ...]) -> list[str]:
    return packaged_vocabulary().cite(keys)


def _steps(state: State, reading: Reading, here: str) -> list[tuple[str, str, str]]:
    """Larger and smaller places than the one read: (which, name, address)."""
    if not reading.place:
        return []
    facts = packaged_facts()
    near = [("within", key) for key in facts.places[reading.place].within]
    near += [("part", key) for key in facts.children(reading.place)]
    found = []
    for which, key in near:
        parity = facts.places[key].parity
        side = "" if parity == "midline" else parity if parity in ("left", "right") else reading.side
        if parity in ("left", "right") and reading.side in ("left", "right") and reading.side != parity:
            continue
        query = state.query(text="", place=key, side=side, level="", view="", closer="")
        found.append((which, named(facts.places[key].name, side or "either"), f"{here}?{query}#reading"))
    return found


def drawn_places() -> frozenset[str]:
    """Places with a spot of their own in some view."""
    return frozenset(one.place for view in VIEWS for one in spots(view))
