"""Words of a plot as outlines of the house's face, so that a browser and a rasteriser draw the same shapes."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

__all__ = ["text_path", "text_width"]

_FILE = "atkinson-hyperlegible-next-latin-wght-normal.woff2"
_FOLDER = Path(__file__).resolve().parents[2] / "static" / "vendor" / "fonts"


@cache
def _face(weight: int) -> tuple[Any, dict[int, str], int]:
    font = TTFont(_FOLDER / _FILE, lazy=False)
    return font.getGlyphSet(location={"wght": weight}), font.getBestCmap(), font["head"].unitsPerEm


def _glyphs(text: str, weight: int) -> list[str]:
    _, names, _ = _face(weight)
    return [names.get(ord(letter)) or names.get(ord("?"), ".notdef") for letter in text]


def text_width(text: str, size: float, weight: int = 400) -> float:
    """The advance of a line of text, in the unit of ``size``."""
    glyphs, _, em = _face(weight)
    return sum(float(glyphs[name].width) for name in _glyphs(text, weight)) * size / em


def text_path(
    text: str, at: tuple[float, float], size: float, *, weight: int = 400, anchor: str = "start"
) -> str:
    """Path data of a line of text with its baseline at ``at``; ``anchor`` start, middle or end."""
    glyphs, _, em = _face(weight)
    scale = size / em
    x, y = at
    x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * text_width(text, size, weight)
    pen = SVGPathPen(glyphs, ntos=lambda number: f"{number:.2f}".rstrip("0").rstrip("."))
    for name in _glyphs(text, weight):
        glyphs[name].draw(TransformPen(pen, (scale, 0, 0, -scale, x, y)))
        x += float(glyphs[name].width) * scale
    return str(pen.getCommands())
