"""The vocabulary as one frozen collection with fast look-ups by standard name. No file and no database here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, TypeVar, get_args

from anatomy.vocabulary.entries import (
    Action,
    Chain,
    Concept,
    Contraction,
    Entry,
    Group,
    Joint,
    Kind,
    Motion,
    Muscle,
    Nerve,
    Phase,
    Plane,
    Range,
    Record,
    Segment,
    Source,
    Structure,
    Style,
    Term,
)
from anatomy.vocabulary.naming import fold, motion_key
from anatomy.vocabulary.tables import TABLES

__all__ = ["OWN_SOURCE", "Vocabulary", "standard_terms"]

OWN_SOURCE = Source("own", "Added by the people of this site; no source of ours.", "own")

_KINDS: tuple[Kind, ...] = get_args(Kind)
_STYLES: dict[str, int] = {style: place for place, style in enumerate(get_args(Style))}
_BY_NAME = {
    "muscle": "muscles",
    "group": "groups",
    "joint": "joints",
    "motion": "motions",
    "structure": "structures",
    "nerve": "nerves",
    "plane": "planes",
    "contraction": "contractions",
    "segment": "segments",
    "concept": "concepts",
}
_R = TypeVar("_R")


@dataclass(frozen=True, eq=False)
class Vocabulary:
    """Every record, by standard name. Made by ``Vocabulary.of``; the order of its tables never depends on files.

    ``motions`` are keyed "joint: motion". ``own`` are the (kind, name) pairs of entries added on this site.
    """

    sources: Mapping[str, Source]
    joints: Mapping[str, Joint]
    motions: Mapping[str, Motion]
    muscles: Mapping[str, Muscle]
    groups: Mapping[str, Group]
    structures: Mapping[str, Structure]
    nerves: Mapping[str, Nerve]
    planes: Mapping[str, Plane]
    contractions: Mapping[str, Contraction]
    concepts: Mapping[str, Concept]
    segments: Mapping[str, Segment]
    actions: tuple[Action, ...]
    ranges: tuple[Range, ...]
    phases: tuple[Phase, ...]
    chains: tuple[Chain, ...]
    terms: tuple[Term, ...]
    own: frozenset[tuple[str, str]] = field(default=frozenset())

    @classmethod
    def of(cls, tables: Mapping[str, Iterable[Record]]) -> Vocabulary:
        """A vocabulary of the records of each table (names as in ``TABLES``); the standard names become terms.

        The records are taken as checked: of two with one name the later one stands.
        """
        given: dict[str, list[Any]] = {name: list(tables.get(name, ())) for name in TABLES}
        named: Any = {name: _named(name, given[name]) for name in given if name not in _LISTED}
        terms = {(fold(term.text), term.kind, term.of): term for term in standard_terms(given)}
        terms |= {(fold(term.text), term.kind, term.of): term for term in given["terms"]}
        return cls(
            **named,
            actions=tuple(sorted(given["actions"], key=TABLES["actions"].key_of)),
            ranges=tuple(sorted(given["ranges"], key=lambda r: (*TABLES["ranges"].key_of(r), r.low, r.high))),
            phases=tuple(sorted(given["phases"], key=lambda phase: (phase.movement, phase.place))),
            chains=tuple(sorted(given["chains"], key=lambda chain: chain.movement)),
            terms=_sorted_terms(terms.values()),
        )

    def tables(self) -> dict[str, tuple[Any, ...]]:
        """The records of every table, in their lasting order; ``Vocabulary.of`` takes them back."""
        return {name: _values(getattr(self, name)) for name in TABLES}

    def actions_of(self, muscle: str) -> tuple[Action, ...]:
        """What a muscle does, at every joint; nothing for a name that is not a muscle's."""
        return self._actions_by_muscle.get(muscle, ())

    def actions_at(self, joint: str, motion: str) -> tuple[Action, ...]:
        """Which muscles produce this motion at exactly this joint."""
        return self._actions_by_motion.get((joint, motion), ())

    def ranges_of(self, joint: str, motion: str) -> tuple[Range, ...]:
        """The published ranges of one motion at exactly this joint."""
        return self._ranges_by_motion.get((joint, motion), ())

    def motions_of(self, joint: str) -> tuple[Motion, ...]:
        """The motions that a joint has."""
        return self._motions_by_joint.get(joint, ())

    def motions_named(self, name: str) -> tuple[Motion, ...]:
        """A motion without its joint ("flexion"): at every joint that has it."""
        return self._motions_by_name.get(name, ())

    def members(self, name: str) -> tuple[str, ...]:
        """The muscles of a group, groups within it unfolded, or the muscle itself; nothing for a stranger."""
        return (name,) if name in self.muscles else self._members.get(name, ())

    def groups_of(self, muscle: str) -> tuple[str, ...]:
        """The groups that a muscle belongs to, by name."""
        return self._groups_by_muscle.get(muscle, ())

    def parts_of(self, joint: str) -> tuple[str, ...]:
        """A joint and every joint that lies within it."""
        found = [joint] if joint in self.joints else []
        for name in found:
            found += [j.name for j in self.joints.values() if j.within == name and j.name not in found]
        return tuple(found)

    def entry(self, kind: str, name: str) -> Entry | None:
        """The entry of a kind by its standard name, or None. An axis gives the plane that it belongs to.

        A motion is named "joint: motion"; without the joint use ``motions_named``.
        """
        if kind == "axis":
            return next((plane for plane in self.planes.values() if plane.axis == name), None)
        if kind == "chain":
            return next((chain for chain in self.chains if chain.movement == name), None)
        table: Mapping[str, Entry] = getattr(self, _BY_NAME[kind]) if kind in _BY_NAME else {}
        return table.get(name)

    def names(self, kind: str) -> tuple[str, ...]:
        """Every name that a term of this kind may point to."""
        if kind == "motion":
            return (*self.motions, *self._motions_by_name)
        if kind == "axis":
            return tuple(dict.fromkeys(plane.axis for plane in self.planes.values()))
        if kind == "chain":
            return tuple(chain.movement for chain in self.chains)
        return tuple(getattr(self, _BY_NAME[kind])) if kind in _BY_NAME else ()

    def has(self, kind: str, name: str) -> bool:
        """Whether a term of this kind may point to this name."""
        return name in self._names[kind] if kind in self._names else False

    def synonyms(self, kind: str, name: str) -> tuple[str, ...]:
        """The other ways of saying a standard name, standard ones first."""
        return tuple(t.text for t in self._terms_by_entry.get((kind, name), ()) if fold(t.text) != fold(name))

    def meanings(self, text: str) -> tuple[Term, ...]:
        """Every term with this text, capitals and spaces aside."""
        return self._terms_by_text.get(fold(text), ())

    def ambiguous(self, text: str) -> tuple[Term, ...]:
        """The meanings of a text that stands for more than one entry; nothing when it stands for one or none."""
        found = self.meanings(text)
        return found if len({(term.kind, term.of) for term in found}) > 1 else ()

    def cite(self, keys: Iterable[str]) -> list[str]:
        """The citations of source keys, in that order, each once. Raises KeyError for an unknown key."""
        return [self.sources[key].citation for key in dict.fromkeys(keys)]

    def with_own(self, terms: Iterable[Term], entries: Iterable[Entry] = ()) -> Vocabulary:
        """A vocabulary with a site's own terms and entries added; ours always stand as they are.

        What ours already has, and what points to nothing, is left out. ``entries`` are of kinds that have names.
        """
        tables: dict[str, list[Any]] = {name: list(records) for name, records in self.tables().items()}
        tables["sources"].append(OWN_SOURCE)
        own = set()
        joints = set(self.joints)
        # Joints first: the motions may be theirs.
        for record in sorted(entries, key=lambda entry: not isinstance(entry, Joint)):
            kind = next(table.name for table in TABLES.values() if table.record is type(record)).removesuffix(
                "s"
            )
            if self.entry(kind, _key(record)) or (isinstance(record, Motion) and record.joint not in joints):
                continue
            if isinstance(record, Joint):
                joints.add(record.name)
            tables[f"{kind}s"].append(record)
            own.add((kind, _key(record)))
        grown = Vocabulary.of(tables)
        said = {(fold(term.text), term.kind, term.of) for term in grown.terms}
        new = [
            term
            for term in terms
            if grown.has(term.kind, term.of) and (fold(term.text), term.kind, term.of) not in said
        ]
        return replace(grown, terms=_sorted_terms([*grown.terms, *new]), own=self.own | own)

    @cached_property
    def _names(self) -> dict[str, frozenset[str]]:
        return {kind: frozenset(self.names(kind)) for kind in _KINDS}

    @cached_property
    def _members(self) -> dict[str, tuple[str, ...]]:
        return {name: tuple(self._unfold(name, {}, set())) for name in self.groups}

    @cached_property
    def _groups_by_muscle(self) -> dict[str, tuple[str, ...]]:
        return _grouped((muscle, group) for group, muscles in self._members.items() for muscle in muscles)

    @cached_property
    def _actions_by_muscle(self) -> dict[str, tuple[Action, ...]]:
        return _grouped((action.muscle, action) for action in self.actions)

    @cached_property
    def _actions_by_motion(self) -> dict[tuple[str, str], tuple[Action, ...]]:
        return _grouped(((action.joint, action.motion), action) for action in self.actions)

    @cached_property
    def _ranges_by_motion(self) -> dict[tuple[str, str], tuple[Range, ...]]:
        return _grouped(((one.joint, one.motion), one) for one in self.ranges)

    @cached_property
    def _motions_by_joint(self) -> dict[str, tuple[Motion, ...]]:
        return _grouped((motion.joint, motion) for motion in self.motions.values())

    @cached_property
    def _motions_by_name(self) -> dict[str, tuple[Motion, ...]]:
        return _grouped((motion.name, motion) for motion in self.motions.values())

    @cached_property
    def _terms_by_text(self) -> dict[str, tuple[Term, ...]]:
        return _grouped((fold(term.text), term) for term in self.terms)

    @cached_property
    def _terms_by_entry(self) -> dict[tuple[str, str], tuple[Term, ...]]:
        return _grouped(((term.kind, term.of), term) for term in self.terms)

    def _unfold(self, name: str, found: dict[str, None], seen: set[str]) -> dict[str, None]:
        if name in self.muscles:
            found[name] = None
        elif name in self.groups and name not in seen:
            seen.add(name)
            for member in self.groups[name].members:
                self._unfold(member, found, seen)
        return found


_LISTED = ("actions", "ranges", "phases", "chains", "terms")


def standard_terms(tables: Mapping[str, Iterable[Any]]) -> list[Term]:
    """The terms that the entries' own names are; a motion is a term with and without its joint."""
    terms: list[Term] = []
    for kind, table in _BY_NAME.items():
        if kind != "motion":
            terms += [Term(r.name, kind, r.name, "standard", r.sources) for r in tables.get(table, ())]  # type: ignore[arg-type]
    for motion in tables.get("motions", ()):
        of = motion_key(motion.joint, motion.name)
        terms.append(Term(f"{motion.joint} {motion.name}", "motion", of, "standard", motion.sources))
        terms.append(Term(motion.name, "motion", motion.name, "standard", motion.sources))
    terms += [Term(p.axis, "axis", p.axis, "standard", p.sources) for p in tables.get("planes", ())]
    terms += [Term(c.movement, "chain", c.movement, "standard", c.sources) for c in tables.get("chains", ())]
    return list({(fold(term.text), term.kind, term.of): term for term in reversed(terms)}.values())


def _key(record: Any) -> str:
    return motion_key(record.joint, record.name) if isinstance(record, Motion) else _name(record)


def _name(record: Any) -> str:
    if isinstance(record, Source):
        return record.key
    return str(record.movement if isinstance(record, Chain) else record.name)


def _named(table: str, records: Iterable[Any]) -> Mapping[str, Any]:
    return MappingProxyType({_key(record): record for record in sorted(records, key=TABLES[table].key_of)})


def _sorted_terms(terms: Iterable[Term]) -> tuple[Term, ...]:
    return tuple(sorted(terms, key=lambda t: (_KINDS.index(t.kind), t.of, _STYLES[t.style], t.text)))


def _values(table: Any) -> tuple[Any, ...]:
    return tuple(table.values()) if isinstance(table, Mapping) else tuple(table)


def _grouped(pairs: Iterable[tuple[Any, _R]]) -> dict[Any, tuple[_R, ...]]:
    found: dict[Any, list[_R]] = defaultdict(list)
    for key, value in pairs:
        found[key].append(value)
    return {key: tuple(values) for key, values in found.items()}
