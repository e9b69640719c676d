"""Which nerve supplies which muscle, by the vocabulary and by the facts that its tables have no column for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from anatomy.claims.lexicon import listed, rows
from anatomy.vocabulary.collection import Vocabulary

Answer = Literal["does", "partly", "tolerated", "not", "unknown"]
PAIR = re.compile(r"^([\w]+) and ([\w]+) (.+?)s?$")


@dataclass(frozen=True)
class NerveFact:
    """One row of the nerve facts: a region's muscles, an extra muscle, a part, a tolerance, a sign."""

    kind: str
    words: tuple[str, ...]
    muscles: tuple[str, ...]
    nerves: tuple[str, ...]
    why: str
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def nerve_facts() -> tuple[NerveFact, ...]:
    """The rows of data/nerve_facts.csv."""
    return tuple(
        NerveFact(
            row["kind"],
            tuple(listed(row["words"])),
            tuple(listed(row["muscle"])),
            tuple(listed(row["nerve"])),
            row["why"],
            tuple(listed(row["sources"])),
        )
        for row in rows("nerve_facts")
    )


@lru_cache(maxsize=1)
def nerve_adjectives() -> dict[str, str]:
    """Names of nerves without the word nerve ("is median"), and nerves that the vocabulary has no entry for."""
    return {word: row["nerve"] for row in rows("nerve_adjectives") for word in listed(row["words"])}


class Supply:
    """Answers for one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        facts = nerve_facts()
        self.regions = {word: f.muscles for f in facts if f.kind == "region" for word in f.words}
        self.extra = {word: f for f in facts if f.kind == "extra" for word in f.words}
        self.signs = {word: f for f in facts if f.kind == "sign" for word in f.words}
        self.skin = {word: f for f in facts if f.kind == "skin" for word in f.words}
        self.parts = [f for f in facts if f.kind == "part"]
        self.tolerated = {(m, n) for f in facts if f.kind == "tolerated" for m in f.muscles for n in f.nerves}
        self.accepted = {(m, n) for f in facts if f.kind == "accepted" for m in f.muscles for n in f.nerves}
        self.branches = {m: f.nerves for f in facts if f.kind == "branch" for m in f.muscles}
        self.fine = {(m, n) for f in facts if f.kind == "fine" for m in f.muscles for n in f.nerves}
        self.same: dict[str, set[str]] = {}
        for fact in facts:
            if fact.kind == "same":
                a, b = fact.muscles[0], fact.nerves[0]
                self.same.setdefault(a, set()).add(b)
                self.same.setdefault(b, set()).add(a)

    @cached_property
    def extra_by_name(self) -> dict[str, NerveFact]:
        """Muscles that the vocabulary has no entry for."""
        return {f.muscles[0]: f for f in self.extra.values()}

    def nerves_of(self, muscle: str, part: Sequence[str] = ()) -> tuple[str, ...]:
        """The nerves of one muscle, only those of the named part where its parts differ."""
        for fact in self.parts:
            if muscle in fact.muscles and any(word in fact.words for said in part for word in said.split()):
                return fact.nerves
        if muscle in self.extra_by_name:
            return self.extra_by_name[muscle].nerves
        entry = self.vocabulary.muscles.get(muscle)
        if entry is None:
            return ()
        return tuple(name.strip() for name in entry.nerve.split(";") if name.strip())

    def lineage(self, nerve: str) -> set[str]:
        """A nerve with all it branches from, under each of its names."""
        found: set[str] = set()
        queue = [nerve]
        while queue:
            name = queue.pop()
            if name in found:
                continue
            found.add(name)
            queue += sorted(self.same.get(name, ()))
            entry = self.vocabulary.nerves.get(name)
            if entry is not None and entry.branch_of:
                queue.append(entry.branch_of)
            queue += self.branches.get(name, ())
        return found

    def split(self, nerve: str) -> tuple[str, ...]:
        """A pair of nerves said in one breath as its two nerves."""
        match = PAIR.match(nerve)
        if match:
            one, other, kind = match.groups()
            both = (f"{one} {kind}", f"{other} {kind}")
            if all(name in self.vocabulary.nerves for name in both):
                return both
        return (nerve,)

    def _firm(self, nerve: str) -> set[str]:
        """What a nerve belongs to, plexuses left out: by this it is told whether two names mean one nerve."""
        nerves = self.vocabulary.nerves
        return {n for n in self.lineage(nerve) if n not in nerves or nerves[n].kind == "nerve"}

    def of_muscle(self, muscle: str, said: Iterable[str], part: Sequence[str] = ()) -> Answer:
        """Whether one muscle has its nerve from the nerves that were said: all of it, a part of it, or none."""
        held = self.nerves_of(muscle, part)
        stated = [one for name in said for one in self.split(name)]
        if not held or not stated:
            return "unknown"
        if any((muscle, name) in self.fine for name in said):
            return "does"
        hits = {s: [h for h in held if s in self.lineage(h)] for s in stated}
        for name, found in hits.items():
            if found:
                continue
            if (muscle, name) in self.tolerated or any((muscle, s) in self.tolerated for s in said):
                return "tolerated"
            if self._in_note(muscle, name):
                return "partly"
            if any(h in self.lineage(name) for h in held) and "division" in name:
                return "tolerated"
            return "not"
        reached = {h for found in hits.values() for h in found}
        left = [h for h in held if h not in reached]
        firm = [self._firm(h) for h in reached]
        apart = [h for h in left if not any(self._firm(h) & one for one in firm)]
        return "partly" if apart and self._parts_differ(muscle, reached) else "does"

    def _parts_differ(self, muscle: str, reached: Iterable[str]) -> bool:
        entry = self.vocabulary.muscles.get(muscle)
        if entry is None:
            return False
        return bool(re.search(r"\bnerve for\b", entry.nerve_note)) or (
            entry.whole == "pectoralis major" and len(list(reached)) == 1
        )

    def _in_note(self, muscle: str, nerve: str) -> bool:
        entry = self.vocabulary.muscles.get(muscle)
        return entry is not None and nerve in entry.nerve_note

    def note(self, muscle: str) -> str:
        """The vocabulary's remark on a muscle's nerves."""
        entry = self.vocabulary.muscles.get(muscle)
        return entry.nerve_note if entry is not None else ""

    def sources(self, muscle: str) -> tuple[str, ...]:
        """Where a muscle's nerve is printed."""
        if muscle in self.extra_by_name:
            return self.extra_by_name[muscle].sources
        entry = self.vocabulary.muscles.get(muscle)
        return entry.sources if entry is not None else ()


@lru_cache(maxsize=4)
def supply_of(vocabulary: Vocabulary) -> Supply:
    """The answers for a vocabulary, kept."""
    return Supply(vocabulary)
