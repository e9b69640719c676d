"""Where each view of a plan stands on the piece's clock.

Segments follow each other without a gap from 0. A view moves first and then stands still; beside a
longer view it stands still until the segment ends, and that rest is hold time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from .intervals import Interval
from .plan import ExcerptSegment, Plan, View

__all__ = ["Layout", "Role", "Showing", "lay_out"]

Role = Literal["main", "beside"]


@dataclass(frozen=True, slots=True)
class Showing:
    """One view on screen during [start, end) of the piece, moving until ``moving_end``. Seconds."""

    segment: int
    role: Role
    view: View
    start: Fraction
    moving_end: Fraction
    end: Fraction

    @property
    def moving(self) -> Fraction:
        return self.moving_end - self.start

    @property
    def hold(self) -> Fraction:
        """Screen seconds standing still, the rest beside a longer view included."""
        return self.end - self.moving_end

    @property
    def seconds(self) -> Fraction:
        return self.end - self.start

    @property
    def held_moment(self) -> Fraction:
        """The source moment that stands still: where the movement arrives."""
        return self.view.start if self.view.reverse else self.view.end


@dataclass(frozen=True)
class Layout:
    """All showings in order, each segment's place, and the piece's length in seconds.

    A zero-length excerpt without a hold is nothing and has no showing.
    """

    showings: tuple[Showing, ...]
    places: tuple[Interval, ...]
    duration: Fraction


def lay_out(plan: Plan) -> Layout:
    """Place the segments one after another."""
    showings: list[Showing] = []
    places: list[Interval] = []
    at = Fraction(0)
    for number, segment in enumerate(plan.segments):
        end = at + segment.duration
        places.append((at, end))
        if isinstance(segment, ExcerptSegment) and end > at:
            showings.extend(_showings(number, segment, at, end))
        at = end
    return Layout(tuple(showings), tuple(places), at)


def _showings(number: int, segment: ExcerptSegment, start: Fraction, end: Fraction) -> Iterator[Showing]:
    roles: tuple[Role, ...] = ("main", "beside")
    for role, view in zip(roles, segment.views, strict=False):
        yield Showing(number, role, view, start, start + view.moving, end)
