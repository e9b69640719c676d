"""A track's plot cut to the part of the footage that is on screen, on a clock that begins with it. No Django."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from anatomy.motion.points import Floats

from .plot_frame import Curve, Plot

__all__ = ["has_values", "plot_between"]

_BAND = "band ± 1 SD"


def plot_between(
    plot: Plot, start: float, end: float, labels: Collection[str] = (), *, mirrored: bool = False
) -> Plot:
    """The plot from ``start`` to ``end`` > ``start``, both shown, its across counted from ``start``.

    ``labels`` are the curves to keep; empty: all. Where nothing is measured nothing is drawn, at the ends as within.
    ``mirrored``: the picture is shown turned round, so that what turned one way turns the other way on screen.
    """
    kept = [curve for curve in plot.curves if not labels or curve.label in labels]
    curves = tuple(_between(curve, start, end) for curve in kept)
    return replace(
        plot, curves=curves, span=(0.0, end - start), unit_says=f"{_unit(plot.unit, mirrored)} · {_BAND}"
    )


def has_values(plot: Plot) -> bool:
    """Whether anything of the plot can be drawn."""
    return any(np.isfinite(curve.values).any() for curve in plot.curves)


def _unit(unit: str, mirrored: bool) -> str:
    if unit == "°/s":
        return f"°/s, {'clockwise' if mirrored else 'counter-clockwise'} above 0"
    return f"{unit}, as filmed" if mirrored else unit


def _between(curve: Curve, start: float, end: float) -> Curve:
    inside = curve.across[(curve.across >= start) & (curve.across <= end)]
    low, high = (float(curve.across[0]), float(curve.across[-1])) if len(curve.across) else (start, start)
    edges = [edge for edge in (start, end) if low <= edge <= high]
    across = np.union1d(inside, np.asarray(edges, dtype=float))
    spread = None if curve.spread is None else _at(curve.across, curve.spread, across)
    peak = curve.peak
    if peak is not None:
        peak = (peak[0] - start, *peak[1:]) if start <= peak[0] <= end else None
    values = _at(curve.across, curve.values, across)
    return replace(curve, across=across - start, values=values, spread=spread, peak=peak)


def _at(across: Floats, values: Floats, wanted: Floats) -> Floats:
    """The values at ``wanted``, straight between neighbours; NaN wherever one of the two neighbours is a gap."""
    if not len(across):
        return np.full(len(wanted), np.nan)
    after = np.clip(np.searchsorted(across, wanted), 0, len(across) - 1)
    before = np.where(across[after] == wanted, after, np.maximum(after - 1, 0))
    gap = np.maximum(across[after] - across[before], np.finfo(float).tiny)
    share = np.clip((wanted - across[before]) / gap, 0.0, 1.0)
    with np.errstate(invalid="ignore"):
        mixed = values[before] + share * (values[after] - values[before])
    return np.where(before == after, values[after], mixed)
