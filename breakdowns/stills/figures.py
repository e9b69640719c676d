"""From a mark to what is drawn of it: lines, discs at its points, its area, its words and where they would like to stand.

Everything is in the drawing's units (square pixels, y down). One builder for each kind of mark.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from .marks import Mark
from .pen import Pen, next_tone
from .shapes import arc, chain_length, crossing, rounded_off, through_three

__all__ = ["Aim", "Disc", "Figure", "Stroke", "Word", "figure_of"]

Point = tuple[float, float]
Aim = tuple[Point, Point]
_THIN: Final = 0.6  # of a line's width: arcs and what helps to read them
_HERE: Final = (0.0, 0.0)


@dataclass(frozen=True)
class Stroke:
    """A line along a chain of points. ``width`` is a share of a whole line's; thin ones are never dashed."""

    chain: tuple[Point, ...]
    tone: int
    width: float = 1.0
    closed: bool = False
    arrow: bool = False


@dataclass(frozen=True)
class Disc:
    """A point of the mark; drawing on comes to it in the stroke ``stroke``, ``along`` of its length."""

    at: Point
    tone: int
    stroke: int = 0
    along: float = 0.0


@dataclass(frozen=True)
class Word:
    """Words beside a mark; ``small`` is the error after a value. ``aimed`` and ``near`` as in `labels.Wanted`."""

    text: str
    tone: int
    near: tuple[Point, ...] = ()
    aimed: tuple[Aim, ...] = ()
    small: str = ""
    bold: bool = False


@dataclass
class Figure:
    """One mark before anything is written. ``value_at`` is where its measure likes to stand."""

    mark: Mark
    strokes: list[Stroke] = field(default_factory=list)
    discs: list[Disc] = field(default_factory=list)
    area: tuple[Point, ...] = ()
    words: list[Word] = field(default_factory=list)
    value_at: tuple[Aim, ...] = ()
    value_near: tuple[Point, ...] = ()


def figure_of(mark: Mark, points: Sequence[Point], pen: Pen) -> Figure:
    """What is drawn of a mark whose points lie there."""
    return _BUILDERS[mark.kind](mark, list(points), pen)


def _middle(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _centroid(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _towards(a: Point, b: Point) -> Point:
    """The direction from a to b, of length 1; nothing where they are at one place."""
    length = math.dist(a, b)
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > 0 else _HERE


def _beyond(a: Point, b: Point) -> tuple[Aim, ...]:
    """Beyond b, as seen from a."""
    way = _towards(a, b)
    return () if way == _HERE else ((b, way),)


def _beside(a: Point, b: Point) -> tuple[Aim, ...]:
    """On both sides of the middle of a line, the upper one first."""
    x, y = _towards(a, b)
    if (x, y) == _HERE:
        return ()
    up, down = ((y, -x), (-y, x)) if x >= 0 else ((-y, x), (y, -x))
    return (_middle(a, b), up), (_middle(a, b), down)


def _words(text: str, tone: int, near: Sequence[Point], aimed: Sequence[Aim] = ()) -> list[Word]:
    return [Word(text, tone, tuple(near), tuple(aimed))] if text else []


def _point(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    return Figure(mark, discs=[Disc(points[0], mark.tone)], words=_words(mark.text, mark.tone, points))


def _label(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    return Figure(mark, words=_words(mark.text, mark.tone, points, [(points[0], _HERE)]))


def _line(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    a, b = points
    return Figure(
        mark,
        [Stroke((a, b), mark.tone)],
        [Disc(a, mark.tone), Disc(b, mark.tone, along=1)],
        words=_words(mark.text, mark.tone, (b, a), (*_beyond(a, b), *_beyond(b, a))),
        value_at=_beside(a, b),
        value_near=(_middle(a, b), b, a),
    )


def _polyline(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    whole = chain_length(points)
    along = [chain_length(points[: n + 1]) / whole if whole else 0.0 for n in range(len(points))]
    half = len(points) // 2
    return Figure(
        mark,
        [Stroke(tuple(points), mark.tone)],
        [Disc(at, mark.tone, along=share) for at, share in zip(points, along, strict=True)],
        words=_words(mark.text, mark.tone, (points[-1], points[0]), _beyond(points[-2], points[-1])),
        value_at=_beside(points[half - 1], points[half]),
        value_near=(points[half], points[0], points[-1]),
    )


def _freehand(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    near = (points[-1], points[0], points[len(points) // 2])
    return Figure(
        mark, [Stroke(tuple(rounded_off(points)), mark.tone)], words=_words(mark.text, mark.tone, near)
    )


def _arrow(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    a, b = points
    return Figure(
        mark,
        [Stroke((a, b), mark.tone, arrow=True)],
        words=_words(mark.text, mark.tone, (a, b), (*_beyond(b, a), *_beside(a, b))),
        value_at=_beside(a, b),
        value_near=(_middle(a, b), a, b),
    )


def _turn(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    chain = tuple(through_three(points[0], points[1], points[2]))
    middle = chain[len(chain) // 2]
    outward = _beyond(_middle(points[0], points[2]), middle)
    near = (middle, points[0], points[2])
    return Figure(
        mark,
        [Stroke(chain, mark.tone, arrow=True)],
        words=_words(mark.text, mark.tone, near, outward),
    )


def _zone(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    near = (max(points, key=lambda p: p[0]), min(points, key=lambda p: p[1]), _centroid(points))
    return Figure(
        mark,
        [Stroke((*points, points[0]), mark.tone, closed=True)],
        area=tuple(points),
        words=_words(mark.text, mark.tone, near, [(_centroid(points), _HERE)]),
    )


def _opening(vertex: Point, start: float, end: float, radius: float) -> tuple[tuple[Point, ...], Aim]:
    """The arc between two directions (radians) from a vertex, the shorter way round, and the way out of it."""
    sweep = (end - start + math.pi) % math.tau - math.pi
    half = start + sweep / 2
    out = math.cos(half), math.sin(half)
    top = vertex[0] + radius * out[0], vertex[1] + radius * out[1]
    return tuple(arc(vertex, radius, start, sweep)), (top, out)


def _bearing(a: Point, b: Point) -> float:
    return math.atan2(b[1] - a[1], b[0] - a[0])


def _angle(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    one, vertex, two = points
    sides = math.dist(one, vertex), math.dist(vertex, two)
    bend = sides[0] / sum(sides) if sum(sides) else 0.0
    figure = Figure(
        mark,
        [Stroke((one, vertex, two), mark.tone)],
        [Disc(one, mark.tone), Disc(vertex, mark.tone, along=bend), Disc(two, mark.tone, along=1)],
        value_near=(vertex, one, two),
    )
    back: tuple[Aim, ...] = ()
    if min(sides) > 0:
        radius = min(0.5 * min(sides), 80 * pen.unit)
        chain, aim = _opening(vertex, _bearing(vertex, one), _bearing(vertex, two), radius)
        figure.strokes.append(Stroke(chain, mark.tone, _THIN))
        figure.value_at = (aim,)
        back = ((vertex, (-aim[1][0], -aim[1][1])),)
    figure.words = _words(mark.text, mark.tone, (vertex, two, one), back)
    return figure


def _pair(mark: Mark, points: list[Point], pen: Pen) -> Figure:
    a, b, c, d = points
    second = next_tone(mark.tone)
    names = [part.strip() for part in mark.text.split(";", 1)]
    words = _words(names[0], mark.tone, (b, a), (*_beyond(a, b), *_beyond(b, a)))
    words += _words(names[1], second, (d, c), (*_beyond(c, d), *_beyond(d, c))) if len(names) > 1 else []
    figure = Figure(
        mark,
        [Stroke((a, b), mark.tone), Stroke((c, d), second)],
        [Disc(a, mark.tone), Disc(b, mark.tone, 0, 1), Disc(c, second, 1), Disc(d, second, 1, 1)],
        words=words,
        value_near=(_centroid(points), *points),
    )
    if a != b and c != d:
        _add_opening(figure, points, pen)
    return figure


def _add_opening(figure: Figure, points: Sequence[Point], pen: Pen) -> None:
    """The angle between two lines: at their crossing where it lies on both, else at the second, to which the first is
    carried over, parallel and thin."""
    a, b, c, d = points
    one, two = _bearing(a, b), _bearing(c, d)
    at = crossing(a, b, c, d)
    tone = figure.mark.tone
    if at is not None and _on(at, a, b) and _on(at, c, d):
        # The same angle opens on both sides of the crossing: it is drawn where the shorter of the lines is longer.
        ends, starts = min(math.dist(at, b), math.dist(at, d)), min(math.dist(at, a), math.dist(at, c))
        if starts > ends:
            one, two, ends = one + math.pi, two + math.pi, starts
        radius = max(min(0.7 * ends, 110 * pen.unit), 3 * pen.line)
    else:
        at = _middle(c, d)
        reach = min(0.5 * math.dist(c, d), 140 * pen.unit)
        way = math.cos(one) * reach, math.sin(one) * reach
        carried = (at[0] - way[0], at[1] - way[1]), (at[0] + way[0], at[1] + way[1])
        figure.strokes.append(Stroke(carried, tone, _THIN))
        radius = max(0.75 * reach, 3 * pen.line)
    chain, aim = _opening(at, one, two, radius)
    figure.strokes.append(Stroke(chain, tone, _THIN))
    figure.value_at, figure.value_near = (aim,), (aim[0], at, *points)


def _on(at: Point, a: Point, b: Point) -> bool:
    """Whether a place on the line through a and b lies between them."""
    return max(math.dist(at, a), math.dist(at, b)) <= 1.001 * math.dist(a, b)


_BUILDERS: Final[Mapping[str, Callable[[Mark, list[Point], Pen], Figure]]] = {
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
