"""What an entry's page is put together from: links, facts, tables, numbered sources."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from anatomy.vocabulary.collection import Vocabulary

__all__ = [
    "Cell",
    "Desk",
    "EntryPage",
    "Fact",
    "Link",
    "Names",
    "Row",
    "SourceLine",
    "Table",
    "Told",
    "fact_of",
    "plain",
]


@dataclass(frozen=True, slots=True)
class Link:
    """Words on a page, and the entry they lead to ("" for none)."""

    text: str
    kind: str = ""
    name: str = ""


Cell = tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Fact:
    label: str
    value: Cell


@dataclass(frozen=True, slots=True)
class Row:
    """Cells in the order of the table's heads; ``sources`` are numbers in the page's own list."""

    cells: tuple[Cell, ...]
    note: str = ""
    sources: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    title: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Names:
    label: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SourceLine:
    number: int
    citation: str
    basis: str


@dataclass(frozen=True)
class EntryPage:
    """``names`` by style, without the site's own, which stand apart. ``guarded``: a caution belongs on it."""

    kind: str
    name: str
    title: str
    latin: str
    gloss: str
    note: str
    facts: tuple[Fact, ...]
    tables: tuple[Table, ...]
    names: tuple[Names, ...]
    sources: tuple[SourceLine, ...]
    guarded: bool
    is_own: bool


@dataclass
class Told:
    facts: list[Fact] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)


class Desk:
    """A page in the making: the vocabulary, and the sources in the order in which they were used."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._numbers: dict[str, int] = {}

    def cite(self, keys: Iterable[str]) -> tuple[int, ...]:
        numbers = {self._numbers.setdefault(key, len(self._numbers) + 1) for key in keys}
        return tuple(sorted(numbers))

    def sources(self) -> tuple[SourceLine, ...]:
        found = self.vocabulary.sources
        return tuple(
            SourceLine(number, found[key].citation, found[key].basis) for key, number in self._numbers.items()
        )

    def link(self, kind: str, name: str, text: str = "") -> Link:
        """A link where there is such an entry, else only its words."""
        known = self.vocabulary.has(kind, name)
        return Link(text or name, kind, name) if known else Link(text or name)

    def links(self, kind: str, names: Iterable[str]) -> Cell:
        return tuple(self.link(kind, name) for name in names if name)


def plain(text: str) -> Cell:
    return (Link(text),) if text else ()


def fact_of(label: str, value: Cell | str) -> Fact:
    return Fact(label, plain(value) if isinstance(value, str) else value)
