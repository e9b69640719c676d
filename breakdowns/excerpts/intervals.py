"""Exact sets of half-open intervals [start, end) in Fraction seconds of one clock.

Normal form is made once, in the constructor: sorted, disjoint, touching intervals joined, empty
ones left out. Everything else may rely on it. Nothing is rounded.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Interval", "IntervalSet"]

Interval = tuple[Fraction, Fraction]

_ZERO = Fraction(0)


def _normal_form(pairs: Iterable[Interval]) -> tuple[Interval, ...]:
    joined: list[Interval] = []
    for start, end in sorted(pairs):
        if start > end:
            raise ValueError(f"The interval [{start}, {end}) ends before it starts.")
        if start == end:
            continue
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


@dataclass(frozen=True, init=False, slots=True)
class IntervalSet:
    """A set of moments of one clock, in seconds.

    ``IntervalSet([(1, 3), (3, 4), (9, 9)])`` holds one interval, [1, 4). Raises ValueError for an
    interval that ends before it starts.
    """

    intervals: tuple[Interval, ...]

    def __init__(self, pairs: Iterable[Interval] = ()) -> None:
        object.__setattr__(self, "intervals", _normal_form(pairs))

    @classmethod
    def _of_normal(cls, intervals: Iterable[Interval]) -> IntervalSet:
        made = object.__new__(cls)
        object.__setattr__(made, "intervals", tuple(intervals))
        return made

    def __iter__(self) -> Iterator[Interval]:
        return iter(self.intervals)

    def __len__(self) -> int:
        """How many separate stretches."""
        return len(self.intervals)

    def __bool__(self) -> bool:
        return bool(self.intervals)

    @property
    def measure(self) -> Fraction:
        """Seconds in the set."""
        return sum((end - start for start, end in self.intervals), _ZERO)

    @property
    def longest(self) -> Fraction:
        """Seconds of the longest stretch; 0 for the empty set."""
        return max((end - start for start, end in self.intervals), default=_ZERO)

    def __or__(self, other: IntervalSet) -> IntervalSet:
        return IntervalSet((*self.intervals, *other.intervals))

    def __and__(self, other: IntervalSet) -> IntervalSet:
        return IntervalSet._of_normal(_overlaps(self.intervals, other.intervals))

    def __sub__(self, other: IntervalSet) -> IntervalSet:
        return IntervalSet._of_normal(_left_over(self.intervals, other.intervals))

    def gaps(self) -> IntervalSet:
        """What lies between the stretches (not before the first, not after the last)."""
        return IntervalSet._of_normal(
            (before[1], after[0]) for before, after in zip(self.intervals, self.intervals[1:], strict=False)
        )

    def within(self, start: Fraction, end: Fraction) -> IntervalSet:
        """The part inside [start, end)."""
        return self & IntervalSet([(start, end)]) if start < end else IntervalSet()

    def closure_contains(self, moment: Fraction) -> bool:
        """Whether the moment lies in the closed set, both ends of every stretch included."""
        at = bisect_right(self.intervals, moment, key=lambda interval: interval[0])
        return at > 0 and moment <= self.intervals[at - 1][1]


def _overlaps(left: tuple[Interval, ...], right: tuple[Interval, ...]) -> Iterator[Interval]:
    i = j = 0
    while i < len(left) and j < len(right):
        start, end = max(left[i][0], right[j][0]), min(left[i][1], right[j][1])
        if start < end:
            yield start, end
        if left[i][1] <= right[j][1]:
            i += 1
        else:
            j += 1


def _left_over(left: tuple[Interval, ...], right: tuple[Interval, ...]) -> Iterator[Interval]:
    j = 0
    for start, end in left:
        while j < len(right) and right[j][1] <= start:
            j += 1
        at, k = start, j
        while k < len(right) and right[k][0] < end:
            if at < right[k][0]:
                yield at, right[k][0]
            at = max(at, right[k][1])
            k += 1
        if at < end:
            yield at, end
