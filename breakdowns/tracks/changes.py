"""Changes of a track as data: what each cell held before and after, so that they can be undone, redone and joined.

A cell is ``"12/left_hip"`` (a point), ``"keys"`` (the key frames) or ``"=side"`` (a choice); a change maps cells to
``[before, after]``, None where nothing was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from .document import Points

__all__ = ["Change", "applied", "joined", "of_points", "point_cell", "turned"]

Change = dict[str, list[Any]]


def point_cell(frame: str | int, name: str) -> str:
    """The cell of one landmark on one frame."""
    return f"{frame}/{name}"


def of_points(points: Points, goal: Mapping[str, Mapping[str, Any]]) -> Change:
    """The change that brings ``goal`` into ``points``; None in it takes a point away. What is so already is left out."""
    change: Change = {}
    for frame, row in goal.items():
        for name, point in row.items():
            before = points.get(frame, {}).get(name)
            if before != point:
                change[point_cell(frame, name)] = [before, point]
    return change


def turned(change: Change) -> Change:
    """The change that takes this one back."""
    return {cell: [after, before] for cell, (before, after) in change.items()}


def joined(changes: Iterable[Change]) -> Change:
    """Several changes, one after the other, as one; what ends where it began is left out."""
    found: Change = {}
    for change in changes:
        for cell, (before, after) in change.items():
            found[cell] = [found[cell][0] if cell in found else before, after]
    return {cell: pair for cell, pair in found.items() if pair[0] != pair[1]}


def applied(points: Points, change: Change) -> Points:
    """The points after a change; frames without a point go. Other cells are not looked at."""
    found = {frame: dict(row) for frame, row in points.items()}
    for cell, (_, after) in change.items():
        frame, slash, name = cell.partition("/")
        if not slash:
            continue
        row = found.setdefault(frame, {})
        if after is None:
            row.pop(name, None)
        else:
            row[name] = after
        if not row:
            del found[frame]
    return {frame: found[frame] for frame in sorted(found, key=int)}
