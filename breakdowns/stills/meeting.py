"""Two people's changes of one document of marks: joined where they touch different things.

Documents are the JSON of the marks document, read and written back by ``document.py``. Laws (held by tests):
meeting with an unchanged side gives the other side, and what both sides made anew is kept from both.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["both", "meet"]

Json = dict[str, Any]
_MISSING = object()


def _by_id(document: Json) -> dict[str, Any]:
    return {mark["id"]: mark for mark in document.get("marks", [])}


def _joined(base: Mapping[str, Any], one: Mapping[str, Any], other: Mapping[str, Any]) -> Json | None:
    """Each key as the side that changed it has it; None where both changed the same one differently."""
    made: Json = {}
    for key in [*one, *(key for key in other if key not in one)]:
        was, a, b = (side.get(key, _MISSING) for side in (base, one, other))
        if a != b and a != was and b != was:
            return None
        value = b if a == was else a
        if value is not _MISSING:
            made[key] = value
    return made


def _order(base: Json, one: Json, other: Json) -> list[str] | None:
    """The ids in the order of the side that changed it, new ones of the other side last; None when both did."""
    ids = [list(_by_id(each)) for each in (base, one, other)]
    shared = set(ids[0]) & set(ids[1]) & set(ids[2])
    was, a, b = ([name for name in each if name in shared] for each in ids)
    if a != was and b != was and a != b:
        return None
    first, second = (ids[2], ids[1]) if a == was and b != was else (ids[1], ids[2])
    return [*first, *(name for name in second if name not in first)]


def meet(base: Json, one: Json, other: Json) -> Json | None:
    """What both sides made of ``base``; None where they changed the same mark, landmark or order differently."""
    landmarks = _joined(base.get("landmarks", {}), one.get("landmarks", {}), other.get("landmarks", {}))
    marks = _joined(_by_id(base), _by_id(one), _by_id(other))
    others = ("landmarks", "marks")
    rest = _joined(*({k: v for k, v in each.items() if k not in others} for each in (base, one, other)))
    order = _order(base, one, other)
    if landmarks is None or marks is None or rest is None or order is None:
        return None
    return {**rest, "landmarks": landmarks, "marks": [marks[name] for name in order if name in marks]}


def both(standing: Json, late: Json) -> Json:
    """The standing document with every mark of the late one that differs, under a free id, drawn last.

    A landmark stays where it stands; late ones are added where there is none.
    """
    known = _by_id(standing)
    added = []
    taken = set(known) | set(_by_id(late))
    for name, mark in _by_id(late).items():
        if known.get(name) == mark:
            continue
        fresh = name
        number = 2
        while name in known and fresh in taken:
            fresh = f"{name[:30]}-{number}"
            number += 1
        taken.add(fresh)
        added.append({**mark, "id": fresh})
    landmarks = {**late.get("landmarks", {}), **standing.get("landmarks", {})}
    return {**late, **standing, "landmarks": landmarks, "marks": [*standing.get("marks", []), *added]}
