"""The house's two faces, and which of their files holds which letter.

Both come as variable WOFF2 files in two parts, ``latin`` and ``latin-ext``, so a line is set in runs:
each letter from the first file that has it, the other face last.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, Literal

from PIL import ImageDraw, ImageFont

from breakdowns.stills.faces import FACE_FILES, FACE_FOLDER

from .tables import rows

__all__ = ["Style", "can_show", "draw_line", "fonts_digest", "line_width", "matched", "plain"]

_OTHER = {"serif": "sans", "sans": "serif"}
_ONLY_OPTICAL = 14  # of the second serif file; compared by eye and by stem width
# Unicode Standard, 5.8. The layout library refuses the last two inside a line.
_ENDS_OF_LINES = re.compile("\r\n|[\r\u2028\u2029]")
_NOTHING = "\U0010ffff"  # never a letter: shows the box that stands for a missing one


@dataclass(frozen=True)
class Style:
    """A face at a weight (100–900) and a size in pixels; ``optical`` is the optical size, None: the size."""

    face: Literal["serif", "sans"]
    weight: int
    size: int
    optical: int | None = None


@cache
def fonts_digest() -> str:
    """SHA-256 over the font files, in order."""
    digest = hashlib.sha256()
    for name in (*FACE_FILES["serif"], *FACE_FILES["sans"]):
        digest.update((FACE_FOLDER / name).read_bytes())
    return digest.hexdigest()


@lru_cache(maxsize=256)
def _font(name: str, weight: int, size: int, optical: int) -> ImageFont.FreeTypeFont:
    font = ImageFont.truetype(str(FACE_FOLDER / name), size)
    wanted = [optical if b"Optical" in axis["name"] else weight for axis in font.get_variation_axes()]
    font.set_variation_by_axes(
        [_on_axis(*pair) for pair in zip(font.get_variation_axes(), wanted, strict=True)]
    )
    return font


def _on_axis(axis: Any, wanted: int) -> int:
    return int(max(axis["minimum"], min(axis["maximum"], wanted)))


@cache
def _has(name: str, letter: str) -> bool:
    font = _font(name, 400, 32, 32)
    return letter.isspace() or _drawn(font, letter) != _drawn(font, _NOTHING)


def _drawn(font: ImageFont.FreeTypeFont, letter: str) -> tuple[tuple[int, int], bytes, float]:
    mask = font.getmask(letter)
    return mask.size, bytes(mask), font.getlength(letter)


@cache
def _file_for(face: str, letter: str) -> str | None:
    return next((name for name in (*FACE_FILES[face], *FACE_FILES[_OTHER[face]]) if _has(name, letter)), None)


def can_show(letter: str) -> bool:
    """Whether either face has the letter (a single character)."""
    return _file_for("serif", letter) is not None


def matched(style: Style, text: str) -> Style:
    """The style for this text: where it needs letters of the second file, which has one optical size
    only, all of it takes that one, so that no letter looks heavier than its neighbours."""
    needs_second = any(_file_for(style.face, letter) == FACE_FILES[style.face][1] for letter in text)
    return replace(style, optical=_ONLY_OPTICAL) if needs_second else style


@cache
def _substitutes() -> dict[str, str]:
    return {row["sign"]: row["instead"] for row in rows("plate_substitutes")}


def plain(text: str) -> str:
    """Text as it can be set: composed (NFC), without control signs, what no face has said otherwise.

    A dash between words stays with the word before it.

    A letter that can't be said otherwise stays and is drawn as the font's empty box.
    """
    composed = unicodedata.normalize("NFC", _ENDS_OF_LINES.sub("\n", text).replace("\t", " "))
    settable = "".join(_settable(letter) for letter in composed)
    return (
        re.sub("(?<=[^ \n]) {2,}", " ", settable).replace(" – ", "\u00a0– ").replace(" ± ", "\u00a0±\u00a0")
    )


def _settable(letter: str) -> str:
    kind = unicodedata.category(letter)
    if letter != "\n" and kind in ("Cc", "Cf", "Cs"):
        return ""
    if letter.isspace() or can_show(letter):
        return letter
    if kind == "Mn":
        return ""
    if letter in _substitutes():
        return _substitutes()[letter]
    simpler = unicodedata.normalize("NFKC", letter)
    return simpler if all(can_show(part) for part in simpler) else letter


def _runs(text: str, style: Style) -> list[tuple[ImageFont.FreeTypeFont, str]]:
    found: list[tuple[str, str]] = []
    for letter in text:
        name = _file_for(style.face, letter) or FACE_FILES[style.face][0]
        if letter.isspace() and found:
            name = found[-1][0]
        if found and found[-1][0] == name:
            found[-1] = (name, found[-1][1] + letter)
        else:
            found.append((name, letter))
    optical = style.optical or style.size
    return [(_font(name, style.weight, style.size, optical), run) for name, run in found]


@lru_cache(maxsize=8192)
def line_width(text: str, style: Style) -> float:
    """Pixels that one line of text takes."""
    return sum(font.getlength(run) for font, run in _runs(text, style))


def draw_line(draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str, style: Style, ink: str) -> None:
    """Draw one line with its left end on the baseline at ``at``."""
    x, baseline = at
    for font, run in _runs(text, style):
        draw.text((x, baseline), run, font=font, fill=ink, anchor="ls")
        x += font.getlength(run)
