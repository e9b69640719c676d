"""What the words of a beat say about the picture, as values with their places. Imports no Django."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "Amount",
    "AngleSaid",
    "Noun",
    "OrderSaid",
    "Quantity",
    "RatioSaid",
    "Reading",
    "Said",
    "Scale",
    "SpeedSaid",
]

Quantity = Literal["deg", "deg_s", "ms", "frames", "ratio", "plain"]
Scale = Literal["size", "supplement", "complement", "line", "below", "above"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as it is meant: from ``low`` to ``high`` (infinite where only one end is told), ``value`` as named.

    [start, end) holds hedge, number and unit; [number_start, number_end) the number alone. ``figures``: written in
    digits; ``joined``: part of a compound such as "90-degree".
    """

    quantity: Quantity
    low: float
    high: float
    value: float
    start: int
    end: int
    number_start: int
    number_end: int
    figures: bool = False
    joined: bool = False
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A measure that may be meant ("{side}_knee_flexion") and the scale on which the words count it."""

    measure: str
    scale: Scale


@dataclass(frozen=True, slots=True)
class AngleSaid:
    """An angle at characters [start, end): it fits when one of its readings lies between ``low`` and ``high`` degrees.

    ``part`` names what has it. ``both``: said of both sides. ``role``: a side told by its task ("front", "throwing").
    ``amount`` is None for a posture; then ``instead`` says how the words go on ("bent by {about}"), "" where they can't.
    """

    start: int
    end: int
    part: str
    side: str
    readings: tuple[Reading, ...]
    low: float
    high: float
    amount: Amount | None = None
    instead: str = ""
    both: bool = False
    role: str = ""


@dataclass(frozen=True, slots=True)
class Noun:
    """A segment as it is named at characters [start, end): any of ``segments`` may be meant."""

    start: int
    end: int
    text: str
    segments: tuple[str, ...]
    side: str = ""


@dataclass(frozen=True, slots=True)
class OrderSaid:
    """Segments in the order in which the words put them, at characters [start, end).

    ``line`` has the nouns as they stand in the text. ``leads``: of one alone, it goes before all others. ``together``: at
    once; then [start, end) is the word for it. ``lag`` is the time between the first two.
    """

    start: int
    end: int
    kind: Literal["before", "together", "leads"]
    nouns: tuple[Noun, ...]
    line: tuple[Noun, ...] = ()
    lag: Amount | None = None


@dataclass(frozen=True, slots=True)
class SpeedSaid:
    """How fast a segment turns, degrees a second. ``moment``: at one moment, which need not be that of its peak."""

    noun: Noun
    amount: Amount
    moment: bool = False


@dataclass(frozen=True, slots=True)
class RatioSaid:
    """How fast one segment turns against another, as a factor from ``low`` to ``high``, at characters [start, end)."""

    start: int
    end: int
    first: Noun
    second: Noun
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Said:
    """Everything that a text says about its picture."""

    angles: tuple[AngleSaid, ...] = ()
    orders: tuple[OrderSaid, ...] = ()
    speeds: tuple[SpeedSaid, ...] = ()
    ratios: tuple[RatioSaid, ...] = ()
