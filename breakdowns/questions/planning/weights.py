"""The weights of the choosing: data/weights.csv, each with its range and its source, and what an owner changed."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

__all__ = ["TENTH", "Weight", "Weights", "exact", "tenths_down", "tenths_up", "usual_weights", "weight_table"]

TENTH = 10


@dataclass(frozen=True, slots=True)
class Weight:
    """One row of the table: the usual value, the range it may be set to, its unit, what it does and why."""

    name: str
    value: Fraction
    least: Fraction
    most: Fraction
    unit: str
    about: str
    source: str


@lru_cache(maxsize=1)
def weight_table() -> tuple[Weight, ...]:
    """The rows of data/weights.csv, in their order."""
    path = Path(__file__).with_name("data") / "weights.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(
            Weight(
                row["name"], Fraction(row["value"]), Fraction(row["least"]), Fraction(row["most"]),
                row["unit"], row["about"], row["source"],
            )
            for row in csv.DictReader(file)
        )  # fmt: skip


def usual_weights() -> dict[str, tuple[float, str]]:
    """Each weight's usual value and what it does, by name."""
    return {row.name: (float(row.value), row.about) for row in weight_table()}


@lru_cache(maxsize=4096, typed=True)
def exact(number: Fraction | Decimal | float) -> Fraction:
    """A number as a fraction; a float as the decimal that it is written as. Raises ValueError when not finite."""
    if isinstance(number, float):
        if not math.isfinite(number):
            raise ValueError(f"{number} is no number of minutes; give a finite one.")
        return Fraction(repr(number))
    return Fraction(number)


def tenths_up(minutes: Fraction) -> int:
    """Whole tenths of a minute that hold it: what something takes is never taken for less."""
    return math.ceil(minutes * TENTH)


def tenths_down(minutes: Fraction) -> int:
    """Whole tenths of a minute in it: what there is is never taken for more."""
    return math.floor(minutes * TENTH)


@dataclass(frozen=True, slots=True)
class Weights:
    """The weights of one choosing, exact. Units stand in data/weights.csv."""

    person: Fraction
    waiting: Fraction
    passed_over: Fraction
    effort: Fraction
    reserved_share: Fraction
    promised_weeks: Fraction

    @classmethod
    def load(cls, changed: Mapping[str, float | Fraction] | None = None) -> Weights:
        """The usual weights with what was changed. Raises ValueError for an unknown name or a value out of range."""
        values = {row.name: row.value for row in weight_table()}
        ranges = {row.name: row for row in weight_table()}
        for name, value in (changed or {}).items():
            if name not in ranges:
                raise ValueError(f"There is no weight “{name}”; there are {', '.join(ranges)}.")
            row, given = ranges[name], exact(value)
            if not row.least <= given <= row.most:
                raise ValueError(
                    f"The weight “{name}” lies between {float(row.least):g} and {float(row.most):g}, not at "
                    f"{float(given):g}."
                )
            values[name] = given
        return cls(**values)

    def cost(self, minutes: Fraction) -> int:
        """Tenths of a minute that an answer of so many estimated minutes is reckoned to take, at least 1."""
        return max(1, tenths_up(minutes * self.effort))
