"""When each mark of a still comes on and how much of it is drawn on an output frame. Imports no Django."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

__all__ = ["GROWTH", "in_turn", "reveal_at", "within"]

GROWTH: Final = Fraction(3, 5)  # seconds in which a mark is drawn; common practice, no source
_PART: Final = Fraction(3, 5)  # of the time on screen over which marks in turn are spread


def in_turn(count: int, seconds: Fraction) -> tuple[Fraction, ...]:
    """The starts of ``count`` marks, one after another over the first part of ``seconds`` on screen."""
    return within([_PART * seconds * number / count for number in range(count)], seconds)


def within(starts: Sequence[Fraction], seconds: Fraction) -> tuple[Fraction, ...]:
    """The starts, each early enough to be drawn whole in ``seconds`` where there is time, and never below 0."""
    last = max(Fraction(0), seconds - GROWTH)
    return tuple(min(max(Fraction(0), start), last) for start in starts)


def reveal_at(starts: Sequence[Fraction], frame: int, rate: Fraction) -> tuple[Fraction, ...]:
    """How much of each mark, 0 to 1, is drawn on output frame ``frame`` after it began to stand."""
    return tuple(min(Fraction(1), max(Fraction(0), (frame / rate - start) / GROWTH)) for start in starts)
