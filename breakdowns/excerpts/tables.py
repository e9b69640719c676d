"""Reading the data files of this stage: rows that know where they stand."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from importlib.resources import files

from breakdowns.footage.timebase import TimeError, parse_rational

__all__ = ["DataError", "Row", "read_table"]


class DataError(ValueError):
    """Data files that contradict themselves; ``faults`` names each by file and row."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = tuple(faults)


@dataclass(frozen=True)
class Row:
    """One row: ``place`` for sentences ("limits.csv, row 7"), cells by column."""

    place: str
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def listed(self, column: str) -> tuple[str, ...]:
        """A cell with several values, ``a;b``."""
        return tuple(part.strip() for part in self[column].split(";") if part.strip())

    def number(self, column: str) -> Fraction:
        """Raises DataError naming file and row."""
        try:
            return parse_rational(self[column])
        except TimeError as fault:
            raise DataError([f"{self.place}: {fault}"]) from None

    def missing(self, optional: tuple[str, ...] = ()) -> list[str]:
        """A sentence for each empty cell that must not be."""
        return [
            f"{self.place}: {column} is empty."
            for column, cell in self.cells.items()
            if not cell and column not in optional
        ]


def read_table(name: str, columns: tuple[str, ...]) -> list[Row]:
    """All rows of ``data/NAME``. Raises DataError where the columns are not the ones expected."""
    text = (files("breakdowns.excerpts") / "data" / name).read_text(encoding="utf-8")
    return list(_rows(name, text, columns))


def _rows(name: str, text: str, columns: tuple[str, ...]) -> Iterator[Row]:
    reader = csv.DictReader(text.splitlines(), strict=True)
    if tuple(reader.fieldnames or ()) != columns:
        raise DataError([f"{name}: the columns must be {', '.join(columns)}."])
    for number, cells in enumerate(reader, start=2):
        if None in cells or None in cells.values():
            raise DataError([f"{name}, row {number}: must have {len(columns)} cells."])
        yield Row(f"{name}, row {number}", {key: cell.strip() for key, cell in cells.items()})
