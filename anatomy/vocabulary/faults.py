"""What is wrong with a data file, said so that whoever wrote the line can mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Fault", "VocabularyFaults"]


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault: the file, its line (the header is line 1, the file as a whole line 0), what, and how to mend it."""

    file: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        where = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{where}: {self.what}; {self.mend}."


class VocabularyFaults(ValueError):
    """Every fault of a folder at once, sorted by file and line, in ``faults``."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(set(faults)))
        super().__init__("\n".join(map(str, self.faults)))
