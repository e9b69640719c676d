"""From the text of a cell to a value, by the type that the record gives its field."""

from __future__ import annotations

import re
from types import GenericAlias
from typing import Any, Literal, get_args, get_origin

__all__ = ["CellFault", "value_of"]

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
# Angles, counts and places need no more; a database column holds them.
_MOST_DIGITS = 9


class CellFault(ValueError):
    """What is wrong with one cell and how to mend it."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what)
        self.what, self.mend = what, mend


def value_of(column: str, cell: str, kind: Any) -> Any:
    """The value of a cell. ``kind`` is str, bool, int, float, a Literal or tuple[str, ...]. Raises CellFault."""
    if cell != " ".join(cell.split()) or not cell.isprintable():
        raise CellFault(
            f"the cell “{column}” has stray spaces, line breaks or invisible characters",
            f"write it as {' '.join(cell.split())!r}" if cell.split() else "leave it empty",
        )
    if get_origin(kind) is Literal:
        return _choice(column, cell, [choice for choice in get_args(kind) if choice != "own"])
    if kind is bool:
        return _choice(column, cell, ["yes", "no"]) == "yes"
    if kind in (int, float):
        return _number(column, cell, kind)
    if isinstance(kind, GenericAlias):
        return _list(column, cell)
    return cell


def _choice(column: str, cell: str, choices: list[str]) -> str:
    if cell not in choices:
        raise CellFault(f"{cell!r} is no {column}", f"write {', '.join(choices[:-1])} or {choices[-1]}")
    return cell


def _number(column: str, cell: str, kind: type) -> float:
    whole = kind is int
    if not _NUMBER.fullmatch(cell) or (whole and "." in cell):
        raise CellFault(
            f"{cell!r} in “{column}” is no {'whole ' if whole else ''}number", "write digits only"
        )
    if sum(letter.isdigit() for letter in cell) > _MOST_DIGITS:
        raise CellFault(f"the number in “{column}” is too long", f"write at most {_MOST_DIGITS} digits")
    return int(cell) if whole else float(cell)


def _list(column: str, cell: str) -> tuple[str, ...]:
    if not cell:
        return ()
    parts = cell.split("; ")
    if any(not part or ";" in part for part in parts):
        raise CellFault(
            f"the list in “{column}” has an empty item or a separator without its space",
            "separate items by a semicolon and one space, without one at the end",
        )
    if len(set(parts)) < len(parts):
        raise CellFault(f"the list in “{column}” names something twice", "take one of the two out")
    return tuple(parts)
