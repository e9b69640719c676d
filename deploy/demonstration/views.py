"""The two views of the event: their cameras, their clocks and how these stand to the event's own clock."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np

from breakdowns.footage.timebase import Frames, frames_nearest

from .axes import Floats
from .camera import Camera
from .motion import data_rows

__all__ = ["View", "demonstration_views", "view_offset"]


@dataclass(frozen=True)
class View:
    """A camera with ``frame_count`` frames at an exact ``rate``; frame 0 shows the event at ``start`` seconds."""

    camera: Camera
    rate: Fraction
    frame_count: int
    start: Fraction

    @property
    def name(self) -> str:
        return self.camera.name

    def event_seconds(self, frame: int) -> Fraction:
        """Exact event time of a frame."""
        return self.start + frame / self.rate

    def event_times(self) -> Floats:
        """(T,) event seconds of every frame, as floats for drawing."""
        return np.array([float(self.event_seconds(n)) for n in range(self.frame_count)])

    def frame_at(self, event_seconds: Fraction) -> Frames:
        """The frame of this view nearest to a moment of the event."""
        return frames_nearest(event_seconds - self.start, self.rate)

    def reduced(self, factor: float, start: Fraction, frame_count: int) -> View:
        """A smaller, shorter view for trials: scaled by ``factor``, from ``start`` (event seconds)."""
        return replace(self, camera=self.camera.scaled(factor), start=start, frame_count=frame_count)


def _numbers(row: dict[str, str], *names: str) -> tuple[float, ...]:
    return tuple(float(row[name]) for name in names)


@cache
def demonstration_views() -> dict[str, View]:
    """The views by name, from ``data/views.csv``."""
    views = {}
    for row in data_rows("views.csv"):
        place, target, up = (
            _numbers(row, *names)
            for names in (("x", "y", "z"), ("to_x", "to_y", "to_z"), ("up_x", "up_y", "up_z"))
        )
        size = int(row["width"]), int(row["height"])
        camera = Camera(row["view"], place, target, up, float(row["focal"]), size)  # type: ignore[arg-type]
        views[row["view"]] = View(camera, Fraction(row["rate"]), int(row["frames"]), Fraction(row["start"]))
    return views


def view_offset(one: View, other: View) -> Fraction:
    """Exact seconds by which ``other`` starts later than ``one``: time in one = time in other + offset."""
    return other.start - one.start
