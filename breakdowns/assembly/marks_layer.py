"""The marks of a still as they lie over its footage in the output. Imports no Django.

They are drawn by the one routine that the browser's picture comes from, for the part of the picture that
is seen and at the size at which it is seen, so labels keep clear of the edges of the video.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from PIL import Image

from breakdowns.stills.drawing import draw
from breakdowns.stills.marks import Mark, MarksDocument, Point, Scale, Spot
from breakdowns.stills.measures import MeasureRow
from breakdowns.stills.picture import PictureFacts
from breakdowns.stills.raster import raster

from .framing import Framing, Size

__all__ = ["MarksLayer", "marks_picture", "marks_svg"]


@dataclass(frozen=True)
class MarksLayer:
    """Marks on a picture of ``picture``; ``measures`` are the values written beside those that ask for it.

    ``starts``: the second, after the picture began to stand, at which each shown mark begins to be drawn, in the
    document's order; empty: all are there at once.
    """

    document: MarksDocument
    picture: PictureFacts
    measures: tuple[MeasureRow, ...] = ()
    starts: tuple[Fraction, ...] = ()


def marks_svg(layer: MarksLayer, framing: Framing, *, mirrored: bool, parts: Sequence[Fraction] = ()) -> str:
    """The drawing of what is seen of the picture, as SVG; its letters are never mirrored.

    ``parts`` says how much of each shown mark is drawn. A mark that lies wholly outside the cut is left out, so that no label speaks of what is not seen.
    """
    document, picture = layer.document, layer.picture
    shown = [mark.id for mark in document.marks if mark.shown]
    reveal = {name: float(part) for name, part in zip(shown, parts, strict=True)} if parts else None
    if framing.crop is not None:
        left, top, width, height = framing.crop
        document = _moved(document, (left, top), (width, height))
        picture = PictureFacts((width, height), picture.pixel_aspect)
    return draw(
        document,
        picture,
        width_px=framing.scaled[0],
        reveal=reveal,
        mirrored=mirrored,
        measures=layer.measures,
    )


def marks_picture(svg: str, framing: Framing, output: Size) -> Image.Image:
    """The drawing as a transparent picture of the output's size, just over the footage."""
    whole = Image.new("RGBA", output)
    whole.paste(raster(svg, framing.scaled), framing.offset)
    return whole


def _moved(document: MarksDocument, by: tuple[int, int], size: Size) -> MarksDocument:
    """The document on a part of its picture."""

    def place(at: Point) -> Point:
        return at[0] - by[0], at[1] - by[1]

    def spot(one: Spot) -> Spot:
        return one if isinstance(one, str) else place(one)

    landmarks = {name: replace(row, at=place(row.at)) for name, row in document.landmarks.items()}
    marks = tuple(replace(mark, points=tuple(map(spot, mark.points))) for mark in document.marks)
    scale = document.scale
    moved = MarksDocument(
        landmarks,
        marks,
        scale and Scale((spot(scale.points[0]), spot(scale.points[1])), scale.length, scale.unit, scale.sd),
    )
    seen = tuple(replace(mark, shown=mark.shown and _is_seen(moved, mark, size)) for mark in marks)
    return replace(moved, marks=seen)


def _is_seen(document: MarksDocument, mark: Mark, size: Size) -> bool:
    """Whether the box around a mark and the picture have anything in common."""
    places = document.places(mark)
    if not places:
        return False
    xs, ys = zip(*places, strict=True)
    return min(xs) <= size[0] and max(xs) >= 0 and min(ys) <= size[1] and max(ys) >= 0
