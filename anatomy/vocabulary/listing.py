"""The vocabulary as rows of plain values, for the command line and whoever reads its JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Any, get_args

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Action, Motion, Range, Role
from anatomy.vocabulary.naming import motion_key
from anatomy.vocabulary.tables import TABLES

__all__ = ["LISTINGS", "counts", "joint_rows", "motion_rows", "muscle_rows", "structure_rows"]

Row = dict[str, Any]


def muscle_rows(vocabulary: Vocabulary) -> list[Row]:
    """One row for each muscle, joint and motion; ``sources`` are keys, ``citations`` the same in full."""
    return [_muscle_row(vocabulary, action) for action in vocabulary.actions]


def _muscle_row(vocabulary: Vocabulary, action: Action) -> Row:
    muscle = vocabulary.muscles[action.muscle]
    motion = vocabulary.motions[motion_key(action.joint, action.motion)]
    sources = list(dict.fromkeys((*action.sources, *muscle.sources)))
    return {
        "muscle": muscle.name,
        "synonyms": list(vocabulary.synonyms("muscle", muscle.name)),
        "groups": list(vocabulary.groups_of(muscle.name)),
        "joint": action.joint,
        "motion": action.motion,
        "role": action.role,
        "plane": motion.plane,
        "axis": motion.axis,
        "depends_on": action.depends_on,
        "conditional": action.conditional,
        "disputed": action.disputed,
        "nerve": muscle.nerve,
        "roots": list(muscle.roots),
        "also_roots": list(muscle.also_roots),
        "sources": sources,
        "citations": vocabulary.cite(sources),
    }


def joint_rows(vocabulary: Vocabulary) -> list[Row]:
    """One row for each joint, with the names of its motions."""
    return [
        _row(vocabulary, "joint", joint.name, asdict(joint))
        | {"motions": [motion.name for motion in vocabulary.motions_of(joint.name)]}
        for joint in vocabulary.joints.values()
    ]


def motion_rows(vocabulary: Vocabulary) -> list[Row]:
    """One row for each motion at each joint, with the muscles that produce it and its published ranges."""
    return [_motion_row(vocabulary, key, motion) for key, motion in vocabulary.motions.items()]


def _motion_row(vocabulary: Vocabulary, key: str, motion: Motion) -> Row:
    actions = vocabulary.actions_at(motion.joint, motion.name)
    said = (*vocabulary.synonyms("motion", key), *vocabulary.synonyms("motion", motion.name))
    return {
        "joint": motion.joint,
        "motion": motion.name,
        "opposite": motion.opposite,
        "plane": motion.plane,
        "axis": motion.axis,
        "gloss": motion.gloss,
        "note": motion.note,
        "synonyms": list(said),
        "muscles": {role: [a.muscle for a in actions if a.role == role] for role in get_args(Role)},
        "ranges": [_range_row(one) for one in vocabulary.ranges_of(motion.joint, motion.name)],
        "sources": list(motion.sources),
        "citations": vocabulary.cite(motion.sources),
    }


def _range_row(one: Range) -> Row:
    names = ("low", "high", "population", "note")
    return {name: getattr(one, name) for name in names} | {"sources": list(one.sources)}


def structure_rows(vocabulary: Vocabulary) -> list[Row]:
    """One row for each structure that has a place."""
    return [_row(vocabulary, "structure", one.name, asdict(one)) for one in vocabulary.structures.values()]


def counts(vocabulary: Vocabulary) -> dict[str, int]:
    """How many records each table has."""
    tables = vocabulary.tables()
    return {name: len(tables[name]) for name in TABLES}


def _row(vocabulary: Vocabulary, kind: str, key: str, values: Row) -> Row:
    row = {name: list(value) if isinstance(value, tuple) else value for name, value in values.items()}
    if "name" in row:
        row = {kind: row.pop("name"), **row}
    return row | {
        "synonyms": list(vocabulary.synonyms(kind, key)),
        "citations": vocabulary.cite(values["sources"]),
    }


LISTINGS: dict[str, Callable[[Vocabulary], list[Row]]] = {
    "muscles": muscle_rows,
    "joints": joint_rows,
    "motions": motion_rows,
    "structures": structure_rows,
}
