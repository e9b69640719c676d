"""Landmarks over frames as data: reading what came from outside, and the bounds of a track.

A point is ``[x, y, state]``, suggested ones may carry how sure the model was as a fourth value. x and y are pixels of
the source as shown upright, before the pixel aspect, y down. What was not marked is not there.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from anatomy.motion.points import LANDMARKS

from .choices import choice

__all__ = [
    "STATES", "Points", "Span", "TrackError", "other_side", "outside", "read_frames", "read_name", "read_point",
    "read_span", "walk",
]  # fmt: skip

STATES = ("placed", "suggested", "confirmed")
Point = list[Any]
Points = dict[str, dict[str, Point]]

_WALKS = {
    "arm": ("left_hip", "right_hip", "left_shoulder", "right_shoulder", "{side}_elbow", "{side}_wrist"),
    "leg": ("left_hip", "right_hip", "{side}_knee", "{side}_ankle", "{side}_heel", "{side}_foot_index"),
}


class TrackError(ValueError):
    """What is wrong, where, and how to mend it: one sentence."""


@dataclass(frozen=True)
class Span:
    """Frames [start, end) of a source, and the size of its picture in source pixels, upright."""

    start: int
    end: int
    size: tuple[int, int]

    def __contains__(self, frame: int) -> bool:
        return self.start <= frame < self.end


def walk(chain: str, side: str) -> tuple[str, ...]:
    """The landmarks that a chain's segments need, in the order in which they are placed."""
    return tuple(name.format(side=side) for name in _WALKS[chain])


def other_side(name: str) -> str:
    """``left_hip`` for ``right_hip`` and the reverse; the nose stays the nose."""
    side, under, part = name.partition("_")
    swapped = {"left": "right", "right": "left"}.get(side)
    return f"{swapped}{under}{part}" if swapped else name


def read_span(start: int, end: int, frame_count: int) -> None:
    """Raises TrackError unless [start, end) holds a frame, lies in the footage and is not too long."""
    most = choice("longest_track")
    if not 0 <= start < end:
        raise TrackError(
            f"The out point (frame {end}) must come after the in point (frame {start}): move one of them."
        )
    if end > frame_count:
        raise TrackError(
            f"The out point (frame {end}) lies past the end: the footage has {frame_count} frames."
        )
    if end - start > most:
        raise TrackError(
            f"These are {end - start} frames and a track may have {most}: take the part in which the movement happens."
        )


def read_name(name: Any, where: str) -> str:
    """A landmark's name. Raises TrackError."""
    if isinstance(name, str) and name in LANDMARKS:
        return name
    near = difflib.get_close_matches(name[:60], LANDMARKS, n=1) if isinstance(name, str) else []
    mend = f"did you mean {near[0]}?" if near else "write a name such as left_hip."
    raise TrackError(f"{where} names {_short(name)}, which is no landmark: {mend}")


def _short(value: Any) -> str:
    text = str(value) if isinstance(value, str | int | float) or value is None else type(value).__name__
    return repr(text if len(text) <= 40 else text[:37] + "…")


def _coordinate(value: Any, across: int, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise TrackError(f"{where} has {_short(value)} as a coordinate: write a finite number of pixels.")
    if not -across <= value <= 2 * across:
        raise TrackError(
            f"{where} lies at {value:g}, more than one picture outside: write it in pixels of the footage."
        )
    return round(float(value), 3) + 0.0


def read_point(value: Any, size: tuple[int, int], where: str, state: str = "placed") -> Point:
    """``[x, y]``, ``[x, y, state]`` or ``[x, y, state, visibility]`` as it is stored. Raises TrackError."""
    if not isinstance(value, list | tuple) or not 2 <= len(value) <= 4:
        raise TrackError(f"{where} is no point: write [x, y], or leave it out where it is not seen.")
    x, y = (_coordinate(one, across, where) for one, across in zip(value[:2], size, strict=True))
    state = value[2] if len(value) > 2 else state
    if state not in STATES:
        raise TrackError(f"{where} has the state {_short(state)}: write placed, suggested or confirmed.")
    if len(value) < 4 or value[3] is None or state != "suggested":
        return [x, y, state]
    seen = value[3]
    if isinstance(seen, bool) or not isinstance(seen, int | float) or not 0 <= seen <= 1:
        raise TrackError(f"{where} has {_short(seen)} as its visibility: write a share from 0 to 1.")
    return [x, y, state, round(float(seen), 3)]


def read_frame(value: Any, span: Span, where: str) -> int:
    """A frame of the span. Raises TrackError."""
    text = str(value)
    if isinstance(value, bool) or not text.isascii() or not text.isdigit() or len(text) > 9:
        raise TrackError(f"{where} has {_short(value)} as its frame: write a whole number from 0.")
    if int(text) not in span:
        raise TrackError(
            f"{where} is frame {text}, which is not in this track: its frames are {span.start} to {span.end - 1}."
        )
    return int(text)


def read_frames(
    value: Any, span: Span, state: str = "placed", *, forget: bool = False
) -> dict[str, dict[str, Any]]:
    """Points by frame by landmark out of JSON values. ``forget``: null takes a point away. Raises TrackError."""
    if not isinstance(value, Mapping):
        raise TrackError("The points are no object: write the frames with their landmarks.")
    found: dict[str, dict[str, Any]] = {}
    for key, row in value.items():
        frame = read_frame(key, span, "An entry")
        if not isinstance(row, Mapping):
            raise TrackError(f"Frame {frame} holds no landmarks: write an object with their names.")
        cells = found.setdefault(str(frame), {})
        for name, point in row.items():
            read_name(name, f"Frame {frame}")
            if point is not None:
                cells[name] = read_point(point, span.size, f"{name} of frame {frame}", state)
            elif forget:
                cells[name] = None
    return found


def outside(points: Mapping[str, Mapping[str, Point]], size: tuple[int, int]) -> list[tuple[int, str]]:
    """Frame and landmark of what lies outside the picture; kept, and told of."""
    return sorted(
        (int(frame), name)
        for frame, row in points.items()
        for name, (x, y, *_) in row.items()
        if not (0 <= x <= size[0] and 0 <= y <= size[1])
    )


def counted(points: Mapping[str, Mapping[str, Point]], states: Iterable[str] = STATES) -> int:
    """How many points have one of these states."""
    wanted = set(states)
    return sum(point[2] in wanted for row in points.values() for point in row.values())
