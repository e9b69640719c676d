"""Which record stands in which file, and what its cells may hold. The dataclasses of ``entries`` are the schema."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import Any, get_type_hints

from anatomy.vocabulary import entries

__all__ = ["TABLES", "Table", "table_of_file"]


@dataclass(frozen=True)
class Table:
    """A kind of record: its files are ``name.csv`` and ``name_<anything>.csv``.

    ``key`` are the fields that together may stand once only; ``needed`` are the text cells that can't be empty.
    """

    name: str
    record: type
    key: tuple[str, ...]
    needed: tuple[str, ...]

    @property
    def columns(self) -> tuple[str, ...]:
        """The header line that its files must have."""
        return tuple(field.name for field in fields(self.record))

    @property
    def types(self) -> dict[str, Any]:
        """The type of each column's value."""
        return _types(self.record)

    def key_of(self, record: Any) -> tuple[Any, ...]:
        """The values that tell this record from all others of its table."""
        return tuple(getattr(record, name) for name in self.key)


@cache
def _types(record: type) -> dict[str, Any]:
    return get_type_hints(record)


def _table(name: str, record: type, key: str, needed: str = "") -> Table:
    return Table(name, record, tuple(key.split()), tuple((needed or key).split()))


TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        _table("sources", entries.Source, "key", "key citation"),
        _table("planes", entries.Plane, "name", "name axis"),
        _table("joints", entries.Joint, "name"),
        _table("motions", entries.Motion, "joint name"),
        _table("nerves", entries.Nerve, "name"),
        _table("groups", entries.Group, "name", "name members"),
        _table("muscles", entries.Muscle, "name"),
        _table("actions", entries.Action, "muscle joint motion"),
        _table("ranges", entries.Range, "joint motion population note sources", "joint motion"),
        _table("structures", entries.Structure, "name"),
        _table("contractions", entries.Contraction, "name"),
        _table("phases", entries.Phase, "movement name"),
        _table("segments", entries.Segment, "name"),
        _table("chains", entries.Chain, "movement", "movement order"),
        _table("concepts", entries.Concept, "name"),
        _table("terms", entries.Term, "text kind of", "text of"),
    )
}


def table_of_file(name: str) -> Table | None:
    """The table that a file of this name belongs to: ``terms_body.csv`` → terms; None for a stranger."""
    stem = name.removesuffix(".csv")
    return TABLES.get(stem) or TABLES.get(stem.partition("_")[0])
