"""What the vocabulary holds: one frozen record for each row of its data files.

Every record names its sources by key; the keys stand in ``data/sources_*.csv`` with the full citation.
Motions follow the anatomical position (Terminologia Anatomica; ISB for joint axes); degrees everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Role = Literal["prime", "assist"]
Style = Literal["standard", "short", "plain", "slang", "dictation", "own"]
Kind = Literal[
    "muscle",
    "group",
    "joint",
    "motion",
    "structure",
    "nerve",
    "plane",
    "axis",
    "contraction",
    "segment",
    "chain",
    "concept",
]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a fact comes from. ``basis`` says how it was seen: read, second-hand, from memory.

    ``own`` is the basis of what the people of a site added themselves; no data file may use it.
    """

    key: str
    citation: str
    basis: Literal["read", "second-hand", "from memory", "common practice", "own"]


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint, or a region that moves as one ("lumbar spine"); ``within`` is the larger one it is part of."""

    name: str
    region: str
    within: str
    type: str
    axes: str
    proximal: str
    distal: str
    gloss: str
    identifier: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Motion:
    """One direction of movement at one joint, with its plane and axis in the anatomical position."""

    joint: str
    name: str
    opposite: str
    plane: str
    axis: str
    gloss: str
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Muscle:
    """A muscle, or the part of one that acts on its own; ``whole`` names the muscle it is a part of."""

    name: str
    latin: str
    whole: str
    region: str
    gloss: str
    origin: str
    insertion: str
    nerve: str
    roots: tuple[str, ...]
    also_roots: tuple[str, ...]
    nerve_note: str
    identifier: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Muscles that go by one name: parts of one muscle (``whole``) or colleagues in a task (``functional``)."""

    name: str
    kind: Literal["whole", "functional"]
    members: tuple[str, ...]
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Action:
    """A muscle produces a motion at a joint.

    ``depends_on`` names the posture or the part that it hangs on. ``conditional`` is true when the bare
    statement without that condition would mislead; otherwise the condition is a remark.
    ``disputed`` is true when good textbooks disagree.
    """

    muscle: str
    joint: str
    motion: str
    role: Role
    conditional: bool
    disputed: bool
    depends_on: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Range:
    """Published normal range of one motion in degrees from the anatomical position: ``low`` to ``high``."""

    joint: str
    motion: str
    low: float
    high: float
    population: str
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Structure:
    """Something that has a place: organ, bone, rib, vertebra, plexus, landmark.

    ``side`` is left, right, midline or both; ``quadrants`` are among left upper, right upper, left lower,
    right lower, epigastric, suprapubic; ``vertebrae`` and ``ribs`` are the levels it spans ("T12", "L3"; "9", "11").
    """

    name: str
    kind: str
    side: str
    quadrants: tuple[str, ...]
    vertebrae: tuple[str, ...]
    ribs: tuple[str, ...]
    gloss: str
    note: str
    identifier: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Nerve:
    """A nerve or plexus with the roots usually printed; ``also_roots`` are printed by some good books too."""

    name: str
    kind: Literal["nerve", "plexus", "root", "dermatome", "reflex"]
    branch_of: str
    roots: tuple[str, ...]
    also_roots: tuple[str, ...]
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plane:
    """A cardinal plane with the axis that stands at right angles to it."""

    name: str
    axis: str
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contraction:
    """A kind of contraction: what the muscle's length does while it pulls."""

    name: str
    length: Literal["shortens", "lengthens", "keeps", "varies"]
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Phase:
    """A named part of a kind of movement (load, drive, release …)."""

    movement: str
    name: str
    place: int
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """The order in which segments reach their greatest speed, or start, in one kind of movement."""

    movement: str
    order: tuple[str, ...]
    note: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Concept:
    """A technical term of the trade that is none of the above ("closed chain", "moment arm")."""

    name: str
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Segment:
    """A part of the body that moves as one in a chain ("pelvis", "trunk", "forearm")."""

    name: str
    gloss: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Term:
    """A way of saying ``of``, the standard name of an entry of ``kind``.

    For a motion ``of`` is "joint: motion", or "motion" alone when the joint is not part of the term.
    """

    text: str
    kind: Kind
    of: str
    style: Style
    sources: tuple[str, ...]


Entry = (
    Joint
    | Motion
    | Muscle
    | Group
    | Structure
    | Nerve
    | Plane
    | Contraction
    | Phase
    | Chain
    | Concept
    | Segment
)
Record = Source | Entry | Action | Range | Term
