"""Marks as one SVG drawing: what a browser lays over the frame and what the video's pictures are made of.

There is no other way in which marks are drawn. The drawing holds paths, circles and groups only, letters as outlines,
no style sheets and nothing from outside; its units are the picture's pixels made square. Every line is a light core on
a black casing, so that it can be seen on any picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from .figures import Disc, Figure, Stroke, Word, figure_of
from .labels import Box, Layout
from .marks import Mark, MarksDocument
from .measures import MeasureRow
from .pen import CASING, TONES, Pen
from .picture import PictureFacts
from .readout import readout
from .shapes import chain_length, cut_to, direction_at_end
from .svg import line_svg, number, path_data
from .words import placed_word

__all__ = ["TONES", "PictureFacts", "draw"]

Point = tuple[float, float]
_LINES_PART = 0.8  # of drawing on; the words come in the rest
_ROOM = 0.9  # casings that words keep clear of what is drawn
_HEAD_LONG, _HEAD_HALF = 20.0, 9.0  # of an arrow's head, in the pen's units
_FILL = 0.2  # how much of the picture a zone's colour hides


def draw(
    document: MarksDocument,
    picture: PictureFacts,
    *,
    width_px: float,
    reveal: Mapping[str, float] | None = None,
    mirrored: bool = False,
    measures: Iterable[MeasureRow] = (),
) -> str:
    """The marks that are shown, as SVG text, for a picture shown ``width_px`` pixels wide.

    ``reveal`` says how much of a mark (by id, 0 to 1) is drawn; its lines first, its words in the last fifth. ``mirrored``
    turns the picture round, never the letters. A mark whose landmark is missing is left out.
    """
    pen = Pen(picture, width_px)
    rows = _values(measures)
    figures = [
        figure
        for mark in document.marks
        if mark.shown and (figure := _figure(document, mark, pen, rows, mirrored)) is not None
    ]
    body = [pen.on_drawing(landmark.at, mirrored) for landmark in document.landmarks.values()]
    layout = _layout(figures, body, pen)
    shares = reveal or {}
    parts = [_group(figure, pen, layout, shares.get(figure.mark.id, 1.0)) for figure in figures]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(pen.width)} {number(pen.height)}">'
        f"{''.join(parts)}</svg>"
    )


def _values(measures: Iterable[MeasureRow]) -> dict[str, MeasureRow]:
    """The first defined measure of each mark: the one that stands beside it."""
    found: dict[str, MeasureRow] = {}
    for row in measures:
        if row.mark_id and row.value is not None:
            found.setdefault(row.mark_id, row)
    return found


def _figure(
    document: MarksDocument, mark: Mark, pen: Pen, rows: Mapping[str, MeasureRow], mirrored: bool
) -> Figure | None:
    places = document.places(mark)
    if places is None:
        return None
    figure = figure_of(mark, [pen.on_drawing(place, mirrored) for place in places], pen)
    row = rows.get(mark.id) if mark.value else None
    if row is not None and row.value is not None and (figure.value_near or figure.value_at):
        # The arc between two lines shows its size; which way it counts is told in the list of measures.
        size = abs(row.value) if mark.kind == "pair" else row.value
        text, error = readout(size, row.sd, row.unit)
        value = Word(text, mark.tone, figure.value_near, figure.value_at, error, bold=True)
        figure.words.insert(0, value)
    return figure


def _layout(figures: Sequence[Figure], body: Sequence[Point], pen: Pen) -> Layout:
    """Where words may stand: off every line, disc, arrow's head and landmark, drawn already or not yet."""
    strokes = [stroke for figure in figures for stroke in figure.strokes]
    lines = [(*a, *b) for stroke in strokes for a, b in pairwise(stroke.chain)]
    around = pen.disc + pen.case / 2 - pen.line / 2
    places = [*(disc.at for figure in figures for disc in figure.discs), *body]
    keep_off = [Box(x, y, x, y).grown(around) for x, y in places]
    for stroke in strokes:
        if stroke.arrow and len(corners := _corners(stroke.chain, pen)) == 3:
            xs, ys = zip(*corners, strict=True)
            keep_off.append(Box(min(xs), min(ys), max(xs), max(ys)))
    clear = pen.line / 2 + pen.case * (1 + _ROOM)
    rows = np.array(lines, float).reshape(-1, 4)
    return Layout((pen.width, pen.height), rows, keep_off, clear=clear, em=pen.text, disc=around)


def _group(figure: Figure, pen: Pen, layout: Layout, share: float) -> str:
    """A mark drawn up to ``share``. Its words are placed even while they are not seen, so that nothing jumps."""
    share = min(1.0, max(0.0, share))
    lines = min(1.0, share / _LINES_PART)
    seen = max(0.0, (share - _LINES_PART) / (1 - _LINES_PART))
    parts = [*_area(figure, seen), *_strokes(figure, pen, lines), *_discs(figure, pen, lines)]
    words = [placed_word(word, pen, layout) for word in figure.words]
    if seen > 0:
        parts += words if seen >= 1 else [f'<g opacity="{number(seen)}">{"".join(words)}</g>']
    title = figure.mark.text or figure.mark.kind
    return f"<g data-mark={quoteattr(figure.mark.id)}><title>{escape(title)}</title>{''.join(parts)}</g>"


def _area(figure: Figure, seen: float) -> Iterator[str]:
    if figure.area and seen > 0:
        colour = TONES[figure.mark.tone].colour
        yield f'<path d="{path_data(figure.area, True)}" fill="{colour}" fill-opacity="{number(_FILL * seen)}"/>'


def _strokes(figure: Figure, pen: Pen, lines: float) -> Iterator[str]:
    """The lines one after the other in the share of drawing that each has."""
    count = len(figure.strokes)
    for k, stroke in enumerate(figure.strokes):
        own = min(1.0, max(0.0, lines * count - k))
        chain = cut_to(stroke.chain, own)
        if len(chain) >= 2:
            yield _stroke(replace(stroke, closed=stroke.closed and own >= 1), chain, pen)


def _stroke(stroke: Stroke, chain: list[Point], pen: Pen) -> str:
    tone = TONES[stroke.tone]
    head = ""
    if stroke.arrow and len(corners := _corners(chain, pen)) == 3:
        head = (
            f'<path d="{path_data(corners, True)}" fill="{CASING}" stroke="{CASING}" '
            f'stroke-width="{number(2 * pen.case)}" stroke-linejoin="round"/>'
            f'<path d="{path_data(corners, True)}" fill="{tone.colour}"/>'
        )
        covered = 0.7 * math.dist(corners[0], corners[1]) / chain_length(chain)
        chain = cut_to(chain, max(0.02, 1 - covered))
    whole = stroke.width >= 1
    return head if len(chain) < 2 else (
        line_svg(
            chain,
            tone.colour,
            pen.line * stroke.width,
            pen.case * (1 if whole else 0.8),
            dashes=tone.dashes if whole else (),
            closed=stroke.closed,
        )
        + head
    )  # fmt: skip


def _corners(chain: Sequence[Point], pen: Pen) -> list[Point]:
    """Tip and back of an arrow's head at the end of a chain, smaller on short arrows; empty without a direction."""
    long = min(_HEAD_LONG * pen.unit, 0.7 * chain_length(chain))
    angle = direction_at_end(chain, long)
    if angle is None or long <= 0:
        return []
    half = long * _HEAD_HALF / _HEAD_LONG
    cos, sin, tip = math.cos(angle), math.sin(angle), chain[-1]
    back = tip[0] - long * cos, tip[1] - long * sin
    return [tip, (back[0] - half * sin, back[1] + half * cos), (back[0] + half * sin, back[1] - half * cos)]


def _discs(figure: Figure, pen: Pen, lines: float) -> Iterator[str]:
    """The points that drawing on has come to; the first stands as soon as anything is drawn."""
    count = max(1, len(figure.strokes))
    for disc in figure.discs:
        if lines > 0 and lines >= (disc.stroke + disc.along) / count - 1e-9:
            yield _disc(disc, pen)


def _disc(disc: Disc, pen: Pen) -> str:
    return (
        f'<circle cx="{number(disc.at[0])}" cy="{number(disc.at[1])}" r="{number(pen.disc)}" '
        f'fill="{TONES[disc.tone].colour}" stroke="{CASING}" stroke-width="{number(pen.case)}"/>'
    )
