"""The one reader of the tables in ``scripts/data``: CSV files with a source beside each value."""

from __future__ import annotations

import csv
from fractions import Fraction
from functools import cache
from importlib.resources import files

from breakdowns.footage.timebase import parse_rational

__all__ = ["limit", "limits", "phrases", "rows", "syllable_exceptions"]


def rows(name: str) -> list[dict[str, str]]:
    """The rows of ``scripts/data/<name>.csv``, keyed by its header line."""
    text = files("breakdowns.scripts").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), strict=True))


@cache
def limits() -> dict[str, Fraction]:
    """``limits.csv``: every threshold of this stage, exact. Units and sources stand in the table."""
    return {row["name"]: parse_rational(row["value"]) for row in rows("limits")}


def limit(name: str) -> Fraction:
    """One threshold. Raises KeyError for a name that the table does not have."""
    return limits()[name]


@cache
def phrases(kind: str) -> tuple[str, ...]:
    """The phrases of one kind in ``phrases.csv``, lower case, in the table's order."""
    return tuple(row["phrase"] for row in rows("phrases") if row["kind"] == kind)


@cache
def syllable_exceptions() -> dict[str, int]:
    """Words that the spelling rules get wrong, with their syllables."""
    return {row["word"]: int(row["syllables"]) for row in rows("syllable_exceptions")}
