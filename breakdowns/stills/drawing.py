"""Marks as one SVG drawing: what a browser lays over the frame and what the video's pictures are made of.

There is no other way in which marks are drawn. The drawing holds paths, circles and groups only, letters as outlines,
no style sheets and nothing from outside; its units are the picture's pixels made square. Every line is a light core on
a black casing, so that it can be seen on any picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from .faces import text_path, text_width
from .labels import Box, Layout, Wanted
from .marks import Mark, MarksDocument
from .measures import MeasureRow
from .picture import PictureFacts
from .readout import readout
from .shapes import arc, crossing, cut_to, direction_at_end, rounded_off, through_three

__all__ = ["TONES", "PictureFacts", "draw"]

Point = tuple[float, float]


@dataclass(frozen=True)
class Tone:
    """A kind of line: its colour, and its dashes in line widths."""

    colour: str
    dashes: tuple[float, ...] = ()


TONES: Mapping[int, Tone] = {
    1: Tone("#ffffff"),
    2: Tone("#ffd97a", (3.4, 2.6)),
    3: Tone("#9fc3c9", (5.0, 2.2, 0.9, 2.2)),
}
CASING = "#000000"
_LINE, _CASE, _DISC, _TEXT, _VALUE = 3.0, 2.0, 5.0, 19.0, 25.0  # pixels on a picture 720 high
_LEAST = 0.62  # of these sizes, however small the picture is shown
_LINES_PART = 0.8  # of drawing on; the words come in the rest


@dataclass(frozen=True)
class _Stroke:
    chain: tuple[Point, ...]
    tone: int
    width: float = 1.0
    closed: bool = False
    arrow: bool = False


@dataclass(frozen=True)
class _Word:
    text: str
    small: str
    tone: int
    near: tuple[Point, ...]
    bold: bool


@dataclass
class _Figure:
    """One mark in the drawing's units before anything is written."""

    mark: Mark
    strokes: list[_Stroke] = field(default_factory=list)
    discs: list[tuple[Point, int]] = field(default_factory=list)
    area: tuple[Point, ...] = ()
    words: list[_Word] = field(default_factory=list)


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
    pen = _Pen(picture, width_px)
    rows = _values(measures)
    figures = [
        figure
        for mark in document.marks
        if mark.shown and (figure := _figure(document, mark, pen, rows, mirrored)) is not None
    ]
    lines = [
        (*a, *b)
        for figure in figures
        for stroke in figure.strokes
        for a, b in zip(stroke.chain, stroke.chain[1:], strict=False)
    ]
    discs = [pen.disc_box(at) for figure in figures for at, _ in figure.discs]
    layout = Layout(
        pen.width, pen.height, np.array(lines, float).reshape(-1, 4), discs, pen.unit * (_CASE + _LINE / 2)
    )
    shares = reveal or {}
    parts = [_group(figure, pen, layout, shares.get(figure.mark.id, 1.0)) for figure in figures]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(pen.width)} {_n(pen.height)}">'
        f"{''.join(parts)}</svg>"
    )


class _Pen:
    """Sizes of this drawing: ``unit`` is how much a pixel of a picture 720 high is in the drawing's units."""

    def __init__(self, picture: PictureFacts, width_px: float) -> None:
        self.width, self.height = picture.display_size
        self.across, self.down = picture.stretch
        shown = max(1.0, width_px) / self.width
        short = min(self.width, self.height) * shown
        self.unit = max(_LEAST, short / 720) / shown

    def disc_box(self, at: Point) -> Box:
        r = (_DISC + _CASE) * self.unit
        return Box(at[0] - r, at[1] - r, at[0] + r, at[1] + r)


def _values(measures: Iterable[MeasureRow]) -> dict[str, MeasureRow]:
    """The first defined measure of each mark: the one that stands beside it."""
    found: dict[str, MeasureRow] = {}
    for row in measures:
        if row.mark_id and row.value is not None:
            found.setdefault(row.mark_id, row)
    return found


# --- from marks to lines and words ---------------------------------------------------------------


def _figure(
    document: MarksDocument, mark: Mark, pen: _Pen, rows: Mapping[str, MeasureRow], mirrored: bool
) -> _Figure | None:
    places = document.places(mark)
    if places is None:
        return None
    points = [(x * pen.across, y * pen.down) for x, y in places]
    if mirrored:
        points = [(pen.width - x, y) for x, y in points]
    figure = _BUILDERS[mark.kind](mark, points, pen)
    row = rows.get(mark.id) if mark.value else None
    if row is not None and row.value is not None:
        text, error = readout(row.value, row.sd, row.unit)
        figure.words.insert(0, _Word(text, error, mark.tone, _value_places(figure, points), True))
    return figure


def _next(tone: int) -> int:
    return tone % len(TONES) + 1


def _middle(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _value_places(figure: _Figure, points: Sequence[Point]) -> tuple[Point, ...]:
    """Best in the opening of an angle, else at the middle of the line."""
    arcs = [stroke for stroke in figure.strokes if stroke.width < 1]
    if figure.mark.kind in ("angle", "pair") and arcs:
        chain = arcs[-1].chain
        return (chain[len(chain) // 2], *points)
    if figure.mark.kind == "zone":
        return (_centroid(points), *points[:3])
    if figure.mark.kind == "pair":
        return (_centroid(points), *points)
    chain = figure.strokes[0].chain if figure.strokes else tuple(points)
    return (chain[len(chain) // 2] if len(chain) > 2 else _middle(points[0], points[-1]), *points[:3])


def _centroid(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _named(
    mark: Mark, near: Sequence[Point], tone: int | None = None, text: str | None = None
) -> list[_Word]:
    said = mark.text if text is None else text
    return [_Word(said, "", tone or mark.tone, tuple(near), False)] if said else []


def _point(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    return _Figure(mark, discs=[(points[0], mark.tone)], words=_named(mark, points))


def _label(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    return _Figure(mark, words=_named(mark, points))


def _line(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    discs = [(at, mark.tone) for at in points]
    near = (points[1], points[0], _middle(*points))
    return _Figure(mark, [_Stroke(tuple(points), mark.tone)], discs, words=_named(mark, near))


def _polyline(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    discs = [(at, mark.tone) for at in points]
    near = (points[-1], points[0], points[len(points) // 2])
    return _Figure(mark, [_Stroke(tuple(points), mark.tone)], discs, words=_named(mark, near))


def _freehand(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    chain = tuple(rounded_off(points))
    near = (points[-1], points[0], points[len(points) // 2])
    return _Figure(mark, [_Stroke(chain, mark.tone)], words=_named(mark, near))


def _arrow(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    near = (points[0], points[1], _middle(*points))
    return _Figure(mark, [_Stroke(tuple(points), mark.tone, arrow=True)], words=_named(mark, near))


def _turn(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    chain = tuple(through_three(points[0], points[1], points[2]))
    near = (points[1], points[2], points[0])
    return _Figure(mark, [_Stroke(chain, mark.tone, arrow=True)], words=_named(mark, near))


def _zone(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    outline = (*points, points[0])
    near = (max(points, key=lambda p: p[0]), min(points, key=lambda p: p[1]), _centroid(points))
    return _Figure(
        mark, [_Stroke(outline, mark.tone, closed=True)], area=tuple(points), words=_named(mark, near)
    )


def _near(at: Point, a: Point, b: Point) -> bool:
    """Whether a place on a line lies on its drawn part or hardly beyond: an arc far from both lines explains nothing."""
    length = math.dist(a, b)
    return max(math.dist(at, a), math.dist(at, b)) <= 1.4 * length


def _opening(vertex: Point, one: Point, two: Point, radius: float) -> tuple[Point, ...]:
    """The arc between two directions from a vertex, the shorter way round."""
    start = math.atan2(one[1] - vertex[1], one[0] - vertex[0])
    sweep = (math.atan2(two[1] - vertex[1], two[0] - vertex[0]) - start + math.pi) % math.tau - math.pi
    return tuple(arc(vertex, radius, start, sweep))


def _angle(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    one, vertex, two = points
    figure = _Figure(
        mark, [_Stroke((one, vertex, two), mark.tone)], [(at, mark.tone) for at in points], words=[]
    )
    reach = min(math.dist(one, vertex), math.dist(two, vertex))
    if reach > 0:
        radius = min(0.45 * reach, 90 * pen.unit)
        figure.strokes.append(_Stroke(_opening(vertex, one, two, radius), mark.tone, 0.6))
    figure.words = _named(mark, (vertex, one, two))
    return figure


def _pair(mark: Mark, points: list[Point], pen: _Pen) -> _Figure:
    a, b, c, d = points
    second = _next(mark.tone)
    names = [part.strip() for part in mark.text.split(";", 1)]
    words = _named(mark, (b, a, _middle(a, b)), mark.tone, names[0])
    words += _named(mark, (d, c, _middle(c, d)), second, names[1]) if len(names) > 1 else []
    figure = _Figure(
        mark,
        [_Stroke((a, b), mark.tone), _Stroke((c, d), second)],
        [(a, mark.tone), (b, mark.tone), (c, second), (d, second)],
        words=words,
    )
    at = crossing(a, b, c, d)
    if at is not None and _near(at, a, b) and _near(at, c, d):
        reach = max(min(math.dist(at, b), math.dist(at, d)), 24 * pen.unit)
        radius = min(0.75 * reach, 110 * pen.unit)
        # The directions are those of the lines themselves, wherever on them the crossing lies.
        one, two = (at[0] + b[0] - a[0], at[1] + b[1] - a[1]), (at[0] + d[0] - c[0], at[1] + d[1] - c[1])
        figure.strokes.append(_Stroke(_opening(at, one, two, radius), mark.tone, 0.6))
    return figure


_BUILDERS = {
    "point": _point,
    "line": _line,
    "polyline": _polyline,
    "angle": _angle,
    "pair": _pair,
    "arrow": _arrow,
    "turn": _turn,
    "freehand": _freehand,
    "label": _label,
    "zone": _zone,
}


# --- from lines and words to SVG -----------------------------------------------------------------


def _group(figure: _Figure, pen: _Pen, layout: Layout, share: float) -> str:
    """A mark drawn up to ``share``. Its words are placed even while they are not seen, so that nothing jumps."""
    share = min(1.0, max(0.0, share))
    lines = min(1.0, share / _LINES_PART)
    seen = max(0.0, (share - _LINES_PART) / (1 - _LINES_PART))
    parts = list(_area(figure, seen)) if figure.area else []
    parts += _strokes(figure, pen, lines)
    parts += [_disc(at, tone, pen) for k, (at, tone) in enumerate(figure.discs) if _reached(figure, k, lines)]
    words = [_word(word, pen, layout) for word in figure.words]
    if seen > 0:
        parts += words if seen >= 1 else [f'<g opacity="{_n(seen)}">{"".join(words)}</g>']
    title = figure.mark.text or figure.mark.kind
    return f"<g data-mark={quoteattr(figure.mark.id)}><title>{escape(title)}</title>{''.join(parts)}</g>"


def _reached(figure: _Figure, number: int, lines: float) -> bool:
    """Whether drawing on has come to a disc: the first stands at once, the others when their line gets there."""
    if lines <= 0:
        return False
    last = max(1, len(figure.discs) - 1)
    return lines >= 1 or lines >= number / last


def _strokes(figure: _Figure, pen: _Pen, lines: float) -> Iterator[str]:
    """The lines one after the other in the share of drawing that each has."""
    count = len(figure.strokes)
    for k, stroke in enumerate(figure.strokes):
        own = min(1.0, max(0.0, lines * count - k))
        chain = cut_to(stroke.chain, own)
        if len(chain) >= 2:
            yield _stroke(replace(stroke, closed=stroke.closed and own >= 1), chain, pen)


def _stroke(stroke: _Stroke, chain: list[Point], pen: _Pen) -> str:
    tone, width = TONES[stroke.tone], _LINE * stroke.width * pen.unit
    head = ""
    if stroke.arrow:
        head, chain = _head(chain, tone, pen)
    path = _path(chain, stroke.closed)
    around = width + 2 * _CASE * pen.unit
    dashes = " ".join(_n(part * width) for part in tone.dashes) if stroke.width >= 1 else ""
    dashed = f' stroke-dasharray="{dashes}" stroke-linecap="butt"' if dashes else ' stroke-linecap="round"'
    return (
        f'<path d="{path}" fill="none" stroke="{CASING}" stroke-width="{_n(around)}" stroke-linecap="round" '
        f'stroke-linejoin="round"/><path d="{path}" fill="none" stroke="{tone.colour}" stroke-width="{_n(width)}" '
        f'stroke-linejoin="round"{dashed}/>{head}'
    )


def _head(chain: list[Point], tone: Tone, pen: _Pen) -> tuple[str, list[Point]]:
    """An arrow's head at the end of a chain, and the chain shortened so that it ends inside the head."""
    long, half = 17 * pen.unit, 7.5 * pen.unit
    tip, angle = chain[-1], direction_at_end(chain, long)
    if angle is None:
        return "", chain
    cos, sin = math.cos(angle), math.sin(angle)
    back = (tip[0] - long * cos, tip[1] - long * sin)
    corners = [
        tip,
        (back[0] - half * sin, back[1] + half * cos),
        (back[0] + half * sin, back[1] - half * cos),
    ]
    length = sum(math.dist(a, b) for a, b in pairwise(chain))
    shorter = cut_to(chain, max(0.02, 1 - 0.8 * long / length)) if length > 0 else chain
    case = 2 * _CASE * pen.unit
    return (
        f'<path d="{_path(corners, True)}" fill="{tone.colour}" stroke="{CASING}" stroke-width="{_n(case)}" '
        f'stroke-linejoin="round" paint-order="stroke"/>'
    ), shorter


def _area(figure: _Figure, seen: float) -> Iterator[str]:
    tone = TONES[figure.mark.tone]
    if seen > 0:
        yield f'<path d="{_path(figure.area, True)}" fill="{tone.colour}" fill-opacity="{_n(0.22 * seen)}"/>'


def _disc(at: Point, tone: int, pen: _Pen) -> str:
    return (
        f'<circle cx="{_n(at[0])}" cy="{_n(at[1])}" r="{_n(_DISC * pen.unit)}" fill="{TONES[tone].colour}" '
        f'stroke="{CASING}" stroke-width="{_n(_CASE * pen.unit)}"/>'
    )


def _word(word: _Word, pen: _Pen, layout: Layout) -> str:
    size = (_VALUE if word.bold else _TEXT) * pen.unit
    weight = 700 if word.bold else 600
    small = 0.62 * size
    gap = 0.22 * size if word.small else 0.0
    first = text_width(word.text, size, weight)
    width = first + gap + (text_width(word.small, small, 500) if word.small else 0.0)
    box = layout.place(Wanted(width, 0.96 * size, word.near))
    base = box.bottom - 0.2 * size
    path = text_path(word.text, (box.left, base), size, weight=weight)
    if word.small:
        path += text_path(word.small, (box.left + first + gap, base), small, weight=500)
    case = _n(2 * 1.9 * pen.unit)
    # The outline is drawn by a path of its own under the letters, since not every reader knows paint-order.
    return (
        f'<path d="{path}" fill="{CASING}" stroke="{CASING}" stroke-width="{case}" stroke-linejoin="round"/>'
        f'<path d="{path}" fill="{TONES[word.tone].colour}"/>'
    )


def _path(chain: Sequence[Point], closed: bool = False) -> str:
    return (
        "M"
        + "L".join(f"{_n(x)} {_n(y)}" for x, y in (chain[:-1] if closed and chain[0] == chain[-1] else chain))
    ) + ("Z" if closed else "")


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
