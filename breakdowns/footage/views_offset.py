"""Two views of one event, tied by the frame that shows the same instant in each. Exact."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from .timebase import Frames, frames_nearest

__all__ = ["TiedView", "frame_beside", "offset_seconds"]


@dataclass(frozen=True, slots=True)
class TiedView:
    """One view's clock: ``rate`` frames per second, and ``sync_frame``, which starts at the common instant."""

    sync_frame: int
    rate: Fraction

    @property
    def instant(self) -> Fraction:
        """The common instant on this view's own clock, exact seconds."""
        return Frames(self.sync_frame, self.rate).seconds


def offset_seconds(view: TiedView, other: TiedView) -> Fraction:
    """Seconds to add to a time on ``view`` to get the time of the same instant on ``other``."""
    return other.instant - view.instant


def frame_beside(frame: int, view: TiedView, other: TiedView) -> int:
    """The frame of ``other`` nearest in time to ``frame`` of ``view`` (ties upwards).

    May be negative or past the end: then ``other`` has no picture of that instant. Example: frame 30 at
    30 fps tied at 0 to frame 5 at 25 fps stands beside frame 30.
    """
    return frames_nearest(frame / view.rate + offset_seconds(view, other), other.rate).count
