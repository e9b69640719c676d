"""A moment as a person types it: a frame number, a timecode or seconds."""

from __future__ import annotations

import re
from fractions import Fraction

from .timebase import TimeError, parse_rational, parse_timecode

__all__ = ["read_moment", "read_span"]

_FRAME = re.compile(r"^\d{1,9}$", re.ASCII)
_SECONDS = re.compile(r"^(\d{1,7}(?:[.,]\d{1,9})?)\s*s$", re.ASCII)


def read_moment(text: str, rate: Fraction) -> int:
    """The frame meant by ``"1234"``, ``"00:00:41:04"`` or ``"41.2 s"`` (the frame shown at that time).

    ``rate`` in frames per second. Raises TimeError with one sentence.
    """
    text = text.strip()
    if _FRAME.match(text):
        return int(text)
    if seconds := _SECONDS.match(text):
        return int(parse_rational(seconds[1].replace(",", ".")) * rate)
    if ":" in text:
        return parse_timecode(text, rate)
    raise TimeError(
        f"{text[:40]!r} is no moment: write a frame number, a timecode (hh:mm:ss:ff) or seconds with an s."
    )


def read_span(start: int, end: int, frame_count: int) -> None:
    """Raises TimeError with one sentence unless [start, end) holds a frame and lies in the footage."""
    if start >= end:
        raise TimeError(
            f"The out point (frame {end}) must come after the in point (frame {start}); move one of them."
        )
    if end > frame_count:
        raise TimeError(
            f"The out point (frame {end}) lies past the end: the footage has {frame_count} frames, "
            f"so the out point is {frame_count} at most."
        )
