"""What the contact map holds: one frozen record for each row of its data files, which have these fields as header.

Structures, muscles, nerves and joints are named as in the vocabulary and are not described again here. Sources are keys
of the vocabulary's ``sources_*.csv``. Sides are the body's own, never the viewer's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from anatomy.vocabulary.tables import Table

__all__ = [
    "LAYERS",
    "TABLES",
    "URGENCIES",
    "VIEWS",
    "Caution",
    "Layer",
    "Mechanism",
    "Part",
    "Place",
    "Risk",
    "SurfaceMark",
    "Urgency",
    "Word",
]

Layer = Literal["skin", "nerve", "muscle", "bone", "joint", "vessel", "organ"]
Urgency = Literal["routine", "soon", "emergency"]
Parity = Literal["paired", "across", "midline", "left", "right"]
RowSide = Literal["struck", "left", "right", "midline", "both"]
LAYERS: tuple[Layer, ...] = ("skin", "nerve", "muscle", "bone", "joint", "vessel", "organ")
URGENCIES: tuple[Urgency, ...] = ("emergency", "soon", "routine")
"""The most urgent first."""
VIEWS = ("front", "side", "back")


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the body's surface that can be pointed at.

    ``key`` never changes. ``name`` has "{side}" where the side is said. ``parity``: "paired" places are one on each side,
    "across" ones reach over the midline and may have a side, "left" is there on the left only. ``within`` are the larger
    places it is part of; a place with parts is what a speaker means who says no more, and ``open`` is what is then left
    unsaid. ``vertebrae`` and ``ribs`` are the levels it spans, where they mean something.
    """

    key: str
    name: str
    region: str
    views: tuple[str, ...]
    parity: Parity
    within: tuple[str, ...]
    vertebrae: tuple[str, ...]
    ribs: tuple[str, ...]
    open: str
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Risk:
    """What a blow at one of ``places`` could do to the vocabulary's entry ``of``.

    ``side``: "struck" lies on the side that was hit; "left" and "right" lie there only, whatever was hit. ``mechanisms``
    are those it belongs to, all when empty. ``ribs`` and ``vertebrae``: the levels it spans under these places. ``who``
    limits it ("in a child").
    """

    places: tuple[str, ...]
    kind: Literal["structure", "muscle", "group", "nerve", "joint"]
    of: str
    risk: str
    layer: Layer
    side: RowSide
    mechanisms: tuple[str, ...]
    ribs: tuple[str, ...]
    vertebrae: tuple[str, ...]
    who: str
    why: str
    watch_for: str
    urgency: Urgency
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mechanism:
    """How the contact happened. ``part`` is where it lands when no place is said; ``carries`` are places its force runs to."""

    key: str
    name: str
    words: tuple[str, ...]
    part: str
    carries: tuple[str, ...]
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """A line to carry: always, or with one of ``values``: places with all within them, mechanisms, or structures at risk."""

    key: str
    line: str
    when: Literal["always", "places", "mechanisms", "structures"]
    values: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SurfaceMark:
    """Where a structure of the vocabulary lies on one vertical line of the trunk, by rib or vertebra."""

    kind: Literal["structure"]
    of: str
    side: Literal["left", "right", "midline", "both"]
    view: Literal["front", "side", "back"]
    line: str
    ribs: tuple[str, ...]
    vertebrae: tuple[str, ...]
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """Which places are meant by a part of the body as speakers name it, with the ``aspects`` said of it (all of them)."""

    part: str
    aspects: tuple[str, ...]
    places: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Word:
    """Words of speech of one class ("side", "relation", "part" …) with what they stand for."""

    cls: str
    value: str
    words: tuple[str, ...]
    sources: tuple[str, ...]


def _table(name: str, record: type, key: str, needed: str) -> Table:
    return Table(name, record, tuple(key.split()), tuple(needed.split()))


TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        _table("places", Place, "key", "key name region views sources"),
        _table("risks", Risk, "places kind of risk side", "places of risk why watch_for sources"),
        _table("mechanisms", Mechanism, "key", "key name words sources"),
        _table("cautions", Caution, "key", "key line sources"),
        _table("surface", SurfaceMark, "of side view", "of line sources"),
        _table("parts", Part, "part aspects", "part places sources"),
        _table("words", Word, "cls value words", "cls words sources"),
    )
}
