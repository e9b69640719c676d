"""Exact time: whole frames at a rational rate, and half-open spans of them.

Every clock in the project (a source's, an excerpt's, the piece's) counts whole frames at a
rational rate. Frame ``n`` at rate ``p/q`` starts at ``n * q / p`` seconds; 29.97 is 30000/1001.
Floats appear only where a person or an external program has to read a number.

Timecode labels follow SMPTE ST 12-1 (drop frame as described in public glossaries; the label
tables used in the tests name their source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

__all__ = [
    "Frames",
    "RateMismatch",
    "Span",
    "TimeError",
    "clock_label",
    "decimal_text",
    "exact_json",
    "frames_nearest",
    "is_drop_frame_rate",
    "parse_rational",
    "parse_timecode",
    "rational_text",
    "timecode",
]


class TimeError(ValueError):
    """A time, rate or label that cannot be."""


class RateMismatch(TimeError):
    """Two times on different clocks were mixed."""


_RATIONAL = re.compile(r"^[+-]?\d{1,18}(?:/\d{1,18}|\.\d{1,18})?$")


def parse_rational(text: str | int | Fraction) -> Fraction:
    """Read ``"1001/30"``, ``"33.5"``, ``"-2"`` or an int as an exact Fraction.

    Floats are refused on purpose: they are not exact. Raises TimeError with one sentence.
    """
    if isinstance(text, bool | float):
        raise TimeError(f"{text!r} is not an exact number: write it as a string such as '1001/30'.")
    if isinstance(text, int | Fraction):
        return Fraction(text)
    if not isinstance(text, str) or not _RATIONAL.match(text.strip()):
        raise TimeError(f"{str(text)[:40]!r} is not a rational number: write it as '12', '3.5' or '1001/30'.")
    try:
        return Fraction(text.strip())
    except ZeroDivisionError:
        raise TimeError(f"{text!r} divides by zero.") from None


def rational_text(value: Fraction) -> str:
    """``Fraction(1001, 30)`` → ``"1001/30"``; whole numbers without a slash."""
    value = Fraction(value)
    return str(value.numerator) if value.denominator == 1 else f"{value.numerator}/{value.denominator}"


def decimal_text(value: Fraction, places: int = 6) -> str:
    """The value rounded half-even to ``places`` decimals, e.g. ``"33.366667"``."""
    value = Fraction(value)
    with localcontext() as context:
        context.prec = 60
        quotient = Decimal(value.numerator) / Decimal(value.denominator)
        return str(quotient.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN))


def exact_json(value: Fraction) -> dict[str, str]:
    """How an exact number travels in JSON: ``{"exact": "1001/30", "decimal": "33.366667"}``."""
    return {"exact": rational_text(value), "decimal": decimal_text(value)}


@dataclass(frozen=True, slots=True, order=False)
class Frames:
    """A whole count of frames at an exact rate: a moment (its start) or a length.

    ``Frames(count, rate)``: ``rate`` in frames per second, > 0. Counts may be negative only as
    differences. Raises TimeError for a rate that is not positive or a count that is not whole.
    """

    count: int
    rate: Fraction

    def __post_init__(self) -> None:
        if isinstance(self.count, bool) or not isinstance(self.count, int):
            raise TimeError(f"A frame count must be a whole number, not {self.count!r}.")
        object.__setattr__(self, "rate", Fraction(self.rate))
        if self.rate <= 0:
            raise TimeError(f"A frame rate must be above zero, not {self.rate}.")

    @property
    def seconds(self) -> Fraction:
        """Exact seconds: count / rate."""
        return self.count / self.rate

    def _same_clock(self, other: Frames) -> None:
        if self.rate != other.rate:
            raise RateMismatch(
                f"Frames at {self.rate} and at {other.rate} per second can't be mixed; rescale one first."
            )

    def __add__(self, other: Frames) -> Frames:
        self._same_clock(other)
        return Frames(self.count + other.count, self.rate)

    def __sub__(self, other: Frames) -> Frames:
        self._same_clock(other)
        return Frames(self.count - other.count, self.rate)

    def __lt__(self, other: Frames) -> bool:
        self._same_clock(other)
        return self.count < other.count

    def __le__(self, other: Frames) -> bool:
        self._same_clock(other)
        return self.count <= other.count

    def nearest_at(self, rate: Fraction) -> Frames:
        """The frame of another clock nearest to this moment (ties upwards)."""
        return frames_nearest(self.seconds, rate)


def frames_nearest(seconds: Fraction, rate: Fraction) -> Frames:
    """The whole frame whose start is nearest to ``seconds`` (ties upwards). Exact.

    Example: 0.1 s at 30 fps is frame 3; 0.05 s at 30 fps (1.5 frames) is frame 2.
    """
    position = Fraction(seconds) * Fraction(rate)
    return Frames((2 * position.numerator + position.denominator) // (2 * position.denominator), rate)


@dataclass(frozen=True, slots=True)
class Span:
    """Half-open [start, end) in whole frames of one clock.

    Frames 10 to 15: ``Span(10, 15, rate)`` holds five frames, 10, 11, 12, 13, 14. Raises TimeError
    when start is negative or end is before start. An empty span (start == end) is allowed: it is
    a place.
    """

    start: int
    end: int
    rate: Fraction

    def __post_init__(self) -> None:
        start, end = Frames(self.start, self.rate), Frames(self.end, self.rate)
        object.__setattr__(self, "rate", start.rate)
        if self.start < 0:
            raise TimeError(f"A span can't start before frame 0 (got {self.start}).")
        if end.count < start.count:
            raise TimeError(
                f"The out point (frame {self.end}) lies before the in point (frame {self.start})."
            )

    @property
    def frame_count(self) -> int:
        return self.end - self.start

    @property
    def length(self) -> Frames:
        return Frames(self.end - self.start, self.rate)

    @property
    def seconds(self) -> Fraction:
        """Exact length in seconds."""
        return self.length.seconds

    @property
    def start_seconds(self) -> Fraction:
        return self.start / self.rate

    @property
    def end_seconds_exclusive(self) -> Fraction:
        return self.end / self.rate

    def contains_frame(self, frame: int) -> bool:
        return self.start <= frame < self.end

    def split_at(self, frame: int) -> tuple[Span, Span]:
        """[start, frame) and [frame, end). Raises TimeError outside the span."""
        if not self.start <= frame <= self.end:
            raise TimeError(f"Frame {frame} lies outside {self.start}–{self.end}.")
        return Span(self.start, frame, self.rate), Span(frame, self.end, self.rate)


def is_drop_frame_rate(rate: Fraction) -> bool:
    """Drop-frame labels exist for 30000/1001 and 60000/1001 only (SMPTE ST 12-1)."""
    return Fraction(rate) in (Fraction(30000, 1001), Fraction(60000, 1001))


def _nominal(rate: Fraction) -> int:
    """Labels per second: the rate rounded up to a whole number (29.97 → 30, 23.976 → 24)."""
    return -(-Fraction(rate).numerator // Fraction(rate).denominator)


def timecode(frame: int, rate: Fraction, *, drop: bool | None = None) -> str:
    """Label of a frame, ``hh:mm:ss:ff`` or, in drop frame, ``hh:mm:ss;ff``.

    ``drop=None`` takes drop frame exactly where the rate has it. Raises TimeError for a negative
    frame or for drop frame at a rate that has none. Source: SMPTE ST 12-1.
    """
    if frame < 0:
        raise TimeError(f"Frame {frame} has no timecode label: labels start at 0.")
    if drop is None:
        drop = is_drop_frame_rate(rate)
    if drop and not is_drop_frame_rate(rate):
        raise TimeError(f"There is no drop-frame timecode at {rate} frames per second.")
    base = _nominal(rate)
    label = frame
    if drop:
        skip = base // 15
        per_minute, per_ten = base * 60 - skip, base * 600 - 9 * skip
        tens, rest = divmod(frame, per_ten)
        label += 9 * skip * tens + (0 if rest < skip else skip * ((rest - skip) // per_minute))
    seconds, ff = divmod(label, base)
    minutes, ss = divmod(seconds, 60)
    hours, mm = divmod(minutes, 60)
    width = max(2, len(str(base - 1)))
    return f"{hours % 24:02d}:{mm:02d}:{ss:02d}{';' if drop else ':'}{ff:0{width}d}"


_TIMECODE = re.compile(r"^(\d{1,2}):(\d{2}):(\d{2})([:;])(\d{2,3})$")


def parse_timecode(text: str, rate: Fraction) -> int:
    """Frame number of a label. The separator before the frames tells drop (``;``) from non-drop.

    Raises TimeError for a label that does not exist, e.g. ``00:01:00;00`` at 30000/1001.
    """
    match = _TIMECODE.match(text.strip())
    if not match:
        raise TimeError(f"{text[:40]!r} is not a timecode: write it as hh:mm:ss:ff.")
    hh, mm, ss, ff = (int(match[i]) for i in (1, 2, 3, 5))
    drop, base = match[4] == ";", _nominal(rate)
    if drop and not is_drop_frame_rate(rate):
        raise TimeError(f"There is no drop-frame timecode at {rate} frames per second.")
    if hh > 23 or mm > 59 or ss > 59 or ff >= base:
        raise TimeError(f"{text!r} does not exist at {rate} frames per second.")
    frame = (hh * 3600 + mm * 60 + ss) * base + ff
    if not drop:
        return frame
    skip = base // 15
    if ss == 0 and ff < skip and mm % 10:
        raise TimeError(f"{text!r} does not exist: drop frame skips that label.")
    minutes = hh * 60 + mm
    return frame - skip * (minutes - minutes // 10)


def clock_label(seconds: Fraction, places: int = 1) -> str:
    """Minutes and seconds for people: 83.25 s → ``"1:23.3"``; hours where there are any."""
    scale = 10**places
    value = abs(Fraction(seconds)) * scale
    ticks = (2 * value.numerator + value.denominator) // (2 * value.denominator)
    whole, part = divmod(ticks, scale)
    minutes, ss = divmod(whole, 60)
    hours, mm = divmod(minutes, 60)
    head = f"{hours}:{mm:02d}:{ss:02d}" if hours else f"{mm}:{ss:02d}"
    sign = "−" if seconds < 0 and ticks else ""
    return sign + head + (f".{part:0{places}d}" if places else "")
