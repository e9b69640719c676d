"""What must hold between the records of the vocabulary. Each check yields a fault for each line that breaks it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from anatomy.vocabulary.faults import Fault
from anatomy.vocabulary.naming import fold, motion_key
from anatomy.vocabulary.placed import Placed, Rows, names_in
from anatomy.vocabulary.tables import TABLES
from anatomy.vocabulary.term_checks import shared_texts, term_targets

__all__ = ["SIDES", "faults_between"]

Check = Callable[[Rows], Iterator[Fault]]

SIDES = ("left", "right", "midline", "both")

_ROOT = re.compile(r"C[1-8]|T([1-9]|1[0-2])|L[1-5]|S[1-5]|Co1|CN (I|II|III|IV|V|VI|VII|VIII|IX|X|XI|XII)")
_VERTEBRA = re.compile(r"C[1-7]|T([1-9]|1[0-2])|L[1-5]|S[1-5]|Co[1-4]")
_RIB = re.compile(r"[1-9]|1[0-2]")
_QUADRANTS = ("left upper", "right upper", "left lower", "right lower", "epigastric", "suprapubic")


def faults_between(rows: Rows) -> list[Fault]:
    """Every fault that shows only when records are held against each other."""
    return [fault for check in _CHECKS for fault in check(rows)]


def _duplicates(rows: Rows) -> Iterator[Fault]:
    for name, table in TABLES.items():
        first: dict[Any, Placed] = {}
        for row in rows[name]:
            key = tuple(fold(v) if isinstance(v, str) else v for v in table.key_of(row.record))
            if key in first:
                before = first[key]
                said = ", ".join(str(v) for v in table.key_of(row.record) if isinstance(v, str) and v)
                yield row.fault(
                    f"{said!r} stands here again after {before.file}, line {before.line}",
                    "take one of the two out",
                )
            first.setdefault(key, row)


def _separators(rows: Rows) -> Iterator[Fault]:
    """A colon parts joint and motion, a semicolon the items of a list: no name may hold them."""
    for table, mark in (("joints", ":"), ("motions", ":"), *((table, ";") for table in _LISTED_NAMES)):
        for row in rows[table]:
            name = row.record.key if table == "sources" else row.record.name
            if mark in name:
                yield row.fault(
                    f"the name {name!r} holds a {mark!r}", "name it without, it parts names elsewhere"
                )


_LISTED_NAMES = ("sources", "muscles", "groups", "nerves", "segments")


def _sources(rows: Rows) -> Iterator[Fault]:
    known = {row.record.key for row in rows["sources"]}
    for name in TABLES:
        for row in rows[name]:
            if name == "sources":
                if row.record.key == "own":
                    yield row.fault(
                        "the source key 'own' is kept for a site's own terms", "choose another key"
                    )
                continue
            if not row.record.sources:
                yield row.fault("no source is named", "fill in the cell “sources” with keys of sources_*.csv")
            for key in row.record.sources:
                if key not in known:
                    yield row.fault(f"unknown source {key!r}", "add it to a sources_*.csv or correct the key")


# table, field → the table that its values are names of; a field may hold one name, a list or nothing.
_REFERENCES = (
    ("joints", "within", "joints"),
    ("motions", "joint", "joints"),
    ("motions", "plane", "planes"),
    ("muscles", "whole", "groups"),
    ("muscles", "nerve", "nerves"),
    ("actions", "muscle", "muscles"),
    ("actions", "joint", "joints"),
    ("ranges", "joint", "joints"),
    ("nerves", "branch_of", "nerves"),
    ("chains", "order", "segments"),
)


def _references(rows: Rows) -> Iterator[Fault]:
    for table, field, target in _REFERENCES:
        known = names_in(rows, target)
        for row in rows[table]:
            for name in _listed(getattr(row.record, field)):
                if name not in known:
                    what = f"unknown {target.removesuffix('s')} {name!r} in “{field}”"
                    yield row.fault(what, f"add it to {target}.csv or correct the spelling")


def _listed(value: str | tuple[str, ...]) -> tuple[str, ...]:
    """Names in a field; a muscle with two nerves has them in one cell, separated as lists are."""
    return value if isinstance(value, tuple) else tuple(value.split("; ")) if value else ()


def _motions_known(rows: Rows) -> Iterator[Fault]:
    known, joints = names_in(rows, "motions"), names_in(rows, "joints")
    for table in ("actions", "ranges"):
        for row in rows[table]:
            joint, motion = row.record.joint, row.record.motion
            if joint in joints and motion_key(joint, motion) not in known:
                yield row.fault(
                    f"unknown motion {motion!r} at {joint!r}", "add it to motions.csv or correct the spelling"
                )


def _members(rows: Rows) -> Iterator[Fault]:
    muscles, groups = names_in(rows, "muscles"), names_in(rows, "groups")
    for row in rows["groups"]:
        for name in row.record.members:
            if name not in muscles and name not in groups:
                mend = "add it to muscles.csv or groups.csv, or correct the spelling"
                yield row.fault(f"unknown member {name!r}", mend)
        if row.record.name in muscles:
            yield row.fault(
                f"{row.record.name!r} is a muscle as well as a group", "give one of them another name"
            )


def _wholes(rows: Rows) -> Iterator[Fault]:
    """A part names its whole, and the whole has it among its members, directly or in a group within it."""
    groups = {row.record.name: row.record for row in rows["groups"]}
    whole_of = {row.record.name: row.record.whole for row in rows["muscles"]}
    for row in rows["muscles"]:
        group = groups.get(row.record.whole)
        if group is None:
            continue
        if group.kind != "whole":
            yield row.fault(
                f"{group.name!r} is a functional group, not a whole muscle",
                "empty “whole” or make the group a whole",
            )
        elif row.record.name not in _within(group.name, groups):
            yield row.fault(
                f"the group {group.name!r} does not have this muscle", "add it to the group's members"
            )
    for row in rows["groups"]:
        for name in row.record.members if row.record.kind == "whole" else ():
            if name in whole_of and whole_of[name] != row.record.name:
                mend = f"write {row.record.name!r} into “whole” of {name!r} or make this group functional"
                yield row.fault(f"its part {name!r} does not name it as its whole", mend)


def _within(name: str, groups: dict[str, Any]) -> set[str]:
    found, open_ = set(), [name]
    while open_:
        for member in groups[open_.pop()].members:
            if member not in found:
                found.add(member)
                open_ += [member] if member in groups else []
    return found


def _circles(rows: Rows) -> Iterator[Fault]:
    for table, field in (("joints", "within"), ("nerves", "branch_of"), ("groups", "members")):
        places = {row.record.name: row for row in rows[table]}
        edges = {
            name: [n for n in _listed(getattr(row.record, field)) if n in places]
            for name, row in places.items()
        }
        for circle in _circles_of(edges):
            what = f"“{field}” goes in a circle: {' → '.join([*circle, circle[0]])}"
            yield places[circle[0]].fault(what, "break it at the entry that is the larger one")


def _circles_of(edges: dict[str, list[str]]) -> Iterator[list[str]]:
    """Each circle once, found from the entry that was written first."""
    done: set[str] = set()
    for start in edges:
        path: list[str] = []
        stack = [(start, iter(edges[start]))] if start not in done else []
        path += [start] if stack else []
        while stack:
            name, onward = stack[-1]
            following = next((n for n in onward if n not in done), None)
            if following is None:
                done.add(name)
                stack.pop()
                path.pop()
            elif following in path:
                yield path[path.index(following) :]
            else:
                stack.append((following, iter(edges[following])))
                path.append(following)


def _opposites(rows: Rows) -> Iterator[Fault]:
    motions = {(row.record.joint, row.record.name): row.record for row in rows["motions"]}
    for row in rows["motions"]:
        motion = row.record
        if not motion.opposite:
            continue
        other = motions.get((motion.joint, motion.opposite))
        if other is None:
            mend = "add that motion at this joint or correct “opposite”"
            yield row.fault(f"the opposite {motion.opposite!r} does not exist at {motion.joint!r}", mend)
        elif other.opposite != motion.name:
            what = f"{motion.opposite!r} has {other.opposite or 'nothing'!r} as its opposite, not {motion.name!r}"
            yield row.fault(what, "let the two name each other")


def _axes(rows: Rows) -> Iterator[Fault]:
    axes = {row.record.name: row.record.axis for row in rows["planes"]}
    for row in rows["motions"]:
        plane, axis = row.record.plane, row.record.axis
        if axis and not plane:
            yield row.fault(f"the axis {axis!r} stands without its plane", "fill in “plane” or empty “axis”")
        elif axis and plane in axes and axes[plane] != axis:
            yield row.fault(
                f"the plane {plane!r} does not go with the axis {axis!r}", f"write {axes[plane]!r}"
            )


def _ranges(rows: Rows) -> Iterator[Fault]:
    for row in rows["ranges"]:
        if row.record.low > row.record.high:
            yield row.fault(f"low ({row.record.low:g}) is above high ({row.record.high:g})", "swap them")


def _levels(rows: Rows) -> Iterator[Fault]:
    legal = (
        (
            "muscles",
            "roots",
            _ROOT,
            "C1 to C8, T1 to T12, L1 to L5, S1 to S5, Co1 or CN I to CN XII, one by one",
        ),
        ("muscles", "also_roots", _ROOT, "roots one by one, such as L5; S1"),
        (
            "nerves",
            "roots",
            _ROOT,
            "C1 to C8, T1 to T12, L1 to L5, S1 to S5, Co1 or CN I to CN XII, one by one",
        ),
        ("nerves", "also_roots", _ROOT, "roots one by one, such as L5; S1"),
        ("structures", "vertebrae", _VERTEBRA, "vertebrae one by one, such as T12; L1"),
        ("structures", "ribs", _RIB, "ribs one by one, such as 9; 10; 11"),
    )
    for table, field, pattern, mend in legal:
        for row in rows[table]:
            for level in getattr(row.record, field):
                if not pattern.fullmatch(level):
                    yield row.fault(f"{level!r} is no level for “{field}”", f"write {mend}")


def _places(rows: Rows) -> Iterator[Fault]:
    for row in rows["structures"]:
        if row.record.side not in SIDES:
            yield row.fault(f"{row.record.side!r} is no side", f"write one of {', '.join(SIDES)}")
        for quadrant in row.record.quadrants:
            if quadrant not in _QUADRANTS:
                yield row.fault(f"{quadrant!r} is no quadrant", f"write some of {', '.join(_QUADRANTS)}")


def _phases(rows: Rows) -> Iterator[Fault]:
    taken: dict[tuple[str, int], str] = {}
    for row in rows["phases"]:
        key = (row.record.movement, row.record.place)
        if row.record.place < 1:
            yield row.fault(
                f"the place {row.record.place} is below 1", "count the phases of a movement from 1"
            )
        if taken.setdefault(key, row.record.name) != row.record.name:
            what = f"{taken[key]!r} has place {key[1]} of {key[0]!r} already"
            yield row.fault(what, "give each phase a place of its own")


_CHECKS: tuple[Check, ...] = (
    _duplicates,
    _separators,
    _sources,
    _references,
    _motions_known,
    _members,
    _wholes,
    _circles,
    _opposites,
    _axes,
    _ranges,
    _levels,
    _places,
    _phases,
    term_targets,
    shared_texts,
)
