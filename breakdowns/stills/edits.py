"""Single changes of a marks document, for forms that send one change at a time. Documents are JSON values."""

from __future__ import annotations

from typing import Any

__all__ = [
    "EditError",
    "confirm",
    "drop_landmark",
    "drop_mark",
    "move_mark",
    "put_landmark",
    "put_mark",
    "swap_sides",
]

Json = dict[str, Any]


class EditError(ValueError):
    """A change that can't be made: one sentence."""


def _place(document: Json, mark_id: str) -> int:
    for place, mark in enumerate(document["marks"]):
        if mark["id"] == mark_id:
            return place
    raise EditError("This mark is no longer on the still: load the page again.")


def _fresh_id(document: Json) -> str:
    taken = {mark["id"] for mark in document["marks"]}
    return next(name for n in range(1, len(taken) + 2) if (name := f"m{n}") not in taken)


def put_mark(document: Json, mark: Json, mark_id: str = "") -> Json:
    """The mark in place of the one with ``mark_id``, or new and drawn last. Raises EditError."""
    marks = list(document["marks"])
    if mark_id:
        place = _place(document, mark_id)
        marks[place] = {**marks[place], **mark, "id": mark_id}
    else:
        marks.append({**mark, "id": _fresh_id(document)})
    return {**document, "marks": marks}


def drop_mark(document: Json, mark_id: str) -> Json:
    """Without the mark. Raises EditError."""
    place = _place(document, mark_id)
    return {**document, "marks": [*document["marks"][:place], *document["marks"][place + 1 :]]}


def move_mark(document: Json, mark_id: str, by: int) -> Json:
    """The mark drawn ``by`` places later; beyond the ends means the ends. Raises EditError."""
    place, marks = _place(document, mark_id), list(document["marks"])
    mark = marks.pop(place)
    marks.insert(max(0, min(place + by, len(marks))), mark)
    return {**document, "marks": marks}


def put_landmark(document: Json, name: str, x: float, y: float) -> Json:
    """The landmark at (x, y), placed by hand."""
    return {**document, "landmarks": {**document["landmarks"], name: {"at": [x, y], "state": "placed"}}}


def drop_landmark(document: Json, name: str) -> Json:
    """Without the landmark; points that followed it stay where it was."""
    landmarks = dict(document["landmarks"])
    gone = landmarks.pop(name, None)
    if gone is None:
        return document

    def stay(point: Json) -> Json:
        return {"at": gone["at"]} if point.get("landmark") == name else point

    marks = [{**mark, "points": [stay(point) for point in mark["points"]]} for mark in document["marks"]]
    found = {**document, "landmarks": landmarks, "marks": marks}
    if scale := document.get("scale"):
        found["scale"] = {**scale, "points": [stay(point) for point in scale["points"]]}
    return found


def confirm(document: Json, name: str = "") -> Json:
    """The suggested landmark confirmed; every one without a name."""
    landmarks = {
        key: {**row, "state": "confirmed"} if row.get("state") == "suggested" and name in ("", key) else row
        for key, row in document["landmarks"].items()
    }
    return {**document, "landmarks": landmarks}


def swap_sides(document: Json) -> Json:
    """Left landmarks become right ones and the reverse; marks that follow a landmark keep its name."""
    sides = {"left": "right", "right": "left"}

    def other(name: str) -> str:
        side, under, part = name.partition("_")
        return f"{sides[side]}{under}{part}" if side in sides else name

    return {**document, "landmarks": {other(name): row for name, row in document["landmarks"].items()}}
