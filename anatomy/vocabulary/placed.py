"""Records with the file and line that they were read from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from anatomy.vocabulary.faults import Fault
from anatomy.vocabulary.naming import motion_key

__all__ = ["Placed", "Rows", "names_in"]


@dataclass(frozen=True, slots=True)
class Placed:
    """A record with the file and line that it was read from."""

    file: str
    line: int
    record: Any

    def fault(self, what: str, mend: str) -> Fault:
        """A fault of this line."""
        return Fault(self.file, self.line, what, mend)


Rows = dict[str, list[Placed]]


def names_in(rows: Rows, table: str) -> set[str]:
    """The names that stand in a table; motions as "joint: motion"."""
    if table == "motions":
        return {motion_key(row.record.joint, row.record.name) for row in rows[table]}
    return {row.record.movement if table == "chains" else row.record.name for row in rows[table]}
