"""Two views beside each other: where each goes in the output, and the credits that stand on screen. No Django.

Beside each other in a picture wider than high, one above the other otherwise; a curve in the lower third gets its
room, so that it covers neither. Each half is framed by itself, whole or filled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from PIL import Image, ImageDraw

from .curve_layer import box_of
from .fonts import Style, draw_line, fonts_digest, line_width, plain
from .framing import Size
from .piece import ExcerptPicture, FootagePicture, PieceSource
from .plate_sheet import INK, PAPER

__all__ = ["Half", "credit_line", "credits_facts", "credits_picture", "halves_of"]

_VERSION: Final = 1  # raise it whenever the same credits come out with other pixels than before
_GAP: Final = 160  # the gap between the halves is this part of the longer side; by eye
_LETTERS: Final = 40  # letters are this part of the shorter side, never below the least
_LEAST_LETTERS: Final = 9


@dataclass(frozen=True)
class Half:
    """A part of the output: upper left corner and size in pixels, all even."""

    at: tuple[int, int]
    size: Size


def halves_of(picture: FootagePicture, output: Size) -> tuple[Half, ...]:
    """The part of the output that each view of a picture has; one with all of it where there is one view."""
    if picture.beside is None:
        return (Half((0, 0), output),)
    width, height = output
    curve = picture.curve if isinstance(picture, ExcerptPicture) else None
    if curve and box_of(curve.place, output)[1] + box_of(curve.place, output)[3] == height:
        height = box_of(curve.place, output)[1]
    gap = max(2, max(output) // _GAP // 2 * 2)
    if output[0] > output[1]:
        across = (width - gap) // 4 * 2
        return Half((0, 0), (across, height)), Half((width - across, 0), (across, height))
    high = (height - gap) // 4 * 2
    return Half((0, 0), (width, high)), Half((0, height - high), (width, high))


def credit_line(source: PieceSource) -> str:
    """What stands on screen for a source: its view, and its attribution, else its rights holder, else its title."""
    said = source.attribution.strip() or source.rights_holder.strip()
    if not said:
        return source.title.strip()
    view = source.view.strip()
    return f"{view} · {said}" if view and view.casefold() not in said.casefold() else said


def credits_facts(picture: FootagePicture) -> dict[str, Any]:
    """All that can change a pixel of the credits, but for the size of the output."""
    assert picture.beside is not None
    lines = [plain(credit_line(view.source)) for view in (picture, picture.beside)]
    return {"version": _VERSION, "fonts": fonts_digest(), "lines": lines}


def credits_picture(picture: FootagePicture, output: Size) -> Image.Image:
    """A transparent picture of the output with the credit of each view at the foot of its half, cut with "…" where
    it is longer than the half is wide."""
    assert picture.beside is not None
    image = Image.new("RGBA", output, (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)
    style = Style("sans", 500, max(_LEAST_LETTERS, round(min(output) / _LETTERS)))
    pad, high = round(style.size * 0.45), round(style.size * 1.5)
    for view, half in zip((picture, picture.beside), halves_of(picture, output), strict=True):
        text = _cut(plain(credit_line(view.source)), style, half.size[0] - 4 * pad)
        left, bottom = half.at[0] + pad, half.at[1] + half.size[1] - pad
        right = left + line_width(text, style) + 2 * pad
        pen.rectangle((left, bottom - high, right, bottom), fill=(*_rgb(INK), 205))
        draw_line(pen, (left + pad, bottom - high + high * 0.69), text, style, PAPER)
    return image


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour.removeprefix("#")))


def _cut(text: str, style: Style, width: float) -> str:
    """The text, or as many letters of it as have room with "…" behind them."""
    if line_width(text, style) <= width:
        return text
    while text and line_width(f"{text}…", style) > width:
        text = text[:-1]
    return f"{text.rstrip()}…"
