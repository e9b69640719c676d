"""The house's sans face as outlines, so that a browser and a rasteriser draw the same letters.

Atkinson Hyperlegible Next (SIL OFL 1.1) comes as variable WOFF2 files in two parts; each letter is taken from the first
that has it. Its figures are tabular as they are.
"""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal

from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

__all__ = ["Anchor", "text_path", "text_width"]

Anchor = Literal["start", "middle", "end"]

_FOLDER = Path(__file__).resolve().parents[2] / "static" / "vendor" / "fonts"
_FILES = (
    "atkinson-hyperlegible-next-latin-wght-normal.woff2",
    "atkinson-hyperlegible-next-latin-ext-wght-normal.woff2",
)


@cache
def _face(name: str, weight: int) -> tuple[Any, dict[int, str], int]:
    font = TTFont(_FOLDER / name, lazy=False)
    return font.getGlyphSet(location={"wght": weight}), font.getBestCmap(), font["head"].unitsPerEm


@lru_cache(maxsize=4096)
def _glyph(letter: str, weight: int) -> tuple[Any, float]:
    """What draws a letter and its advance, for an em of 1; a letter that no file has is drawn as a question mark."""
    for name in _FILES:
        glyphs, names, em = _face(name, weight)
        if ord(letter) in names:
            glyph = glyphs[names[ord(letter)]]
            return (glyph, glyphs, 1 / em), float(glyph.width) / em
    return _glyph("?", weight)


def text_width(text: str, size: float, weight: int = 400) -> float:
    """The advance of one line of text, in the unit of ``size``."""
    return sum(_glyph(letter, weight)[1] for letter in text) * size


def text_path(
    text: str, at: tuple[float, float], size: float, *, weight: int = 400, anchor: Anchor = "start"
) -> str:
    """SVG path data of one line of text with its baseline at ``at``; empty for a blank text."""
    x, y = at
    x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * text_width(text, size, weight)
    commands = []
    for letter in text:
        (glyph, glyphs, per_em), advance = _glyph(letter, weight)
        pen = SVGPathPen(glyphs, ntos=_short)
        glyph.draw(TransformPen(pen, (size * per_em, 0, 0, -size * per_em, x, y)))
        commands.append(pen.getCommands())
        x += advance * size
    return "".join(commands)


def _short(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
