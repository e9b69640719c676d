"""The contact map as one frozen collection with fast look-ups by place. No file and no database here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from anatomy.contact.entries import Caution, Mechanism, Part, Place, Risk, SurfaceMark, Word

__all__ = ["ROOT", "ContactFacts"]

ROOT = "body"
"""The key of the place that all others lie within."""


@dataclass(frozen=True, eq=False)
class ContactFacts:
    """Every record of the contact map; made by ``ContactFacts.of`` from records that were checked."""

    places: Mapping[str, Place]
    risks: tuple[Risk, ...]
    mechanisms: Mapping[str, Mechanism]
    cautions: tuple[Caution, ...]
    surface: tuple[SurfaceMark, ...]
    parts: tuple[Part, ...]
    words: tuple[Word, ...]

    @classmethod
    def of(cls, tables: Mapping[str, Iterable[Any]]) -> ContactFacts:
        """From the records of each table, in the order of their files."""
        return cls(
            places={place.key: place for place in tables["places"]},
            risks=tuple(tables["risks"]),
            mechanisms={one.key: one for one in tables["mechanisms"]},
            cautions=tuple(tables["cautions"]),
            surface=tuple(tables["surface"]),
            parts=tuple(tables["parts"]),
            words=tuple(tables["words"]),
        )

    def children(self, key: str) -> tuple[str, ...]:
        """The places straight within one, in the order of the file."""
        return self._children.get(key, ())

    def is_leaf(self, key: str) -> bool:
        """Whether a place has no parts of its own."""
        return key not in self._children

    def below(self, key: str) -> tuple[str, ...]:
        """All places within one, near ones first, itself left out."""
        return self._below[key]

    def above(self, key: str) -> tuple[str, ...]:
        """All places that one lies within, near ones first, itself left out."""
        return self._above[key]

    def is_within(self, key: str, other: str) -> bool:
        """Whether a place is another or lies within it."""
        return key == other or other in self._above_sets[key]

    def risks_at(self, key: str) -> tuple[Risk, ...]:
        """The risks that name this very place."""
        return self._risks_at.get(key, ())

    def places_of(self, kind: str, name: str) -> tuple[str, ...]:
        """The places under which an entry of the vocabulary lies."""
        return self._places_of.get((kind, name), ())

    def places_for(self, part: str, aspects: frozenset[str]) -> tuple[str, ...]:
        """The places meant by a part with these aspects: the rows that need most of them count, all of equal rank."""
        fitting = [row for row in self._parts_named.get(part, ()) if aspects.issuperset(row.aspects)]
        most = max((len(row.aspects) for row in fitting), default=0)
        found = [set(row.places) for row in fitting if len(row.aspects) == most]
        if not found:
            return ()
        both = set.intersection(*found) or set.union(*found)
        return tuple(key for key in self.places if key in both)

    def uses(self, part: str, aspect: str) -> bool:
        """Whether an aspect says anything of a part."""
        return any(aspect in row.aspects for row in self._parts_named.get(part, ()))

    @cached_property
    def _parts_named(self) -> dict[str, tuple[Part, ...]]:
        return _grouped((row.part, row) for row in self.parts)

    @cached_property
    def _children(self) -> dict[str, tuple[str, ...]]:
        return _grouped((larger, place.key) for place in self.places.values() for larger in place.within)

    @cached_property
    def _below(self) -> dict[str, tuple[str, ...]]:
        return {key: _reached(key, self._children) for key in self.places}

    @cached_property
    def _above(self) -> dict[str, tuple[str, ...]]:
        within = {key: place.within for key, place in self.places.items()}
        return {key: _reached(key, within) for key in self.places}

    @cached_property
    def _above_sets(self) -> dict[str, frozenset[str]]:
        return {key: frozenset(larger) for key, larger in self._above.items()}

    @cached_property
    def _risks_at(self) -> dict[str, tuple[Risk, ...]]:
        return _grouped((key, risk) for risk in self.risks for key in risk.places)

    @cached_property
    def _places_of(self) -> dict[tuple[str, str], tuple[str, ...]]:
        pairs = dict.fromkeys(((r.kind, r.of), key) for r in self.risks for key in r.places)
        return _grouped(pairs)


def _reached(key: str, steps: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    found = dict.fromkeys(steps.get(key, ()))
    waiting = list(found)
    for one in waiting:
        for further in steps.get(one, ()):
            if further not in found:
                found[further] = None
                waiting.append(further)
    return tuple(found)


def _grouped(pairs: Iterable[tuple[Any, Any]]) -> dict[Any, tuple[Any, ...]]:
    found: dict[Any, list[Any]] = defaultdict(list)
    for key, value in pairs:
        found[key].append(value)
    return {key: tuple(values) for key, values in found.items()}
