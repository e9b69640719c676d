"""The one reader of this stage's data tables (``data/*.csv``)."""

from __future__ import annotations

import csv
from fractions import Fraction
from functools import cache
from importlib.resources import files

from breakdowns.footage.timebase import parse_rational

__all__ = ["exact", "rows"]


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of ``data/NAME.csv``, keyed by its header line."""
    text = files("breakdowns.assembly").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines(), strict=True))


@cache
def exact(name: str, quantity: str) -> Fraction:
    """One number of a table with the columns ``name, value, unit, source``. Raises KeyError, TimeError."""
    found = {row["name"]: row["value"] for row in rows(name)}
    return parse_rational(found[quantity])
