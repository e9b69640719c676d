"""Seconds used and seconds shown again of a source whose excerpts overlap.

Views that could never meet add up. Views that might meet form a knot; for a knot one variable stands for
the measure of its union and one for what is shown again, and rows bound them from below:

- For any set S of intervals, union >= sum of lengths - sum of the overlaps of all pairs
  (C. E. Bonferroni, 1936: the second inequality), with equality where no three of S meet.
- For any forest T of pairs, length in all - union >= sum of the overlaps along T (D. Hunter, "An upper
  bound for the probability of a union", Journal of Applied Probability 13, 1976). Intervals on a
  line have a forest with equality: each one joined to the earlier one that ends last.

Rows for sets and forests are added when a point needs them. Every cut of the plan keeps all of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from .cut_model import ViewModel
from .cut_points import Key
from .whole_program import Linear, WholeProgram, constant, total

__all__ = ["Knot", "Unions"]

_ZERO = Fraction(0)
Pair = tuple[Key, Key]
Spans = dict[Key, tuple[Fraction, Fraction]]
"""Where the moving views of a plan stand in their source, by their keys in the given plan."""


class Knot:
    """Views of one source that overlap, directly or through others, as they were given."""

    def __init__(self, program: WholeProgram, views: dict[Key, ViewModel]) -> None:
        self.views = views
        self.keys = list(views)
        first = min(view.cut.first for view in views.values())
        last = max(view.cut.last for view in views.values())
        self.used = total(view.played for view in views.values())
        self.cells: list[Cell] = []
        if len(views) > 1:
            self.used = program.variable(0, last - first, whole=False)
            self.cells = cells_of(program, views)
            most = [program.variable(0, cell.length, whole=False) for cell in self.cells]
            for cell, used in zip(self.cells, most, strict=True):
                for shown in cell.shown:
                    program.at_most(shown, used)
            program.at_most(total(most), self.used)
        self.again: Linear | None = None

    def meet(self, one: Key, other: Key) -> bool:
        """Whether two views overlap as they were given."""
        a, b = self.views[one].cut, self.views[other].cut
        return a.first < b.last and b.first < a.last


@dataclass(frozen=True)
class Cell:
    """A stretch of the source between neighbouring in and out points as they were given.

    ``shown``: seconds of it that each view shows whose given stretch holds it.
    """

    length: Fraction
    shown: tuple[Linear, ...]


def cells_of(program: WholeProgram, views: dict[Key, ViewModel]) -> list[Cell]:
    """The cells of some views.

    What a view gives up at its start fills its cells from the front, each before the next; what it gives up
    at its end, from the back.
    """
    borders = sorted({point for view in views.values() for point in (view.cut.first, view.cut.last)})
    cells = list(pairwise(borders))
    shown: list[list[Linear]] = [[] for _ in cells]
    for view in views.values():
        mine = [n for n, (start, _) in enumerate(cells) if view.cut.first <= start < view.cut.last]
        lengths = [cells[n][1] - cells[n][0] for n in mine]
        front = _filled(program, lengths, view.start.plus(-view.cut.first))
        back = _filled(program, lengths[::-1], constant(view.cut.last) - view.end)[::-1]
        for n, length, lost, gone in zip(mine, lengths, front, back, strict=True):
            program.at_most(lost + gone, constant(length))
            shown[n].append(constant(length) - lost - gone)
    return [Cell(end - start, tuple(parts)) for (start, end), parts in zip(cells, shown, strict=True)]


def _filled(program: WholeProgram, lengths: list[Fraction], amount: Linear) -> list[Linear]:
    """An amount poured into vessels in a row, each full before the next gets any."""
    parts = [program.variable(0, length, whole=False) for length in lengths]
    for (part, length), (after, more) in pairwise(zip(parts, lengths, strict=True)):
        full = program.switch()
        program.at_most(full.times(length), part)
        program.at_most(after, full.times(more))
    program.equal(total(parts), amount)
    return parts


class Unions:
    """All knots of a plan, and the variables that describe how pairs of views lie to each other."""

    def __init__(self, program: WholeProgram, views: dict[Key, ViewModel]) -> None:
        self.program, self.views = program, views
        self.knots: dict[str, list[Knot]] = {}
        for source in {view.cut.view.source for view in views.values()}:
            mine = {
                key: view
                for key, view in views.items()
                if view.cut.view.source == source and view.cut.first < view.cut.last
            }
            self.knots[source] = [Knot(program, part) for part in _tied(mine)]
        self._before: dict[Pair, Linear] = {}
        self._at_most: dict[Pair, Linear] = {}
        self._at_least: dict[Pair, Linear] = {}
        self._said: set[tuple[str, frozenset[Pair] | frozenset[Key]]] = set()

    def used(self, source: str) -> Linear:
        """Seconds of the source that any view shows."""
        return total(knot.used for knot in self.knots.get(source, ()))

    def replayed(self, source: str) -> Linear:
        """Seconds of the source shown again."""
        made = []
        for knot in self.knots.get(source, ()):
            if len(knot.keys) > 1:
                if knot.again is None:
                    most = total(view.played for view in knot.views.values())
                    knot.again = self.program.variable(0, self.program.most(most), whole=False)
                    self.program.at_most(total(self._surely_again(knot)), knot.again)
                made.append(knot.again)
        return total(made)

    def _surely_again(self, knot: Knot) -> Iterator[Linear]:
        """What a cell shows beyond its own length it shows again."""
        for cell in knot.cells:
            if len(cell.shown) > 1:
                again = self.program.variable(0, cell.length * len(cell.shown), whole=False)
                self.program.at_most(total(cell.shown).plus(-cell.length), again)
                yield again

    def repeat(self, source: str, most: int) -> None:
        """A cell shows at most its length for each time that a moment of it may be seen."""
        for knot in self.knots.get(source, ()):
            for cell in knot.cells:
                self.program.at_most(total(cell.shown), constant(cell.length * (most + 1)))

    # --- how two views lie ---------------------------------------------------------------------

    def before(self, one: Key, other: Key) -> Linear:
        """A switch that can be on only where ``one`` ends before ``other`` starts."""
        if (one, other) not in self._before:
            made = self.program.switch()
            self.program.if_on(made, self.views[one].end, self.views[other].start)
            self._before[one, other] = made
            if (other, one) in self._before:
                self.program.at_most(made + self._before[other, one], constant(1))
        return self._before[one, other]

    def apart(self, one: Key, other: Key) -> Linear:
        """A switch that can be on only where the two do not meet."""
        return self.before(one, other) + self.before(other, one)

    def overlap_at_most(self, one: Key, other: Key) -> Linear:
        """A variable that is not more than the overlap, and can be all of it."""
        pair = (min(one, other), max(one, other))
        if pair not in self._at_most:
            a, b = (self.views[key] for key in pair)
            made = self.program.variable(0, _most_overlap(a, b), whole=False)
            self.program.at_most(made, a.played)
            self.program.at_most(made, b.played)
            meets = constant(1) - self.apart(*pair)
            self.program.at_most(made, meets.times(_most_overlap(a, b)))
            for left, right, switch in ((a, b, self.before(*pair)), (b, a, self.before(pair[1], pair[0]))):
                gap = self.program.most(made - left.end + right.start)
                if gap > 0:
                    self.program.at_most(made - left.end + right.start, switch.times(gap))
            self._at_most[pair] = made
        return self._at_most[pair]

    def overlap_at_least(self, one: Key, other: Key) -> Linear:
        """A variable that is not less than the overlap, and need not be more."""
        pair = (min(one, other), max(one, other))
        if pair not in self._at_least:
            a, b = (self.views[key] for key in pair)
            made = self.program.variable(0, _most_overlap(a, b), whole=False)
            # The overlap is the least of these four, or nothing.
            self.program.either(
                [a.played - made],
                [b.played - made],
                [a.end - b.start - made],
                [b.end - a.start - made],
            )
            self._at_least[pair] = made
        return self._at_least[pair]

    # --- further rows --------------------------------------------------------------------------

    def say_used(self, source: str, spans: Spans) -> bool:
        """Rows that bring the union to what it is at these spans; False if they are all there."""
        new = False
        for knot in self.knots.get(source, ()):
            chain = _chain({key: spans[key] for key in knot.keys if key in spans})
            if len(knot.keys) > 1 and self._once("used", frozenset(chain)):
                pairs = [(a, b) for n, a in enumerate(chain) for b in chain[n + 1 :] if knot.meet(a, b)]
                length = total(knot.views[key].played for key in chain)
                twice = total(self.overlap_at_most(a, b) for a, b in pairs)
                self.program.at_most(length - twice, knot.used)
                new = True
        return new

    def say_replayed(self, source: str, spans: Spans) -> bool:
        """Rows that bring what is shown again to what it is at these spans."""
        new = False
        for knot in self.knots.get(source, ()):
            forest = _forest({key: spans[key] for key in knot.keys if key in spans})
            if forest and knot.again is not None and self._once("again", frozenset(forest)):
                self.program.at_most(total(self.overlap_at_least(a, b) for a, b in forest), knot.again)
                new = True
        return new

    def say_repeated(self, source: str, most: int, spans: Spans) -> bool:
        """Of ``most + 2`` views that meet in one moment, two must lie apart or one be left out.

        Intervals have a moment in common as soon as any two of them meet (E. Helly, 1923, on a line).
        """
        new = False
        mine = {key: spans[key] for knot in self.knots.get(source, ()) for key in knot.keys if key in spans}
        for start, _ in sorted(set(mine.values())):
            there = [key for key, (a, b) in mine.items() if a <= start < b]
            for crowd in (there[n : n + most + 2] for n in range(len(there) - most - 1)):
                if self._once(f"repeated {most}", frozenset(crowd)):
                    ways = [self.apart(a, b) for n, a in enumerate(crowd) for b in crowd[n + 1 :]]
                    ways += [constant(1) - self.views[key].stays for key in crowd]
                    self.program.at_most(constant(1), total(ways))
                    new = True
        return new

    def _once(self, what: str, which: frozenset[Pair] | frozenset[Key]) -> bool:
        if (what, which) in self._said:
            return False
        self._said.add((what, which))
        return True


def _most_overlap(a: ViewModel, b: ViewModel) -> Fraction:
    return max(min(a.cut.last, b.cut.last) - max(a.cut.first, b.cut.first), _ZERO)


def _tied(views: dict[Key, ViewModel]) -> list[dict[Key, ViewModel]]:
    """Groups of views that overlap in a chain."""
    groups: list[dict[Key, ViewModel]] = []
    reach = _ZERO
    for key, view in sorted(views.items(), key=lambda item: (item[1].cut.first, item[0])):
        if not groups or view.cut.first >= reach:
            groups.append({})
            reach = view.cut.last
        groups[-1][key] = view
        reach = max(reach, view.cut.last)
    return groups


def _chain(spans: Spans) -> list[Key]:
    """Views whose union is that of all, no three of them meeting."""
    chosen: list[Key] = []
    left = sorted(spans, key=lambda key: (spans[key][0], -spans[key][1]))
    reach: Fraction | None = None
    while left:
        if reach is None or spans[left[0]][0] > reach:
            best = left[0]
        else:
            touching = [key for key in left if spans[key][0] <= reach]
            best = max(touching, key=lambda key: spans[key][1])
        chosen.append(best)
        reach = spans[best][1]
        left = [key for key in left if spans[key][1] > reach]
    return chosen


def _forest(spans: Spans) -> list[Pair]:
    """Each view joined to the earlier one that ends last, where the two overlap."""
    pairs: list[Pair] = []
    furthest: Key | None = None
    for key in sorted(spans, key=lambda k: (spans[k], k)):
        if furthest is not None and spans[key][0] < spans[furthest][1]:
            pairs.append((min(key, furthest), max(key, furthest)))
        if furthest is None or spans[key][1] > spans[furthest][1]:
            furthest = key
    return pairs
