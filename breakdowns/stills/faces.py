"""The house's faces as outlines, so that a browser and a rasteriser draw the same letters.

Atkinson Hyperlegible Next (SIL OFL 1.1) comes as variable WOFF2 files in two parts; each letter is taken from the first
that has it, letters that it lacks from Source Serif 4. Figures are tabular, other pairs kerned as the file says
(OpenType 1.9: GSUB feature tnum, GPOS lookup type 2).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final, Literal

from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from fontTools.varLib.models import normalizeLocation
from fontTools.varLib.varStore import VarStoreInstancer

__all__ = ["FACE_FILES", "FACE_FOLDER", "Anchor", "settable", "text_path", "text_width"]

Anchor = Literal["start", "middle", "end"]

FACE_FOLDER: Final = Path(__file__).resolve().parents[2] / "static" / "vendor" / "fonts"
FACE_FILES: Final = {
    "serif": ("source-serif-4-latin-opsz-normal.woff2", "source-serif-4-latin-ext-wght-normal.woff2"),
    "sans": (
        "atkinson-hyperlegible-next-latin-wght-normal.woff2",
        "atkinson-hyperlegible-next-latin-ext-wght-normal.woff2",
    ),
}
"""Each face's files; a letter is in the first that has it."""
_ORDER = (*FACE_FILES["sans"], *FACE_FILES["serif"])
_MISSING = "?"


class _Face:
    """One file at one weight."""

    def __init__(self, name: str, weight: int) -> None:
        self._font = font = TTFont(FACE_FOLDER / name, lazy=False)
        self.glyphs = font.getGlyphSet(location={"wght": weight})
        self.names: dict[int, str] = font.getBestCmap()
        self.em: int = font["head"].unitsPerEm
        axes = {a.axisTag: (a.minValue, a.defaultValue, a.maxValue) for a in font["fvar"].axes}
        store = getattr(font["GDEF"].table, "VarStore", None)
        where = normalizeLocation({"wght": weight}, axes)
        self._varied = VarStoreInstancer(store, font["fvar"].axes, where) if store else None
        self._lookups = [list(one) for one in self._subtables("GPOS", "kern", 2)]
        self._tabular: dict[str, str] = {}
        for subtables in self._subtables("GSUB", "tnum", 1):
            for one in subtables:
                self._tabular |= one.mapping

    def _subtables(self, table_name: str, feature: str, kind: int) -> Iterator[Iterator[Any]]:
        """The subtables of one type of each lookup that a feature has, in the font's order."""
        if table_name not in self._font:
            return
        table = self._font[table_name].table
        numbers = {
            number
            for record in table.FeatureList.FeatureRecord
            if record.FeatureTag == feature
            for number in record.Feature.LookupListIndex
        }
        for number in sorted(numbers):
            found = [getattr(one, "ExtSubTable", one) for one in table.LookupList.Lookup[number].SubTable]
            yield (one for one in found if one.LookupType == kind)

    def glyph(self, letter: str) -> str | None:
        """The glyph of a letter, a tabular one of a figure; None where this file has none."""
        name = self.names.get(ord(letter))
        return None if name is None else self._tabular.get(name, name)

    def kern(self, first: str, second: str) -> float:
        """By how much two glyphs are set closer (negative) or wider, in font units."""
        return sum(self._of_lookup(subtables, first, second) for subtables in self._lookups)

    def _of_lookup(self, subtables: list[Any], first: str, second: str) -> float:
        for table in subtables:
            if first not in table.Coverage.glyphs:
                continue
            if table.Format == 2:  # covers every second glyph, so nothing after it counts
                row = table.Class1Record[table.ClassDef1.classDefs.get(first, 0)]
                return self._advance(row.Class2Record[table.ClassDef2.classDefs.get(second, 0)].Value1)
            for pair in table.PairSet[table.Coverage.glyphs.index(first)].PairValueRecord:
                if pair.SecondGlyph == second:
                    return self._advance(pair.Value1)
        return 0.0

    def _advance(self, value: Any) -> float:
        if value is None:
            return 0.0
        by = float(getattr(value, "XAdvance", 0))
        device = getattr(value, "XAdvDevice", None)
        if device is not None and self._varied is not None and device.DeltaFormat == 0x8000:
            by += self._varied[(device.StartSize << 16) + device.EndSize]
        return by


@cache
def _face(name: str, weight: int) -> _Face:
    return _Face(name, weight)


@lru_cache(maxsize=4096)
def _found(letter: str, weight: int) -> tuple[_Face, str] | None:
    for name in _ORDER:
        face = _face(name, weight)
        glyph = face.glyph(letter)
        if glyph is not None:
            return face, glyph
    return None


def settable(text: str, weight: int = 400) -> str:
    """The text as it can be set: composed (NFC), signs without a shape left out, other spaces as plain ones, and
    what no face has simpler (NFKC) or as a question mark."""
    return "".join(_simpler(letter, weight) for letter in unicodedata.normalize("NFC", text))


@lru_cache(maxsize=4096)
def _simpler(letter: str, weight: int) -> str:
    if letter.isspace():
        return "\u00a0" if letter in "\u00a0\u202f\u2007" and _found("\u00a0", weight) else " "
    if unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Mn", "Me"):
        return ""
    if _found(letter, weight):
        return letter
    simpler = unicodedata.normalize("NFKC", letter)
    return simpler if all(_found(part, weight) for part in simpler) else _MISSING


@lru_cache(maxsize=2048)
def _line(text: str, weight: int) -> tuple[tuple[tuple[_Face, str, float], ...], float]:
    """Face, glyph and place of each letter, and the whole advance, for an em of 1."""
    letters = [found for letter in settable(text, weight) if (found := _found(letter, weight))]
    places, x = [], 0.0
    for number, (face, glyph) in enumerate(letters):
        places.append((face, glyph, x))
        x += float(face.glyphs[glyph].width) / face.em
        after, following = letters[number + 1] if number + 1 < len(letters) else (None, "")
        # Kerned figures would no longer stand under each other, and 1.1 would look like 11.
        if after is face and not (_in_number(glyph) and _in_number(following)):
            x += face.kern(glyph, following) / face.em
    return tuple(places), x


_NUMBERS = frozenset(
    ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
     "period", "comma", "minus", "plus", "plusminus", "degree", "percent")
)  # fmt: skip


def _in_number(glyph: str) -> bool:
    return glyph.split(".")[0] in _NUMBERS


def text_width(text: str, size: float, weight: int = 400) -> float:
    """The advance of one line of text, in the unit of ``size``."""
    return _line(text, weight)[1] * size


def text_path(
    text: str, at: tuple[float, float], size: float, *, weight: int = 400, anchor: Anchor = "start"
) -> str:
    """SVG path data of one line of text with its baseline at ``at``; empty for a blank text."""
    places, width = _line(text, weight)
    left = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width * size
    commands = []
    for face, glyph, x in places:
        scale = size / face.em
        pen = SVGPathPen(face.glyphs, ntos=_short)
        face.glyphs[glyph].draw(TransformPen(pen, (scale, 0, 0, -scale, left + x * size, at[1])))
        commands.append(pen.getCommands())
    return "".join(commands)


def _short(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
