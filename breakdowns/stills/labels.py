"""Where words stand on a picture: clear of lines, of each other and of the edge, as near to their mark as can be.

Each label has a list of places about its mark; the cheapest is taken, one label after the other in their order, so the
same marks always get the same places. Where all of them would cover something, a free place is sought over the whole
picture. Costs count what would be covered, in units of a line of words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FAR", "Box", "Layout", "Placed", "Wanted"]

Point = tuple[float, float]
Floats = NDArray[np.float64]
_COVERED_LABEL = 40.0
_COVERED_LINE = 8.0
_OUTSIDE = 60.0
_AWAY = 0.35  # for each height of a label off its mark
_LEAST_COVER = 0.5  # for covering anything at all, be it a hair
_SIDES = np.array([  # share of the box's width and height by which its centre lies off, in order of liking
    (0.5, -0.5), (-0.5, -0.5), (0.5, 0.5), (-0.5, 0.5), (0.0, -0.5), (0.0, 0.5), (0.5, 0.0), (-0.5, 0.0),
])  # fmt: skip
_FARTHER = (0.0, 0.35, 0.8, 1.2, 1.6, 2.2, 3.2)  # than just clear of a disc, in lines of words
_ASIDE = 0.3  # of its gap that a label above or below is also off to the side
_GRID = (36, 24)
FAR = 2.4  # lines of words off its mark, where a thin line leads from a label to it
_LED = 40  # free places for which the way to the mark is weighed
_MOST_CELLS = 1_000  # along the longer side


@dataclass(frozen=True)
class Box:
    """An upright rectangle: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float

    def common(self, other: Box) -> float:
        """The area that both cover."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, wide) * max(0.0, high)

    def grown(self, by: float) -> Box:
        """The box with ``by`` more on each side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def nearest(self, at: Point) -> Point:
        """The place in the box that is nearest to a point."""
        return min(max(at[0], self.left), self.right), min(max(at[1], self.top), self.bottom)


@dataclass(frozen=True)
class Wanted:
    """A label to be placed: the size of its box and where it may stand, best first.

    ``aimed`` are (point, direction) pairs: the box stands beyond the point in that direction, or upon it for (0, 0).
    ``near`` are points of its mark about which it is tried on all sides. ``em`` is the height of one of its lines of
    words; None: it has one line.
    """

    width: float
    height: float
    near: tuple[Point, ...] = ()
    aimed: tuple[tuple[Point, Point], ...] = ()
    em: float | None = None

    @property
    def unit(self) -> float:
        """What distances and costs are counted in."""
        return self.height if self.em is None else self.em


@dataclass(frozen=True)
class Placed:
    """A label's box, whether it covers nothing, and the point of its mark that it belongs to."""

    box: Box
    free: bool
    of: Point

    @property
    def off(self) -> float:
        """How far the box is from that point."""
        return math.dist(self.box.nearest(self.of), self.of)


class _Ground:
    """What words would cover, summed up over cells of the picture, so that any box is priced at once.

    Cost per cell; a box is priced for all cells that it touches, so what is priced at nought is clear. (The sums are a
    summed-area table: Crow 1984.)
    """

    def __init__(self, width: float, height: float, cell: float) -> None:
        self._cell = cell
        self._cells = np.zeros((max(1, math.ceil(height / cell)), max(1, math.ceil(width / cell))))
        self._sums: Floats | None = None

    def add_lines(self, lines: Floats, price: float) -> None:
        """Straight lines (N, 4: x1, y1, x2, y2) at a price for each unit of length."""
        if not len(lines):
            return
        start, along = lines[:, :2], lines[:, 2:] - lines[:, :2]
        lengths = np.hypot(along[:, 0], along[:, 1])
        counts = np.ceil(2 * lengths / self._cell).astype(int) + 1
        which = np.repeat(np.arange(len(lines)), counts)
        number = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
        share = (number + 0.5) / counts[which]
        places = np.floor((start[which] + along[which] * share[:, None]) / self._cell).astype(int)
        rows, columns = self._cells.shape
        inside = np.all((places >= 0) & (places < (columns, rows)), axis=1)
        prices = np.maximum(lengths, self._cell)[which] / counts[which] * price
        np.add.at(self._cells, (places[inside, 1], places[inside, 0]), prices[inside])
        self._sums = None

    def add_box(self, box: Box, price: float) -> None:
        """A box at a price for each unit of its area."""
        (x1, y1, x2, y2), *_ = self._touched(np.array([[box.left, box.top, box.right, box.bottom]]))
        self._cells[y1:y2, x1:x2] += price * self._cell**2
        self._sums = None

    def price(self, boxes: Floats) -> Floats:
        """What each box (K, 4) would cover."""
        if self._sums is None:
            self._sums = np.pad(self._cells, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
        x1, y1, x2, y2 = self._touched(boxes).T
        sums = self._sums
        found = sums[y2, x2] - sums[y1, x2] - sums[y2, x1] + sums[y1, x1]
        return np.where(found > 1e-6, found, 0.0)

    def between(self, a: Point, b: Point) -> float:
        """What a thin line from a to b would cross."""
        count = max(2, math.ceil(math.dist(a, b) / self._cell))
        places = np.linspace(a, b, count) / self._cell
        rows, columns = self._cells.shape
        x, y = np.clip(places.astype(int), 0, (columns - 1, rows - 1)).T
        return float(self._cells[y, x].sum())

    def _touched(self, boxes: Floats) -> NDArray[np.int_]:
        rows, columns = self._cells.shape
        low = np.floor(boxes[:, :2] / self._cell)
        high = np.ceil(boxes[:, 2:] / self._cell)
        ends = (columns, rows)
        cells = np.concatenate([np.clip(low, 0, ends), np.clip(high, 0, ends)], axis=1).astype(int)
        cells[:, 2:] = np.maximum(cells[:, 2:], cells[:, :2])
        return cells


class Layout:
    """The labels of one picture. ``lines`` (N, 4) and ``discs`` are what they keep off; ``clear`` is the room that a
    label keeps around itself, ``em`` the height of an ordinary line of words, ``disc`` how far what stands on a mark's
    points reaches."""

    def __init__(
        self,
        size: tuple[float, float],
        lines: Floats,
        discs: Iterable[Box] = (),
        *,
        clear: float,
        em: float,
        disc: float = 0.0,
    ) -> None:
        self._width, self._height = size
        self._clear, self._em = clear, em
        cell = max(clear / 4, max(size) / _MOST_CELLS)
        self._ground = _Ground(*size, cell)
        # The first gaps are clear of a mark's own line or disc wherever the cells lie, so that words move with it evenly.
        line = clear + 2.1 * cell
        self._gaps = (line, *(line + disc + more * em for more in _FARTHER))
        self._ground.add_lines(lines, _COVERED_LINE / em)
        for box in discs:
            self._ground.add_box(box, _COVERED_LINE / em**2)

    def find(self, wanted: Wanted) -> Placed:
        """The cheapest place for a label as things stand; nothing is taken yet. Free places come before all others."""
        boxes, liking, of = self._about(wanted)
        covered = self._covered(boxes)
        near = self._free(boxes, covered, liking, of, wanted.unit)
        if near is not None and near[0] <= liking[covered == 0].min():
            return near[1]  # nothing lies between it and its mark
        free = [one for one in (near, self._anywhere(wanted)) if one is not None]
        if free:
            return min(free, key=lambda one: one[0])[1]
        best = int(np.argmin(covered + liking))
        return Placed(Box(*map(float, boxes[best])), False, of[best])

    def _free(
        self, boxes: Floats, covered: Floats, costs: Floats, of: Sequence[Point], em: float
    ) -> tuple[float, Placed] | None:
        """The cheapest of the free places, and its cost with what lies between it and its mark where it stands far off."""
        free = np.flatnonzero(covered == 0)
        likely = free[np.argsort(costs[free], kind="stable")][:_LED]
        found = []
        for place in likely:
            one = Placed(Box(*map(float, boxes[place])), True, of[place])
            led = self._ground.between(one.box.nearest(one.of), one.of) if one.off > FAR * em else 0.0
            found.append((float(costs[place]) + led, one))
        return min(found, key=lambda pair: pair[0], default=None)

    def take(self, placed: Placed) -> Box:
        """From now on the place is taken, and so is the way to its mark where it is far off."""
        if placed.off > FAR * self._em:
            line = np.array([[*placed.box.nearest(placed.of), *placed.of]])
            self._ground.add_lines(line, _COVERED_LINE / self._em)
        self._ground.add_box(placed.box, _COVERED_LABEL / self._em**2)
        return placed.box

    def _about(self, wanted: Wanted) -> tuple[Floats, Floats, list[Point]]:
        """Boxes about the label's own points, what each costs for its place alone, and its point."""
        w, h = wanted.width, wanted.height
        centres, costs, of = [], [], []
        for rank, (point, (dx, dy)) in enumerate(wanted.aimed):
            upon = dx == dy == 0
            for gap in (0.0,) if upon else self._gaps:
                # Aslant, the room around a box reaches farther than along an axis.
                reach = abs(dx) * w / 2 + abs(dy) * h / 2 + gap * (abs(dx) + abs(dy))
                centres.append((point[0] + dx * reach, point[1] + dy * reach))
                costs.append(_AWAY * (gap / self._em + 0.3 * rank) - (0.3 if upon else 0.15))
                of.append(point)
        later = 2.2 if wanted.aimed else 0.0
        for rank, point in enumerate(wanted.near):
            for gap in self._gaps:
                for side, (across, down) in enumerate(_SIDES):
                    aside = _ASIDE if down else 1.0
                    cx = point[0] + across * w + np.sign(across) * gap * aside
                    cy = point[1] + down * h + np.sign(down) * gap
                    centres.append((cx, cy))
                    costs.append(_AWAY * (gap / self._em + later + 0.5 * rank) + 0.02 * side)
                    of.append(point)
        return self._inside(np.array(centres), w, h), np.array(costs), of

    def _anywhere(self, wanted: Wanted) -> tuple[float, Placed] | None:
        """The best free place on a grid over the whole picture, with its cost; it belongs to the nearest of the label's
        points."""
        w, h, em = wanted.width, wanted.height, wanted.unit
        xs = np.linspace(w / 2 + self._clear, self._width - w / 2 - self._clear, _GRID[0])
        ys = np.linspace(h / 2 + self._clear, self._height - h / 2 - self._clear, _GRID[1])
        centres = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        points = [*(point for point, _ in wanted.aimed), *wanted.near]
        off = np.maximum(np.abs(centres[:, None] - np.array(points)[None]) - np.array([w / 2, h / 2]), 0)
        away = np.hypot(off[..., 0], off[..., 1])
        of = [points[n] for n in np.argmin(away, axis=1)]
        half = np.array([w / 2, h / 2])
        boxes = np.concatenate([centres - half, centres + half], axis=1)
        return self._free(boxes, self._covered(boxes), _AWAY * (away.min(axis=1) / em + 1), of, em)

    def _inside(self, centres: Floats, w: float, h: float) -> Floats:
        """Boxes about the centres, pushed into the picture by at most half their own size."""
        half, size = np.array([w / 2, h / 2]), np.array([self._width, self._height])
        low, high = centres - half, centres + half
        push = np.minimum(np.maximum(0, self._clear - low), half) - np.minimum(
            np.maximum(0, high - size + self._clear), half
        )
        return np.concatenate([low + push, high + push], axis=1)

    def _covered(self, boxes: Floats) -> Floats:
        """What each box covers with its room around; nought where it is free."""
        c = self._clear * (1 - 1e-9)  # a box pushed in by just that much is inside
        wide = boxes + np.array([-c, -c, c, c])
        size = np.array([self._width, self._height])
        out = np.maximum(0, -wide[:, :2]).sum(axis=1) + np.maximum(0, wide[:, 2:] - size).sum(axis=1)
        cost = self._ground.price(wide) + out * _OUTSIDE / self._em
        return np.asarray(cost + _LEAST_COVER * (cost > 0))
