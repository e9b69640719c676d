"""Curves over time as SVG: on the page, and on the picture of a video with a running cursor.

One routine draws both. The SVG has only path, circle, g and title elements, with words as outlines, so a browser and a
rasteriser show the same. Gaps stay gaps, the band is one standard deviation to either side, and each curve is told by
its dashes and by a name of its own beside it, never by its colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from html import escape

import numpy as np

from anatomy.motion.cutoff import ResidualAnalysis
from anatomy.motion.points import Floats
from anatomy.motion.sequence import Peak
from anatomy.motion.tracks import stretches
from breakdowns.stills.faces import text_path

from .plot_cursor import cursor_paths
from .plot_frame import Curve, Frame, Plot, layout_of, stroke, words
from .plot_palette import DARK, Palette
from .reckoning import CHAINS, Reckoned, segment_words

__all__ = ["Curve", "Plot", "angle_plot", "plot_svg", "residual_plot", "speed_plot"]

_TONE_OF = {"trunk": 0, "pelvis": 1, "upper_arm": 2, "forearm": 3, "thigh": 0, "shank": 2, "foot": 3}


def _seconds(done: Reckoned) -> Floats:
    grid = done.grid
    assert grid is not None
    return (grid.first + grid.step * np.arange(grid.count)) / float(grid.rate)


def _curves(done: Reckoned, which: int) -> tuple[Curve, ...]:
    peaks = {peak.segment: peak for peak in done.peaks}
    found = []
    for segment in CHAINS[done.facts.chain]:
        if (curve := done.curves.get(segment)) is not None:
            values = curve.velocity if which else _turns_met(curve.degrees)
            mark = _mark(peaks.get(segment)) if which else None
            spread = done.spreads[segment][which]
            found.append(
                Curve(segment_words(segment), _TONE_OF[segment], _seconds(done), values, spread, mark)
            )
    return tuple(found)


def _turns_met(degrees: Floats) -> Floats:
    """Each stretch moved by whole turns to where it is nearest to the end of the one before; how often a line turned
    within a gap nobody knows."""
    found, last = degrees.copy(), None
    for start, end in stretches(degrees):
        if last is not None:
            found[start:end] -= 360 * np.round((degrees[start] - last) / 360)
        last = float(found[end - 1])
    return found


def _mark(peak: Peak | None) -> tuple[float, float, float] | None:
    return (peak.time_s, peak.deg_per_s, peak.sd_s) if peak else None


def speed_plot(done: Reckoned) -> Plot:
    """Angular velocity of each segment over the seconds of the source, peaks marked."""
    said = "; ".join(
        f"{segment_words(p.segment)} fastest at {p.time_s:.3f} s with {abs(p.deg_per_s):.0f} degrees per second"
        for p in done.peaks
    )
    return Plot(f"Angular velocity. {said or 'No peak can be told'}.", "°/s", "s", _curves(done, 1))


def angle_plot(done: Reckoned) -> Plot:
    """Angle of each segment's line over the seconds of the source."""
    curves = _curves(done, 0)
    said = ", ".join(curve.label for curve in curves)
    return Plot(f"Angle in the picture over time: {said or 'nothing is marked'}.", "°", "s", curves)


def residual_plot(segment: str, analysis: ResidualAnalysis) -> Plot:
    """What each cut-off takes away, the noise and the cut-off that was chosen (Winter 2009, section 3.5.4.3)."""
    label = segment_words(segment)
    title = f"{label}: residual against cut-off; {analysis.cutoff_hz:.1f} Hz is chosen, where it equals the noise of {analysis.noise:.2f}°."
    curve = Curve(label, _TONE_OF[segment], analysis.tried, analysis.residuals)
    return Plot(title, "°", "Hz", (curve,), analysis.cutoff_hz, analysis.noise)


# --- drawing -------------------------------------------------------------------------------------


def _ticks(low: float, high: float, most: int) -> list[float]:
    """Round values inside a range, at most ``most``."""
    least = (high - low) / max(1, most)
    power = 10.0 ** math.floor(math.log10(least))
    step = next(power * n for n in (1, 2, 2.5, 5, 10, 20) if power * n >= least)
    return [n * step + 0.0 for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _number(value: float) -> str:
    text = f"{value:.6g}"
    return "−" + text[1:] if text.startswith("-") else text


def _places(points: Sequence[tuple[float, float]]) -> str:
    return "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _line(frame: Frame, curve: Curve) -> str:
    """Path data with a piece for each stretch without gaps; a lone value is a dot."""
    pieces = []
    for start, end in stretches(curve.values):
        points = [(frame.x(curve.across[n]), frame.y(curve.values[n])) for n in range(start, end)]
        pieces.append("M" + _places(points if len(points) > 1 else points * 2))
    return "".join(pieces)


def _band(frame: Frame, curve: Curve) -> str:
    if curve.spread is None:
        return ""
    pieces, there = [], np.where(np.isfinite(curve.spread), curve.values, np.nan)
    for start, end in stretches(there):
        if end - start > 1:
            run = range(start, end)
            upper = [(frame.x(curve.across[n]), frame.y(curve.values[n] + curve.spread[n])) for n in run]
            lower = [
                (frame.x(curve.across[n]), frame.y(curve.values[n] - curve.spread[n])) for n in reversed(run)
            ]
            pieces.append(f"M{_places(upper + lower)}Z")
    return "".join(pieces)


def _axes(plot: Plot, frame: Frame) -> str:
    parts, letters, look = [], frame.letters, frame.palette
    for value in _ticks(*frame.values, max(2, int((frame.bottom - frame.top) / (3 * letters)))):
        y = frame.y(value)
        parts.append(
            stroke(f"M{frame.left:.1f} {y:.1f}H{frame.right:.1f}", look.quiet if value == 0 else look.rule, 1)
        )
        parts.append(
            words(
                text_path(_number(value), (frame.left - 6, y + letters * 0.35), letters, anchor="end"),
                look.quiet,
                frame,
            )
        )
    ticks = _ticks(*frame.across, max(2, int((frame.right - frame.left) / (6 * letters))))
    for value in ticks:
        x = frame.x(value)
        parts.append(stroke(f"M{x:.1f} {frame.bottom:.1f}v4", look.quiet, 1))
        unit = plot.across_unit if plot.across_unit == "°" else f" {plot.across_unit}"
        text = f"{_number(value)}{unit if value == ticks[-1] else ''}"
        place = x, frame.bottom + letters * 1.5
        parts.append(words(text_path(text, place, letters, anchor="middle"), look.quiet, frame))
    unit = plot.unit_says or (plot.unit if plot.unit != "°/s" else "°/s, counter-clockwise above 0")
    parts.append(words(text_path(unit, (frame.left, letters * 1.1), letters), look.quiet, frame))
    return "".join(parts)


def _spread_labels(places: list[float], height: float, low: float, high: float) -> list[float]:
    """Heights for labels, in the order given, moved apart as little as a single sweep needs."""
    order = sorted(range(len(places)), key=lambda n: places[n])
    found, last = dict.fromkeys(order, 0.0), low - height
    for n in order:
        last = found[n] = max(places[n], last + height)
    over, limit = 0.0, high
    for n in reversed(order):
        found[n] = min(found[n], limit)
        limit = found[n] - height
    return [found[n] + over for n in range(len(places))]


def _last(curve: Curve) -> int | None:
    there = np.flatnonzero(np.isfinite(curve.values))
    return int(there[-1]) if len(there) else None


def _labels(plot: Plot, frame: Frame) -> str:
    """Each curve's name at the right, where its last value is, joined to it."""
    named = [curve for curve in plot.curves if curve.label]
    rows = [(curve, last) for curve in named if (last := _last(curve)) is not None]
    wanted = [frame.y(curve.values[last]) for curve, last in rows]
    heights = _spread_labels(wanted, frame.letters * 1.35, frame.top, frame.bottom)
    parts = []
    for (curve, last), y, end in zip(rows, heights, wanted, strict=True):
        colour, _ = frame.palette.tones[curve.tone]
        x = frame.x(curve.across[last])
        parts.append(stroke(f"M{x:.1f} {end:.1f}L{frame.right + 6:.1f} {y:.1f}", colour, 0.8))
        where = frame.right + 9, y + frame.letters * 0.35
        parts.append(words(text_path(curve.label, where, frame.letters, weight=600), colour, frame))
    return "".join(parts)


def _curve(curve: Curve, frame: Frame) -> str:
    (colour, dashes), case = frame.palette.tones[curve.tone], frame.palette.case
    line, more = _line(frame, curve), ' stroke-linejoin="round" stroke-linecap="butt"'
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    parts = [f"<g><title>{escape(curve.label)}</title>"]
    if band := _band(frame, curve):
        parts.append(f'<path d="{band}" fill="{colour}" fill-opacity="0.2"/>')
    parts += [stroke(line, case, 4.4, more), stroke(line, colour, 2.2, more + dashed)]
    if curve.peak and frame.across[0] <= curve.peak[0] <= frame.across[1]:
        parts.append(_peak(curve.peak, colour, frame))
    return "".join(parts) + "</g>"


def _peak(peak: tuple[float, float, float], colour: str, frame: Frame) -> str:
    x, y = frame.x(peak[0]), frame.y(peak[1])
    reach = max(2.0, abs(frame.x(peak[0] + peak[2]) - x))
    left, right = max(frame.left, x - reach), min(frame.right, x + reach)
    bar = f"M{left:.1f} {y:.1f}H{right:.1f}M{left:.1f} {y - 4:.1f}v8M{right:.1f} {y - 4:.1f}v8"
    return (
        stroke(bar, frame.palette.case, 3.6)
        + stroke(bar, colour, 1.4)
        + f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.6" fill="{colour}" stroke="{frame.palette.case}" stroke-width="1.4"/>'
    )


def _until(curve: Curve, upto: float) -> Curve:
    """The curve up to ``upto``, with a last piece of a step to there where it goes on."""
    peak = curve.peak if curve.peak and curve.peak[0] <= upto else None
    count = int(np.searchsorted(curve.across, upto, side="right"))
    parts = [curve.across[:count], curve.values[:count]]
    spread = None if curve.spread is None else curve.spread[:count]
    if 0 < count < len(curve.across):
        pair = slice(count - 1, count + 1)
        parts = [
            np.append(parts[0], upto),
            np.append(parts[1], np.interp(upto, curve.across[pair], curve.values[pair])),
        ]
        if spread is not None and curve.spread is not None:
            spread = np.append(spread, np.interp(upto, curve.across[pair], curve.spread[pair]))
    return replace(curve, across=parts[0], values=parts[1], spread=spread, peak=peak)


def plot_svg(
    plot: Plot,
    size: tuple[int, int],
    cursor_s: float | None = None,
    upto: float | None = None,
    *,
    backing: float = 0.0,
    palette: Palette = DARK,
    cursor_says: str = "",
) -> str:
    """The curves as SVG text, ``size`` in pixels. ``cursor_s`` draws a running cursor there with ``cursor_says`` beside
    it, ``upto`` leaves out what comes after; both in the plot's own unit across. ``backing``: how dense a ground lies
    beneath, 0 to 1."""
    frame = layout_of(plot, size, palette)
    shown = (
        plot if upto is None else replace(plot, curves=tuple(_until(curve, upto) for curve in plot.curves))
    )
    width, height = size
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-label="{escape(plot.title)}"><title>{escape(plot.title)}</title>'
    ]
    if backing > 0:
        parts.append(
            f'<path d="M0 0H{width}V{height}H0Z" fill="{palette.ground}" fill-opacity="{min(1.0, backing):.2f}"/>'
        )
    parts.append(_axes(plot, frame))
    if plot.level is not None:
        y = frame.y(plot.level)
        parts.append(
            stroke(
                f"M{frame.left:.1f} {y:.1f}H{frame.right:.1f}", palette.second, 1.2, ' stroke-dasharray="4 4"'
            )
        )
    if plot.upright is not None:
        x = frame.x(plot.upright)
        parts.append(
            stroke(
                f"M{x:.1f} {frame.top:.1f}V{frame.bottom:.1f}", palette.second, 1.2, ' stroke-dasharray="4 4"'
            )
        )
    parts += [_curve(curve, frame) for curve in shown.curves]
    parts.append(_labels(plot, frame))
    if cursor_s is not None:
        parts.append(cursor_paths(plot, frame, cursor_s, cursor_says))
    return "".join(parts) + "</svg>"
