"""A track's curve over an excerpt: where it lies in the output, and its cursor on each output frame. Imports no Django.

The curve is drawn by the one routine that the browser's picture comes from; the drawing without its cursor is made
once, and for each source frame only the narrow strip around the cursor is made and laid over it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Literal

from PIL import Image

from breakdowns.stills.raster import raster
from breakdowns.tracks.plot import Plot, plot_svg
from breakdowns.tracks.plot_cursor import Cursor, cursor_of, cursor_words

from .framing import Size

__all__ = ["CurveLayer", "CurvePlace", "box_of", "curve_facts", "curve_picture", "curve_with_cursor"]

CurvePlace = Literal["lower", "left", "right"]
_VERSION: Final = 2  # raise it whenever the same curve gives other pixels than before
_BACKING: Final = 0.82  # how dense the ground under a curve is; seen by eye on light and dark footage
_SIDE: Final = Fraction(9, 25)  # of the width for a curve at a side
_LEAST_SCALE: Final = 360  # below this height letters are not made smaller


@dataclass(frozen=True, eq=False)
class CurveLayer:
    """``plot`` runs across in seconds from the in point of the excerpt whose clock it follows: the one beside where
    ``follows_beside``. ``rate`` and ``first``: that source's frames a second and its in frame."""

    plot: Plot
    place: CurvePlace
    rate: Fraction
    first: int
    follows_beside: bool = False

    def seconds(self, source_frame: int) -> float:
        """Where the cursor stands while ``source_frame`` is on screen, in the plot's own seconds."""
        return float((source_frame - self.first) / self.rate)


def box_of(place: CurvePlace, output: Size) -> tuple[int, int, int, int]:
    """(left, top, width, height) of the curve in the output, all even: the lower third, or a side of a wide picture.

    A picture that is not wider than high has no room at its sides: there a side means its half of the lower third.
    """
    width, height = output
    third = _even(Fraction(height, 3))
    if place == "lower":
        return 0, height - third, width, third
    if width > height:
        across, high = _even(width * _SIDE), _even(Fraction(height, 2))
        top = _even(Fraction(height - high, 2))
        return (0 if place == "left" else width - across), top, across, high
    across = _even(Fraction(width * 2, 3))
    return (0 if place == "left" else width - across), height - third, across, third


def curve_picture(layer: CurveLayer, output: Size) -> Image.Image:
    """The curve without a cursor, as a transparent picture of its box's size."""
    size, scale = _drawn_size(layer, output)
    svg = plot_svg(layer.plot, size, backing=_BACKING)
    return raster(svg, (size[0] * scale, size[1] * scale) if scale > 1 else size)


def curve_with_cursor(bare: Image.Image, layer: CurveLayer, output: Size, source_frame: int) -> Image.Image:
    """``bare`` with the cursor where ``source_frame`` is; the very picture where the cursor lies outside the curve."""
    size, scale = _drawn_size(layer, output)
    cursor = cursor_at(layer, size, source_frame)
    if cursor is None:
        return bare
    shown = bare.copy()
    strip = raster(cursor.svg, (cursor.width * scale, cursor.height * scale))
    shown.alpha_composite(strip, (cursor.left * scale, 0))
    return shown


def cursor_at(layer: CurveLayer, size: Size, source_frame: int) -> Cursor | None:
    """The cursor in the drawing of ``size``."""
    at = layer.seconds(source_frame)
    return cursor_of(layer.plot, size, at, cursor_words(layer.plot, at))


def curve_facts(layer: CurveLayer, output: Size) -> dict[str, Any]:
    """All that can change a pixel of the curve, but for which source frame is on screen when."""
    size, scale = _drawn_size(layer, output)
    return {
        "version": _VERSION,
        "box": box_of(layer.place, output),
        "scale": scale,
        "drawn": plot_svg(layer.plot, size, backing=_BACKING),
        "values": [curve.values.tolist() for curve in layer.plot.curves],
        "clock": (layer.first, layer.rate, layer.follows_beside),
    }


def _drawn_size(layer: CurveLayer, output: Size) -> tuple[Size, int]:
    """The size in which the curve is drawn, and how many pixels each of its units has: lines and letters keep their
    share of a picture of twice the height and more."""
    _, _, width, height = box_of(layer.place, output)
    scale = max(1, min(output) // (2 * _LEAST_SCALE))
    while width % scale or height % scale:
        scale -= 1
    return (width // scale, height // scale), scale


def _even(length: Fraction) -> int:
    return max(2, 2 * round(length / 2))
