"""Between records and rows: which values of a record stand in which columns. Pure, so that both ways can be tested."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import fold, motion_key, split_motion
from anatomy.vocabulary.tables import TABLES

__all__ = ["MIRRORS", "rows_of", "vocabulary_of"]

Row = dict[str, Any]

# The rows of each table are told apart by these columns.
MIRRORS: dict[str, tuple[str, ...]] = {
    "sources": ("key",),
    "planes": ("name",),
    "joints": ("name",),
    "motions": ("key",),
    "nerves": ("name",),
    "groups": ("name",),
    "muscles": ("name",),
    "muscle_nerves": ("muscle_id", "nerve_id"),
    "memberships": ("group_id", "muscle_id"),
    "actions": ("muscle_id", "motion_id"),
    "ranges": ("motion_id", "population", "note", "sources"),
    "structures": ("name",),
    "contractions": ("name",),
    "phases": ("movement", "name"),
    "segments": ("name",),
    "chains": ("movement",),
    "concepts": ("name",),
    "terms": ("kind", "of", "folded"),
}

# Columns that are foreign keys to a name, where nothing is NULL in the database and empty in a record.
_LINKS = {
    "joints": {"within": "within_id"},
    "motions": {"joint": "joint_id", "plane": "plane_id"},
    "nerves": {"branch_of": "branch_of_id"},
    "muscles": {"whole": "whole_id"},
    "actions": {"muscle": "muscle_id"},
}
_AT_A_MOTION = ("actions", "ranges")


def rows_of(vocabulary: Vocabulary) -> dict[str, list[Row]]:
    """The rows of every mirror, columns by the names that the database uses."""
    rows = {
        table: [_row(table, record) for record in records] for table, records in vocabulary.tables().items()
    }
    rows["muscle_nerves"] = [
        {"muscle_id": muscle.name, "nerve_id": nerve}
        for muscle in vocabulary.muscles.values()
        for nerve in muscle.nerve.split("; ")
        if nerve
    ]
    rows["memberships"] = [
        {"group_id": group, "muscle_id": muscle}
        for group in vocabulary.groups
        for muscle in vocabulary.members(group)
    ]
    return rows


def vocabulary_of(rows: Mapping[str, Iterable[Row]]) -> Vocabulary:
    """The vocabulary that rows are the mirror of; the tables that only help to search are not needed."""
    return Vocabulary.of({table: [_record(table, row) for row in rows.get(table, ())] for table in TABLES})


def _row(table: str, record: Any) -> Row:
    row: Row = {}
    links = _LINKS.get(table, {})
    for field in fields(record):
        value = getattr(record, field.name)
        if field.name in links:
            row[links[field.name]] = value or None
        else:
            row[field.name] = list(value) if isinstance(value, tuple) else value
    if table == "motions":
        row["key"] = motion_key(record.joint, record.name)
    elif table == "terms":
        row["folded"] = fold(record.text)
    elif table in _AT_A_MOTION:
        row["motion_id"] = motion_key(row.pop("joint"), row.pop("motion"))
    return row


def _record(table: str, row: Row) -> Any:
    values = dict(row)
    if table in _AT_A_MOTION:
        values["joint"], values["motion"] = split_motion(values["motion_id"])
    for name, column in _LINKS.get(table, {}).items():
        values[name] = values[column] or ""
    record = TABLES[table].record
    names = [field.name for field in fields(record)]
    return record(**{n: tuple(values[n]) if isinstance(values[n], list) else values[n] for n in names})
