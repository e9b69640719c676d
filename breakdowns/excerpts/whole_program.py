"""Linear programs in whole numbers: written down exactly, solved by HiGHS, never believed unchecked.

Expressions and rows are exact. The solver (HiGHS, MIT licence; Q. Huangfu and J. A. J. Hall, "Parallelizing
the dual revised simplex method", Mathematical Programming Computation 10, 2018) works in floating point,
so whoever uses an answer has to hold it against the exact rows, or against the thing that they describe.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor, gcd, inf, lcm
from time import monotonic

import highspy
import numpy as np

__all__ = ["Answer", "Linear", "Patience", "WholeProgram", "common_step", "constant", "total"]

_ZERO, _ONE = Fraction(0), Fraction(1)
_LARGEST_EXACT = 10**7


@dataclass(frozen=True)
class Linear:
    """``constant + sum(coefficient * variable)``, variables by number."""

    terms: dict[int, Fraction] = field(default_factory=dict)
    constant: Fraction = _ZERO

    def __add__(self, other: Linear) -> Linear:
        terms = dict(self.terms)
        for number, value in other.terms.items():
            terms[number] = terms.get(number, _ZERO) + value
        return Linear({n: v for n, v in terms.items() if v}, self.constant + other.constant)

    def __sub__(self, other: Linear) -> Linear:
        return self + other.times(-_ONE)

    def times(self, factor: Fraction) -> Linear:
        if not factor:
            return Linear()
        return Linear({n: v * factor for n, v in self.terms.items()}, self.constant * factor)

    def plus(self, value: Fraction | int) -> Linear:
        return Linear(self.terms, self.constant + value)


def constant(value: Fraction | int) -> Linear:
    """An expression without variables."""
    return Linear({}, Fraction(value))


def total(parts: Iterable[Linear]) -> Linear:
    """The sum of expressions; 0 for none."""
    terms: dict[int, Fraction] = {}
    fixed = _ZERO
    for part in parts:
        fixed += part.constant
        for number, value in part.terms.items():
            terms[number] = terms.get(number, _ZERO) + value
    return Linear({n: v for n, v in terms.items() if v}, fixed)


def common_step(values: Iterable[Fraction]) -> Fraction:
    """The greatest step of which all values are whole multiples; 0 for none."""
    found = [value for value in values if value]
    if not found:
        return _ZERO
    scale = lcm(*(value.denominator for value in found))
    return Fraction(gcd(*(int(value * scale) for value in found)), scale)


@dataclass
class Patience:
    """How long may be spent in all: seconds on the clock, and branching nodes per program."""

    seconds: float
    nodes: int
    started: float = field(default_factory=monotonic)

    @property
    def left(self) -> float:
        """Seconds left, not below 0."""
        return max(self.seconds - (monotonic() - self.started), 0.0)


@dataclass(frozen=True)
class Answer:
    """What the solver found.

    ``values``: one number for each variable, whole where it must be (None: no point was found).
    ``bound``: what the objective can be at most, None where nothing is known. ``impossible``: there is no point.
    """

    values: tuple[float, ...] | None
    bound: Fraction | None
    impossible: bool = False

    def of(self, expression: Linear) -> Fraction:
        """An expression over whole variables at this point, exact. Raises ValueError without a point."""
        if self.values is None:
            raise ValueError("There is no point to take a value from.")
        parts = (value * Fraction(self.values[n]) for n, value in expression.terms.items())
        return sum(parts, expression.constant)


class WholeProgram:
    """Variables with bounds, rows ``expression <= 0``, and alternatives of which one must hold."""

    def __init__(self) -> None:
        self.bounds: list[tuple[Fraction, Fraction]] = []
        self.whole: list[bool] = []
        self.rows: list[Linear] = []
        self.impossible = False
        self._known: set[tuple[frozenset[tuple[int, Fraction]], Fraction]] = set()

    def variable(self, low: Fraction | int, high: Fraction | int, *, whole: bool = True) -> Linear:
        """A new variable between two bounds; bounds that cross make the program impossible."""
        self.bounds.append((Fraction(low), Fraction(high)))
        self.whole.append(whole)
        self.impossible = self.impossible or low > high
        return Linear({len(self.bounds) - 1: _ONE})

    def switch(self) -> Linear:
        """0 or 1."""
        return self.variable(0, 1)

    def least(self, expression: Linear) -> Fraction:
        """The least that the bounds alone allow."""
        terms = expression.terms.items()
        return sum((v * self.bounds[n][v < 0] for n, v in terms), expression.constant)

    def most(self, expression: Linear) -> Fraction:
        terms = expression.terms.items()
        return sum((v * self.bounds[n][v > 0] for n, v in terms), expression.constant)

    def at_most(self, left: Linear, right: Linear) -> None:
        """Ask for ``left <= right``. Rows that nothing can break, or that are there, are left out."""
        row = left - right
        if self.most(row) <= 0:
            return
        if self.least(row) > 0:
            self.impossible = True
        if all(self.whole[n] for n in row.terms):
            row = _rounded(row)
        mark = (frozenset(row.terms.items()), row.constant)
        if mark not in self._known:
            self._known.add(mark)
            self.rows.append(row)

    def equal(self, left: Linear, right: Linear) -> None:
        self.at_most(left, right)
        self.at_most(right, left)

    def if_on(self, switch: Linear, left: Linear, right: Linear) -> None:
        """Ask for ``left <= right`` where the switch (an expression of 0 or more) is at least 1."""
        row = left - right
        slack = self.most(row)
        if slack > 0:
            self.at_most(row + switch.times(slack), constant(slack))

    def either(self, *alternatives: Sequence[Linear]) -> None:
        """Ask that in one alternative or more every expression is at most 0."""
        open_ones = [rows for rows in alternatives if all(self.least(row) <= 0 for row in rows)]
        if any(all(self.most(row) <= 0 for row in rows) for rows in open_ones):
            return
        switches = [self.switch() for _ in open_ones]
        self.at_most(constant(1), total(switches))
        for switch, rows in zip(switches, open_ones, strict=True):
            for row in rows:
                self.if_on(switch, row, constant(0))

    # --- solving -------------------------------------------------------------------------------

    def maximise(self, objective: Linear, patience: Patience) -> Answer:
        """The point with the greatest objective, or the best one met when patience ends."""
        if self.impossible:
            return Answer(None, None, impossible=True)
        if not self.bounds:
            return Answer((), objective.constant)
        scale = self._scale(objective)
        solver = self._solver(objective, scale, patience)
        solver.run()
        return self._answer(solver, objective, scale)

    def _scale(self, objective: Linear) -> Fraction:
        """What makes the objective whole steps of 1, where that keeps its figures short."""
        largest = max((abs(value) for value in objective.terms.values()), default=_ONE)
        step = common_step(objective.terms.values())
        if step and largest / step < _LARGEST_EXACT and all(self.whole[n] for n in objective.terms):
            return 1 / step
        return 1 / largest

    def _solver(self, objective: Linear, scale: Fraction, patience: Patience) -> highspy.Highs:
        solver: highspy.Highs = highspy.Highs()  # type: ignore[no-untyped-call]
        options: dict[str, bool | int | float] = {
            "output_flag": False,
            "threads": 1,
            "random_seed": 1,
            "mip_rel_gap": 0.0,
            "mip_abs_gap": 1e-6,
            "mip_max_nodes": patience.nodes,
            "time_limit": max(patience.left, 0.1),
        }
        for name, value in options.items():
            solver.setOptionValue(name, value)
        solver.passModel(self._model(objective, scale))
        return solver

    def _model(self, objective: Linear, scale: Fraction) -> highspy.HighsLp:
        model = highspy.HighsLp()
        count = len(self.bounds)
        model.num_col_, model.num_row_ = count, len(self.rows)
        gains = np.zeros(count)
        for number, value in objective.terms.items():
            gains[number] = float(value * scale)
        model.col_cost_ = gains
        model.sense_ = highspy.ObjSense.kMaximize
        model.col_lower_ = np.array([float(low) for low, _ in self.bounds])
        model.col_upper_ = np.array([float(high) for _, high in self.bounds])
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[whole] for whole in self.whole]
        model.row_lower_ = np.full(len(self.rows), -inf)
        model.row_upper_ = np.array([float(-row.constant) for row in self.rows])
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.cumsum([0, *(len(row.terms) for row in self.rows)]).astype(np.int32)
        model.a_matrix_.index_ = np.array([n for row in self.rows for n in row.terms], dtype=np.int32)
        model.a_matrix_.value_ = np.array([float(v) for row in self.rows for v in row.terms.values()])
        return model

    def _answer(self, solver: highspy.Highs, objective: Linear, scale: Fraction) -> Answer:
        status = solver.getModelStatus()
        if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
            return Answer(None, None, impossible=True)
        info = solver.getInfo()
        bound = None
        # Without a single whole variable the solver has no tree, and its optimum is the bound.
        found = info.mip_dual_bound if any(self.whole) else info.objective_function_value
        if np.isfinite(found) and abs(found) < 1e30:
            bound = Fraction(found) / scale + objective.constant
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return Answer(None, bound)
        values = solver.getSolution().col_value
        pairs = zip(values, self.whole, strict=True)
        return Answer(tuple(float(round(v)) if whole else float(v) for v, whole in pairs), bound)


def _rounded(row: Linear) -> Linear:
    """The same row for whole variables: whole coefficients without a common factor, limit rounded down."""
    if not row.terms:
        return row
    scale = lcm(*(value.denominator for value in row.terms.values()))
    terms = {n: int(value * scale) for n, value in row.terms.items()}
    common = gcd(*terms.values())
    limit = floor(-row.constant * scale / common)
    return Linear({n: Fraction(value // common) for n, value in terms.items()}, Fraction(-limit))
