"""Our own choices of numbers, each a row of data/choices.csv with why."""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

__all__ = ["choice"]


@lru_cache(maxsize=1)
def _rows() -> dict[str, int]:
    path = Path(__file__).with_name("data") / "choices.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["name"]: int(row["value"]) for row in csv.DictReader(file)}


def choice(name: str) -> int:
    """The number under ``name``. Raises KeyError for a name that is not in the file."""
    return _rows()[name]
