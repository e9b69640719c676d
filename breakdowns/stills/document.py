"""From JSON values to a marks document and back. Whatever is wrong is said in one sentence with how to mend it."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from fractions import Fraction
from reprlib import Repr
from typing import Any, Final

from anatomy.motion.points import LANDMARKS

from .marks import KINDS, Landmark, Mark, MarksDocument, MarksError, Point, Scale, Spot

__all__ = ["MOST_MARKS", "MOST_POINTS", "document_json", "read_document"]

VERSION: Final = 1
MOST_MARKS: Final = 200
MOST_POINTS: Final = 5_000
LONGEST_TEXT: Final = 120
FAR: Final = 5
"""Metres from the hips that no part of one body reaches; own choice, no source."""
_ID = re.compile(r"[A-Za-z0-9_-]{1,40}")
_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,9})?|[0-9]{1,9}/[0-9]{1,9}")
_STATES = ("placed", "suggested", "confirmed")
_KNOWN = frozenset(LANDMARKS)


def read_document(value: Any, size: tuple[int, int]) -> MarksDocument:
    """The document in parsed JSON, for a picture of ``size`` (width, height) source pixels. An empty object is an
    empty document. Points outside the picture are kept up to one picture's size away. Raises MarksError."""
    if not isinstance(value, dict):
        raise MarksError('The marks are no JSON object: send {"version": 1, "landmarks": {…}, "marks": […]}.')
    if value.get("version", VERSION) != VERSION:
        raise MarksError(f"The marks are of version {_short(value['version'])}; this site reads version 1.")
    bounds = _Bounds(*size)
    landmarks = _landmarks(value.get("landmarks", {}), bounds)
    marks = _marks(value.get("marks", []), bounds)
    scale = value.get("scale")
    return MarksDocument(landmarks, marks, None if scale is None else _scale(scale, bounds))


class _Bounds:
    """How far a point may lie, and how to say that it lies too far."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height

    def point(self, value: Any, where: str) -> Point:
        if not isinstance(value, list | tuple) or len(value) != 2 or not all(_is_number(c) for c in value):
            raise MarksError(
                f"{where} is {_short(value)}: give two numbers [x, y], in pixels of the picture."
            )
        x, y = float(value[0]), float(value[1])
        if not (-self.width <= x <= 2 * self.width and -self.height <= y <= 2 * self.height):
            raise MarksError(
                f"{where} lies more than a picture's size outside: the picture has {self.width} × {self.height} pixels."
            )
        return x, y


_REPR = Repr()
_REPR.maxlevel = 2


def _short(value: Any) -> str:
    text = _REPR.repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"


def _is_number(value: Any) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and abs(value) < 1e9
        and math.isfinite(value)
    )


def _landmarks(value: Any, bounds: _Bounds) -> dict[str, Landmark]:
    if not isinstance(value, dict):
        raise MarksError('The landmarks are no object: send {"left_hip": {"at": [x, y]}, …}.')
    return {name: _landmark(name, row, bounds) for name, row in value.items()}


def _landmark(name: str, row: Any, bounds: _Bounds) -> Landmark:
    if name not in _KNOWN:
        raise MarksError(
            f"There is no landmark {_short(name)}: use names such as left_hip or right_shoulder."
        )
    where = f"Landmark {name}"
    if not isinstance(row, dict) or "at" not in row:
        raise MarksError(f'{where} is {_short(row)}: give {{"at": [x, y]}}.')
    state = row.get("state", "placed")
    if state not in _STATES:
        raise MarksError(f"{where} has the state {_short(state)}: use placed, suggested or confirmed.")
    seen, depth = row.get("visibility"), row.get("depth")
    if seen is not None and not (_is_number(seen) and 0 <= seen <= 1):
        raise MarksError(f"{where} has the visibility {_short(seen)}: give a number from 0 to 1.")
    if depth is not None and not _is_number(depth):
        raise MarksError(f"{where} has the depth {_short(depth)}: give a number.")
    return Landmark(
        bounds.point(row["at"], where),
        state,
        _or_none(seen),
        _or_none(depth),
        _space(row.get("space"), where),
    )


def _space(value: Any, where: str) -> tuple[float, float, float] | None:
    if value is None:
        return None
    if not isinstance(value, list | tuple) or len(value) != 3 or not all(_is_number(c) for c in value):
        raise MarksError(f"{where} has the place in space {_short(value)}: give three numbers, in metres.")
    if not all(abs(c) <= FAR for c in value):
        raise MarksError(f"{where} lies more than {FAR} m from the hips in space: give metres.")
    return float(value[0]), float(value[1]), float(value[2])


def _or_none(value: Any) -> float | None:
    return None if value is None else float(value)


def _marks(value: Any, bounds: _Bounds) -> tuple[Mark, ...]:
    if not isinstance(value, list):
        raise MarksError("The marks are no list: send them in square brackets.")
    if len(value) > MOST_MARKS:
        raise MarksError(f"There are {len(value)} marks, at most {MOST_MARKS} fit on a still: delete some.")
    marks: list[Mark] = []
    for number, row in enumerate(value, 1):
        mark = _mark(row, f"Mark {number}", bounds)
        if any(mark.id == other.id for other in marks):
            raise MarksError(f"Mark {number} has the id {mark.id!r} of an earlier one: give it its own.")
        marks.append(mark)
    points = sum(len(mark.points) for mark in marks)
    if points > MOST_POINTS:
        raise MarksError(
            f"The marks have {points} points, at most {MOST_POINTS} are kept: draw freehand lines shorter."
        )
    return tuple(marks)


def _mark(row: Any, where: str, bounds: _Bounds) -> Mark:
    if not isinstance(row, dict):
        raise MarksError(f"{where} is {_short(row)}: give an object with its id, kind and points.")
    name, kind, points = row.get("id"), row.get("kind"), row.get("points")
    if not isinstance(name, str) or not _ID.fullmatch(name):
        raise MarksError(f"{where} has the id {_short(name)}: use up to 40 letters, digits, - and _.")
    if not isinstance(kind, str) or kind not in KINDS:
        raise MarksError(f"{where} is of the kind {_short(kind)}: use one of {', '.join(KINDS)}.")
    least, most = KINDS[kind]
    if not isinstance(points, list) or not least <= len(points) <= most:
        count = len(points) if isinstance(points, list) else 0
        wanted = str(least) if least == most else f"{least} to {most}"
        raise MarksError(f"{where} ({kind}) has {count} points: it takes {wanted}.")
    text = row.get("text", "")
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        raise MarksError(f"{where} has a text that can't be kept: write at most {LONGEST_TEXT} letters.")
    tone = row.get("tone", 1)
    if isinstance(tone, bool) or tone not in (1, 2, 3):
        raise MarksError(f"{where} has the tone {_short(tone)}: use 1, 2 or 3.")
    spots = tuple(_spot(spot, f"{where}, point {n}", bounds) for n, spot in enumerate(points, 1))
    shown, value = _truth(row, "shown", where, True), _truth(row, "value", where, False)
    return Mark(name, kind, spots, int(tone), _clean(text), shown, value)


def _clean(text: str) -> str:
    """One line, without control signs, halves of letters and what is no letter: SVG (XML 1.0) can't hold those."""
    kept = (c for c in text if c.isspace() or unicodedata.category(c) not in ("Cc", "Cs", "Cn"))
    return " ".join("".join(kept).split())


def _truth(row: Mapping[str, Any], key: str, where: str, default: bool) -> bool:
    value = row.get(key, default)
    if not isinstance(value, bool):
        raise MarksError(f'{where} has {_short(value)} as "{key}": use true or false.')
    return value


def _spot(value: Any, where: str, bounds: _Bounds) -> Spot:
    if not isinstance(value, dict) or ("at" in value) == ("landmark" in value):
        raise MarksError(f'{where} is {_short(value)}: give {{"at": [x, y]}} or {{"landmark": "left_hip"}}.')
    if "at" in value:
        return bounds.point(value["at"], where)
    name = value["landmark"]
    if not isinstance(name, str) or name not in _KNOWN:
        raise MarksError(f"{where} follows {_short(name)}, which is no landmark: use names such as left_hip.")
    return name


def _scale(value: Any, bounds: _Bounds) -> Scale:
    if not isinstance(value, dict) or not isinstance(value.get("points"), list) or len(value["points"]) != 2:
        raise MarksError(
            'The known length needs two points and a length: {"points": [P, P], "length": "1.1"}.'
        )
    first, second = (
        _spot(spot, f"The known length, point {n}", bounds) for n, spot in enumerate(value["points"], 1)
    )
    length, sd = _exact(value.get("length"), "length"), _exact(value.get("sd", "0"), "sd")
    unit = value.get("unit", "m")
    if not isinstance(unit, str) or not re.fullmatch(r"[A-Za-zµ ]{1,12}", unit):
        raise MarksError(f"The known length has the unit {_short(unit)}: use a short one such as m or cm.")
    if length <= 0:
        raise MarksError("The known length is 0: give a length above it.")
    return Scale((first, second), length, unit, sd)


def _exact(value: Any, key: str) -> Fraction:
    text = str(value) if _is_number(value) else value
    if not isinstance(text, str) or not _NUMBER.fullmatch(text.strip()):
        raise MarksError(f'The known length has {_short(value)} as "{key}": write a number such as "1.1".')
    try:
        return Fraction(text.strip())
    except ZeroDivisionError:
        raise MarksError(f'The known length has a zero divisor in "{key}": write a number.') from None


def document_json(document: MarksDocument) -> dict[str, Any]:
    """The document as JSON values; ``read_document`` gives it back equal."""
    found: dict[str, Any] = {
        "version": VERSION,
        "landmarks": {name: _landmark_json(row) for name, row in document.landmarks.items()},
        "marks": [_mark_json(mark) for mark in document.marks],
    }
    if document.scale is not None:
        scale = document.scale
        found["scale"] = {
            "points": [_spot_json(spot) for spot in scale.points],
            "length": str(scale.length),
            "unit": scale.unit,
            "sd": str(scale.sd),
        }
    return found


def _landmark_json(row: Landmark) -> dict[str, Any]:
    found: dict[str, Any] = {"at": list(row.at), "state": row.state}
    if row.visibility is not None:
        found["visibility"] = row.visibility
    if row.depth is not None:
        found["depth"] = row.depth
    if row.space is not None:
        found["space"] = list(row.space)
    return found


def _mark_json(mark: Mark) -> dict[str, Any]:
    return {
        "id": mark.id,
        "kind": mark.kind,
        "points": [_spot_json(spot) for spot in mark.points],
        "tone": mark.tone,
        "text": mark.text,
        "shown": mark.shown,
        "value": mark.value,
    }


def _spot_json(spot: Spot) -> dict[str, Any]:
    return {"landmark": spot} if isinstance(spot, str) else {"at": list(spot)}
