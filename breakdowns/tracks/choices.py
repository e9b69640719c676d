"""Bounds of the tracks, from ``data/choices.csv``, where each stands with its reason and source."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

__all__ = ["choice"]


@cache
def _choices() -> dict[str, int]:
    path = Path(__file__).with_name("data") / "choices.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["name"]: int(row["value"]) for row in csv.DictReader(file)}


def choice(name: str) -> int:
    """The whole number of that name, in the unit of its row. Raises KeyError."""
    return _choices()[name]
