"""The running cursor of a plot: a line across, the moment beside it, and a dot on each curve.

It can be had as a narrow drawing of its own, on the pixel grid of the whole, so that a video draws the curve once and
only this for each frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from anatomy.motion.points import Floats
from breakdowns.stills.faces import text_path, text_width
from breakdowns.stills.readout import readout

from .plot_frame import Curve, Frame, Plot, layout_of, stroke, words
from .plot_palette import DARK, Palette

__all__ = ["Cursor", "cursor_of", "cursor_paths", "cursor_words"]


@dataclass(frozen=True)
class Cursor:
    """``svg`` covers [left, left + width) of the plot's drawing, all of its height; ``x``: where the line runs."""

    svg: str
    x: float
    left: int
    width: int
    height: int


def cursor_of(
    plot: Plot, size: tuple[int, int], at: float, says: str = "", *, palette: Palette = DARK
) -> Cursor | None:
    """The cursor at ``at`` of the plot drawn at ``size``; None where the plot doesn't reach."""
    frame = layout_of(plot, size, palette)
    paths = cursor_paths(plot, frame, at, says)
    if not paths:
        return None
    x, reach = frame.x(at), 8 + text_width(says, frame.letters, 600)
    left, right = max(0, math.floor(x - reach - 5)), min(size[0], math.ceil(x + reach + 5))
    box = f'viewBox="{left} 0 {right - left} {size[1]}" width="{right - left}" height="{size[1]}"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{paths}</svg>'
    return Cursor(svg, x, left, right - left, size[1])


def cursor_paths(plot: Plot, frame: Frame, at: float, says: str) -> str:
    """The shapes of the cursor; nothing where the plot doesn't reach."""
    if not frame.across[0] <= at <= frame.across[1]:
        return ""
    x, look = frame.x(at), frame.palette
    data = f"M{x:.1f} {frame.top - 4:.1f}V{frame.bottom:.1f}"
    parts = [stroke(data, look.case, 4), stroke(data, look.cursor, 1.6)]
    if says:
        left = x + 5 + text_width(says, frame.letters, 600) < frame.right
        where = (x + 5 if left else x - 5), frame.top + frame.letters * 0.6
        outline = text_path(says, where, frame.letters, weight=600, anchor="start" if left else "end")
        parts.append(words(outline, look.cursor, frame))
    for curve in plot.curves:
        value = _value_at(curve.across, curve.values, at)
        if math.isfinite(value):
            parts.append(
                f'<circle cx="{x:.1f}" cy="{frame.y(value):.1f}" r="4" fill="{look.tones[curve.tone][0]}" stroke="{look.case}" '
                'stroke-width="1.5"/>'
            )
    return "".join(parts)


def cursor_words(plot: Plot, at: float) -> str:
    """What stands beside the cursor: the moment, of a single curve its value with one standard deviation as well; and
    where nothing is measured, that."""
    moment = f"{at:.2f} {plot.across_unit}"
    found = [(curve, _value_at(curve.across, curve.values, at)) for curve in plot.curves]
    there = [(curve, value) for curve, value in found if math.isfinite(value)]
    if not there:
        return f"{moment}, nothing measured"
    if len(plot.curves) > 1:
        return moment
    return f"{moment}: {_told(*there[0], plot.unit, at)}"


def _told(curve: Curve, value: float, unit: str, at: float) -> str:
    spread = math.nan if curve.spread is None else _value_at(curve.across, curve.spread, at)
    said, error = readout(value, spread if math.isfinite(spread) else None, "deg" if unit == "°" else unit)
    return f"{said} {error}".strip().replace("\u00a0", " ")


def _value_at(across: Floats, values: Floats, at: float) -> float:
    """The value at a moment, NaN in a gap and beyond the ends."""
    if not len(across) or not across[0] <= at <= across[-1]:
        return math.nan
    after = int(np.searchsorted(across, at))
    if across[after] == at:
        return float(values[after])
    pair = slice(after - 1, after + 1)
    return float(np.interp(at, across[pair], values[pair])) if np.isfinite(values[pair]).all() else math.nan
