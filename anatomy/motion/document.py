"""From a JSON document to a request for measures. Whatever is wrong with it is said in one line, with how to mend it."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any, TypeGuard

from anatomy.motion.angles import Direction
from anatomy.motion.catalogue import MEASURES
from anatomy.motion.curves import AUTOMATIC, Smoothing
from anatomy.motion.lengths import Length
from anatomy.motion.points import Picture, at
from anatomy.strict_json import NotJson, read_json, short

__all__ = ["FrameRow", "MeasureError", "Request", "read_request", "request_from_json"]

Point = tuple[float, float]

_KEYS = (
    "rate", "width", "height", "pixel_aspect", "rotation", "click_sd_px", "frames", "want", "side", "filter",
    "key_frames", "lengths", "normal_ranges",
)  # fmt: skip
_RATIONAL = re.compile(r"[0-9]{1,12}(?:/[0-9]{1,12}|\.[0-9]{1,12})?")
_NAME = re.compile(r"[a-z][a-z0-9_]{0,59}")
_FARTHEST = 1e6  # pixels
_LAST_FRAME = 10**9
_LONGEST = 100_000  # frames
_FASTEST = 100_000  # frames per second


class MeasureError(ValueError):
    """What is wrong with the document, where, and how to mend it: one sentence."""


@dataclass(frozen=True)
class FrameRow:
    """One marked frame: pixels by landmark. What is not marked is not there."""

    frame: int
    points: Mapping[str, Point]


@dataclass(frozen=True)
class Request:
    """``want`` None: every measure whose landmarks are there. ``size`` None where the picture's size is not given."""

    rate: Fraction
    size: tuple[int, int] | None
    picture: Picture
    click_sd_px: float
    frames: tuple[FrameRow, ...]
    want: tuple[str, ...] | None
    side: str
    smoothing: Smoothing
    key_frames: tuple[int, ...]
    lengths: Mapping[str, Length]
    normal_ranges: bool
    ignored: tuple[str, ...]


def read_request(text: str) -> Request:
    """The request in a JSON text. Raises MeasureError."""
    try:
        document = read_json(text)
    except NotJson as fault:
        raise MeasureError(str(fault)) from None
    return request_from_json(document)


def request_from_json(document: Any) -> Request:
    """The request in a parsed document. Raises MeasureError."""
    if not isinstance(document, dict):
        raise MeasureError('The document is no object: give {"rate": …, "frames": […], "want": […]}.')
    rate = _rate(document)
    frames = _frames(document)
    request = Request(
        rate,
        _size(document),
        Picture(_aspect(document), _number(document, "rotation", 0.0, -360, 360)),
        _number(document, "click_sd_px", 1.5, 0, 10_000),
        frames,
        _want(document),
        _one_of(document, "side", ("right", "left")),
        _smoothing(document),
        _key_frames(document, frames),
        _lengths(document),
        _truth_value(document, "normal_ranges"),
        tuple(sorted(short(key) for key in document if key not in _KEYS)),
    )
    _check_cutoff(request)
    return request


def _is_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) <= 1e15 and math.isfinite(value)


def _is_whole(value: Any, least: float = 0, most: float = 10**12) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most


def _number(document: Mapping[str, Any], key: str, default: float, least: float, most: float) -> float:
    value = document.get(key, default)
    if not _is_number(value) or not least <= value <= most:
        raise MeasureError(f'"{key}" is {short(value)}: write a number from {least:g} to {most:g}.')
    return float(value)


def _truth_value(document: Mapping[str, Any], key: str) -> bool:
    value = document.get(key, False)
    if not isinstance(value, bool):
        raise MeasureError(f'"{key}" is {short(value)}: write true or false.')
    return value


def _one_of(document: Mapping[str, Any], key: str, choices: tuple[str, ...]) -> str:
    value = document.get(key, choices[0])
    if value not in choices:
        raise MeasureError(f'"{key}" is {short(value)}: write "{choices[0]}" or "{choices[1]}".')
    return str(value)


def _rational(value: Any, key: str, example: str, most: int) -> Fraction:
    """A positive exact number from a string, a number as written, or {"num", "den"}."""
    fault = MeasureError(f'"{key}" is {short(value)}: write it as a string such as {example}.')
    if isinstance(value, dict):
        num, den = value.get("num"), value.get("den", 1)
        if not _is_whole(num, 1) or not _is_whole(den, 1):
            raise fault
        found = Fraction(num, den)
    else:
        text = str(value) if _is_number(value) else value
        if not isinstance(text, str) or not _RATIONAL.fullmatch(text.strip()):
            raise fault
        try:
            found = Fraction(text.strip())
        except ZeroDivisionError:
            raise fault from None
    if not Fraction(1, 1000) <= found <= most:
        raise fault
    return found


def _rate(document: Mapping[str, Any]) -> Fraction:
    if "rate" not in document:
        raise MeasureError('"rate" is missing: give the frames per second, such as "30000/1001".')
    return _rational(document["rate"], "rate", '"50" or "30000/1001"', _FASTEST)


def _aspect(document: Mapping[str, Any]) -> float:
    aspect = _rational(document.get("pixel_aspect", "1"), "pixel_aspect", '"1" or "16/15"', 100)
    if aspect < Fraction(1, 100):
        raise MeasureError(
            '"pixel_aspect" is below 1/100: write the width of a pixel over its height, such as "16/15".'
        )
    return float(aspect)


def _size(document: Mapping[str, Any]) -> tuple[int, int] | None:
    width, height = document.get("width"), document.get("height")
    if width is None and height is None:
        return None
    if not _is_whole(width, 1, _FARTHEST):
        raise MeasureError(f'"width" is {short(width)}: write the width of the picture in whole pixels.')
    if not _is_whole(height, 1, _FARTHEST):
        raise MeasureError(f'"height" is {short(height)}: write the height of the picture in whole pixels.')
    return width, height


def _list(value: Any, key: str) -> list[Any]:
    if not isinstance(value, list):
        raise MeasureError(f'"{key}" is {short(value)}: write a list in square brackets.')
    return value


def _frames(document: Mapping[str, Any]) -> tuple[FrameRow, ...]:
    rows = _list(document.get("frames"), "frames")
    if not rows:
        raise MeasureError('"frames" is empty: give at least one frame with its points.')
    frames = tuple(_frame(row, place) for place, row in enumerate(rows))
    numbers = [row.frame for row in frames]
    if len(set(numbers)) < len(numbers):
        seen: set[int] = set()
        twice = next(n for n in numbers if n in seen or seen.add(n))  # type: ignore[func-returns-value]
        raise MeasureError(f"Frame {twice} stands twice in “frames”: put its points into one entry.")
    if max(numbers) - min(numbers) >= _LONGEST:
        raise MeasureError(
            f"The frames span more than {_LONGEST} frames: measure shorter excerpts one by one."
        )
    return frames


def _frame(row: Any, place: int) -> FrameRow:
    where = f"Entry {place} of “frames”"
    if not isinstance(row, dict):
        raise MeasureError(f'{where} is {short(row)}: write {{"frame": 12, "points": {{…}}}}.')
    frame, points = row.get("frame"), row.get("points")
    if not _is_whole(frame, 0, _LAST_FRAME):
        raise MeasureError(f'{where} has {short(frame)} as "frame": write a whole number from 0.')
    if not isinstance(points, dict):
        raise MeasureError(f'{where} has {short(points)} as "points": write {{"left_hip": [x, y], …}}.')
    found = {}
    for name, point in points.items():
        if not _NAME.fullmatch(name):
            raise MeasureError(f"{where} names a point {short(name)}: write a name such as left_hip.")
        if point is not None:
            found[name] = _point(point, f"Point {name} of frame {frame}")
    return FrameRow(frame, found)


def _point(point: Any, where: str) -> Point:
    if not isinstance(point, list) or len(point) != 2 or not all(_is_number(c) for c in point):
        raise MeasureError(
            f"{where} is {short(point)}: write two numbers [x, y], or null where it is not seen."
        )
    if any(abs(c) > _FARTHEST for c in point):
        raise MeasureError(
            f"{where} lies more than {_FARTHEST:g} pixels away: write it in pixels of the picture."
        )
    return float(point[0]), float(point[1])


def _known(name: Any, names: Iterable[str], key: str) -> str:
    if not isinstance(name, str) or name not in names:
        near = difflib.get_close_matches(name[:60], names, n=1) if isinstance(name, str) else []
        mend = f"did you mean {near[0]}?" if near else f"write names such as {', '.join(list(names)[:2])}."
        raise MeasureError(f"“{key}” asks for {short(name)}, which is no measure: {mend}")
    return name


def _want(document: Mapping[str, Any]) -> tuple[str, ...] | None:
    if document.get("want") is None:
        return None
    names = (_known(name, MEASURES, "want") for name in _list(document["want"], "want"))
    return tuple(dict.fromkeys(names))


def _smoothing(document: Mapping[str, Any]) -> Smoothing:
    if "filter" not in document:
        return AUTOMATIC
    asked = document["filter"]
    if asked is None:
        return Smoothing("none")
    if not isinstance(asked, dict) or set(asked) != {"cutoff_hz"}:
        raise MeasureError(
            f'"filter" is {short(asked)}: write {{"cutoff_hz": 12}}, or {{"cutoff_hz": null}} for none.'
        )
    if asked["cutoff_hz"] is None:
        return Smoothing("none")
    return Smoothing("given", _number(asked, "cutoff_hz", 0.0, 0.01, _FASTEST))


def _check_cutoff(request: Request) -> None:
    cutoff = request.smoothing.cutoff_hz
    numbers = sorted(row.frame for row in request.frames)
    if cutoff is None or len(numbers) < 3:
        return
    step = math.gcd(*(b - a for a, b in pairwise(numbers)))
    half = float(request.rate / step) / 2
    if cutoff >= half:
        raise MeasureError(
            f'"cutoff_hz" is {cutoff:g}: it must lie below half the rate of the marked frames, {half:g} Hz.'
        )
    if cutoff < half / 1000:
        raise MeasureError(f'"cutoff_hz" is {cutoff:g}: it must be at least {half / 1000:g} Hz at this rate.')


def _key_frames(document: Mapping[str, Any], frames: tuple[FrameRow, ...]) -> tuple[int, ...]:
    marked = {row.frame for row in frames}
    keys = _list(document.get("key_frames", []), "key_frames")
    for key in keys:
        if not _is_whole(key) or key not in marked:
            raise MeasureError(
                f"“key_frames” names {short(key)}, which is no marked frame: name frames of “frames”."
            )
    return tuple(sorted(set(keys)))


def _lengths(document: Mapping[str, Any]) -> dict[str, Length]:
    found: dict[str, Length] = {}
    for place, row in enumerate(_list(document.get("lengths", []), "lengths")):
        where = f"Entry {place} of “lengths”"
        name = row.get("name") if isinstance(row, dict) else None
        if not isinstance(name, str) or not _NAME.fullmatch(name) or name in MEASURES or name in found:
            raise MeasureError(f'{where} needs a "name" of its own in small letters, such as "step_length".')
        found[name] = _length(row, where)
    return found


def _length(row: Mapping[str, Any], where: str) -> Length:
    between, of = _line(row.get("between"), "between", where), row.get("of")
    if of is None:
        if "known" in row:
            raise MeasureError(f'{where} has a "known" length of nothing: name its two landmarks under "of".')
        return Length(between)
    whole = _line(of, "of", where)
    if "known" not in row:
        return Length(between, whole, unit="share")
    return Length(
        between,
        whole,
        _number(row, "known", 0.0, 1e-6, 1e6),
        _number(row, "known_sd", 0.0, 0, 1e6),
        _unit(row.get("unit"), where),
    )


def _unit(unit: Any, where: str) -> str:
    if not isinstance(unit, str) or not re.fullmatch(r"[a-z]{1,12}", unit):
        raise MeasureError(f'{where} needs the "unit" of its known length, such as "m".')
    return unit


def _is_name(value: Any) -> bool:
    return isinstance(value, str) and _NAME.fullmatch(value) is not None


def _line(pair: Any, key: str, where: str) -> Direction:
    if (
        not isinstance(pair, list)
        or len(pair) != 2
        or not all(_is_name(name) for name in pair)
        or pair[0] == pair[1]
    ):
        raise MeasureError(
            f'{where} has {short(pair)} as "{key}": write two different landmarks, ["left_hip", "left_knee"].'
        )
    return Direction(at(pair[0]), at(pair[1]))
