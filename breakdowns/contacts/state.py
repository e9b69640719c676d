"""What is asked of the contact map: place, side, level, mechanism, direction and words, as the address carries them.

No Django here. Whatever an address says is read; what means nothing is told beside its field and left out.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import urlencode

from anatomy.contact.loading import packaged_facts
from breakdowns.contacts.body import VIEWS
from breakdowns.contacts.drawing import CLOSER

__all__ = [
    "LONGEST_WORDS",
    "SIDES",
    "Asked",
    "State",
    "levels_of",
    "phrases",
    "read_rows",
    "read_state",
    "state_rows",
]

SIDES = ("left", "right", "both")
LONGEST_WORDS = 2000
_FIELDS = ("text", "place", "side", "level", "mechanism", "direction")
_SHOWN = ("view", "closer")


@dataclass(frozen=True, slots=True)
class State:
    """One contact: ``text`` as typed; the rest are keys of the engine, empty where nothing is said. ``view`` and
    ``closer`` are how it is looked at."""

    text: str = ""
    place: str = ""
    side: str = ""
    level: str = ""
    mechanism: str = ""
    direction: str = ""
    view: str = ""
    closer: str = ""

    def query(self, **other: str) -> str:
        """The address's query, with some of it otherwise."""
        other_state = replace(self, **other)
        names = (*_FIELDS, *_SHOWN)
        return urlencode({name: value for name in names if (value := getattr(other_state, name))})

    @property
    def is_empty(self) -> bool:
        return not (self.text.strip() or self.place)


@dataclass(frozen=True)
class Asked:
    """A state with what could not be read, by field."""

    state: State
    errors: dict[str, str] = field(default_factory=dict)


@cache
def phrases(kind: str) -> dict[str, str]:
    """The words of ``phrases.csv`` of one kind by key."""
    text = files("breakdowns.contacts").joinpath("data", "phrases.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines(), strict=True)
    return {row["key"]: row["words"] for row in rows if row["kind"] == kind}


def levels_of(place: str) -> tuple[tuple[str, str], ...]:
    """(level, words) of the ribs and vertebrae that a place spans."""
    found = packaged_facts().places.get(place)
    if found is None:
        return ()
    return tuple((rib, f"rib {rib}") for rib in found.ribs) + tuple((one, one) for one in found.vertebrae)


def read_state(given: Mapping[str, Any]) -> Asked:
    """The state of an address or of a row of texts. Never raises."""
    said = {name: str(given.get(name, "")).replace("\x00", "").strip() for name in (*_FIELDS, *_SHOWN)}
    errors: dict[str, str] = {}
    facts = packaged_facts()
    if len(said["text"]) > LONGEST_WORDS:
        errors["text"] = (
            f"That is {len(said['text'])} characters: {LONGEST_WORDS} is the most, so shorten it."
        )
        said["text"] = said["text"][:LONGEST_WORDS]
    known: dict[str, Sequence[str]] = {
        "place": tuple(facts.places),
        "side": SIDES,
        "mechanism": tuple(facts.mechanisms),
        "direction": tuple(phrases("direction")),
        "view": VIEWS,
        "closer": tuple(CLOSER),
    }
    for name, values in known.items():
        if said[name] and said[name] not in values:
            if name not in _SHOWN:
                errors[name] = f"“{said[name][:40]}” is no {name} of the map: choose one of the list."
            said[name] = ""
    place = facts.places.get(said["place"])
    if place is not None and place.parity in ("left", "right") and said["side"] not in ("", place.parity):
        errors["side"] = f"The {place.name} is on the {place.parity} only."
        said["side"] = place.parity
    if place is not None and place.parity == "midline":
        said["side"] = ""
    if said["level"] and said["level"] not in dict(levels_of(said["place"])):
        if place is not None:
            errors["level"] = f"Level {said['level'][:12]} does not reach this place: choose one of the list."
        said["level"] = ""
    return Asked(State(**said), errors)


def state_rows(state: State) -> list[str]:
    """The contact as ``name=value`` texts, for a beat to keep; how it was looked at goes with it."""
    return [f"{name}={value}" for name in (*_FIELDS, *_SHOWN) if (value := getattr(state, name))]


def read_rows(rows: Sequence[str]) -> State:
    """What ``state_rows`` wrote."""
    return read_state({name: value for row in rows for name, _, value in [row.partition("=")]}).state
