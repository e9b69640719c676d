"""What is drawn in a plot, the area it has, and the two strokes that everything in it is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anatomy.motion.points import Floats
from breakdowns.stills.faces import text_width

from .plot_palette import Palette

__all__ = ["Curve", "Frame", "Plot", "layout_of", "stroke", "words"]


@dataclass(frozen=True)
class Curve:
    """Values (T,) over ``across`` (T,), NaN where there is a gap; ``spread`` (T,) is one standard deviation.

    ``peak``: where a mark stands, across and value, with the standard deviation across.
    """

    label: str
    tone: int
    across: Floats
    values: Floats
    spread: Floats | None = None
    peak: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Plot:
    """Curves with their unit and what runs across; ``title`` is what a reader of the page is told instead.

    ``upright`` and ``level`` are dashed lines across and along; ``from_zero``: the values shown always reach 0.
    ``span``: what is shown across, the curves' own ends where None. ``unit_says`` stands in place of the unit.
    """

    title: str
    unit: str
    across_unit: str
    curves: tuple[Curve, ...]
    upright: float | None = None
    level: float | None = None
    from_zero: bool = False
    span: tuple[float, float] | None = None
    unit_says: str = ""


@dataclass(frozen=True)
class Frame:
    """From values to places: the area that the curves have, and the ranges shown there."""

    left: float
    top: float
    right: float
    bottom: float
    across: tuple[float, float]
    values: tuple[float, float]
    letters: float
    palette: Palette

    def x(self, value: float) -> float:
        return self.left + (value - self.across[0]) / (self.across[1] - self.across[0]) * (
            self.right - self.left
        )

    def y(self, value: float) -> float:
        return self.bottom - (value - self.values[0]) / (self.values[1] - self.values[0]) * (
            self.bottom - self.top
        )


def _range(parts: Sequence[Floats], margin: float, with_zero: bool) -> tuple[float, float]:
    flat = np.concatenate([part[np.isfinite(part)] for part in parts]) if parts else np.array([])
    low, high = (float(flat.min()), float(flat.max())) if len(flat) else (0.0, 1.0)
    if with_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    room = (high - low) * margin if high > low else 0.5
    return low - room, high + room


def layout_of(plot: Plot, size: tuple[int, int], palette: Palette) -> Frame:
    """The area and the ranges of a plot drawn at ``size``."""
    letters = max(8.0, min(size[0] / 34, size[1] / 20, 15.0))
    names = max((text_width(curve.label, letters, 600) for curve in plot.curves), default=0.0)
    # Only what lies beyond the flanks by far counts for the range: a band at an end may be wide.
    values = [curve.values for curve in plot.curves]
    across = [curve.across[np.isfinite(curve.values)] for curve in plot.curves]
    span = plot.span or _range(across, 0.0, False)
    return Frame(
        letters * 3.6, letters * 1.9, size[0] - names - letters * 1.4, size[1] - letters * 2.2,
        span, _range(values, 0.08, plot.from_zero or plot.across_unit == "Hz" or plot.unit == "°/s"), letters, palette,
    )  # fmt: skip


def stroke(data: str, colour: str, width: float, more: str = "") -> str:
    """A stroked path, or nothing for no data."""
    return (
        f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:.2f}"{more}/>' if data else ""
    )


def words(data: str, colour: str, frame: Frame) -> str:
    """Outlines over an edge of the ground, readable on any picture."""
    return (
        f'<path d="{data}" fill="{colour}" stroke="{frame.palette.ground}" stroke-width="3" stroke-linejoin="round" '
        f'paint-order="stroke"/>'
    )
