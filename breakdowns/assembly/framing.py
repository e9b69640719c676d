"""Where a source's picture goes in the output: what is cut out of it, its scaled size, its place."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

__all__ = ["Framing", "frame_picture"]

Size = tuple[int, int]


@dataclass(frozen=True)
class Framing:
    """``crop`` (x, y, width, height) in source pixels, None for all of them; ``scaled`` and ``offset`` in
    output pixels. All even, because 4:2:0 pictures have one colour sample for two pixels each way."""

    crop: tuple[int, int, int, int] | None
    scaled: Size
    offset: Size


def frame_picture(
    source: Size,
    pixel_aspect: Fraction,
    output: Size,
    fill: Literal["fit", "fill"],
    focus: tuple[Fraction, Fraction],
) -> Framing:
    """Place a picture of ``source`` pixels, each ``pixel_aspect`` times as wide as high, in ``output``.

    ``fit`` shows all of it, centred; ``fill`` covers the output and cuts off what does not fit, keeping
    ``focus`` (x, y in 0..1 of the picture as shown) as near to the middle as the edges allow.
    """
    if fill == "fill":
        return _filled(source, pixel_aspect, output, focus)
    shown = source[0] * pixel_aspect, Fraction(source[1])
    scale = min(output[0] / shown[0], output[1] / shown[1])
    width = min(_even(shown[0] * scale), output[0])
    height = min(_even(shown[1] * scale), output[1])
    return Framing(None, (width, height), (_centred(output[0] - width), _centred(output[1] - height)))


def _filled(source: Size, pixel_aspect: Fraction, output: Size, focus: tuple[Fraction, Fraction]) -> Framing:
    scale = max(output[0] / (source[0] * pixel_aspect), Fraction(output[1], source[1]))
    width = min(_even(output[0] / scale / pixel_aspect), source[0] // 2 * 2 or 2)
    height = min(_even(output[1] / scale), source[1] // 2 * 2 or 2)
    if (width, height) == source:
        return Framing(None, output, (0, 0))
    left = _corner(focus[0], source[0], width)
    top = _corner(focus[1], source[1], height)
    return Framing((left, top, width, height), output, (0, 0))


def _corner(focus: Fraction, whole: int, part: int) -> int:
    """The even pixel at which ``part`` of ``whole`` begins, as near to the focus as the edges allow."""
    return min(max(0, 2 * round((focus * whole - Fraction(part, 2)) / 2)), (whole - part) // 2 * 2)


def _even(length: Fraction) -> int:
    return max(2, 2 * round(length / 2))


def _centred(spare: int) -> int:
    return spare // 4 * 2
