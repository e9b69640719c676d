"""Recall and precision of the screening on the labelled tables: ``python -m tests.questions.measuring [--misses TABLE]``.

Sealed tables are counted only; their misses are never printed.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from breakdowns.questions.screening import screen

DATA = Path(__file__).parent / "data"


class Count(NamedTuple):
    """How the screening did: flagged rightly, missed, flagged wrongly, rightly left alone."""

    hits: int
    missed: int
    false: int
    silent: int

    @property
    def recall(self) -> float:
        """The share of what must not wait that was flagged."""
        return self.hits / (self.hits + self.missed) if self.hits + self.missed else 1.0

    @property
    def precision(self) -> float:
        """The share of flags that were right."""
        return self.hits / (self.hits + self.false) if self.hits + self.false else 1.0


def tables(prefix: str = "") -> list[Path]:
    """The labelled tables whose names begin with ``questions_`` and ``prefix``."""
    return sorted(DATA.glob(f"questions_{prefix}*.csv"))


def rows(table: Path) -> Iterator[dict[str, str]]:
    """The rows of a table."""
    with table.open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def counted(paths: list[Path]) -> Count:
    """The count over all rows of the tables."""
    hits = missed = false = silent = 0
    for table in paths:
        for row in rows(table):
            flagged, wanted = bool(screen(row["text"]).flags), row["red_flag"] == "yes"
            hits += flagged and wanted
            missed += wanted and not flagged
            false += flagged and not wanted
            silent += not flagged and not wanted
    return Count(hits, missed, false, silent)


def main(arguments: list[str]) -> None:
    """Prints the figures, and on request the misses of a table that is not sealed."""
    for label, paths in [(t.stem, [t]) for t in tables()] + [
        (f"all {kind}", tables(kind)) for kind in ("open", "sealed", "fresh", "second")
    ]:
        if paths:
            count = counted(paths)
            sys.stdout.write(
                f"{label:28} recall {count.recall:.3f} ({count.hits}/{count.hits + count.missed})  "
                f"precision {count.precision:.3f} (wrong {count.false} of {count.false + count.silent})\n"
            )
    if arguments[:1] == ["--misses"]:
        for table in tables(arguments[1]):
            if "sealed" in table.stem:
                sys.stdout.write("A sealed table is counted only.\n")
                continue
            for row in rows(table):
                flags = screen(row["text"]).flags
                if bool(flags) != (row["red_flag"] == "yes"):
                    said = "; ".join(f"{f.key} {f.because}" for f in flags)
                    sys.stdout.write(f"{row['red_flag']:3} {row['flag_key']}: {row['text']}\n      {said}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
