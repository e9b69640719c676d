"""What a plate drawn from data says: an entry of the vocabulary as a table, or a correction.

A beat stores which entry and which of its rows; the table is made afresh from the vocabulary each time,
so that it follows every correction of a fact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Action, Group, Motion, Muscle, Range
from anatomy.vocabulary.naming import motion_key

__all__ = [
    "ENTRY_KINDS",
    "AnatomyTable",
    "Correction",
    "NoEntry",
    "TableRow",
    "anatomy_table",
    "plate_of_terms",
    "role_says",
]

# As much as a square picture can show at the least size.
MOST_SAID, MOST_RIGHT, MOST_SOURCE = 150, 200, 120
_ROWS_READ, _FACTS_READ = 5, 2
_ROLES = {"prime": "prime mover", "assist": "assists"}


class NoEntry(LookupError):
    """The vocabulary has no such entry; the sentence says what to do."""


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line of the table. ``key`` names it in the vocabulary ("hip: flexion", or a muscle's name)."""

    key: str
    title: str
    under: str
    right: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class AnatomyTable:
    """An entry as a plate shows it.

    ``heads`` name the three columns (title, under, right); ``total`` is the number of rows the entry has,
    of which ``rows`` may be a choice; ``facts`` are (label, value); ``sources`` are whole citations.
    """

    heading: str
    latin: str = ""
    gloss: str = ""
    heads: tuple[str, str, str] = ("", "", "")
    rows: tuple[TableRow, ...] = ()
    total: int = 0
    counted: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The same in words, as Markdown lines, for what shows no picture."""
        lines = [f"- {_line(row)}" for row in self.rows]
        if len(self.rows) < self.total:
            lines.append(f"- {len(self.rows)} of {self.total} {self.counted} shown")
        facts = [f"{label}: {value}" for label, value in self.facts]
        source = [f"Sources: {'; '.join(self.sources)}"] if self.sources else []
        return "\n\n".join(
            "\n".join(part) for part in ([_capital(self.gloss)], lines, facts, source) if any(part)
        )

    @property
    def reading(self) -> str:
        """What a viewer takes in of it: its name, what stands in the first rows, and the facts below.

        Planes, conditions and sources are there to look up while the picture stands; more rows than
        ``_ROWS_READ`` hardly find room in a wide picture.
        """
        parts = [self.heading, *(f"{row.title} {row.right}" for row in self.rows[:_ROWS_READ])]
        return " ".join([*parts, *(value for _, value in self.facts[:_FACTS_READ])])


def _line(row: TableRow) -> str:
    more = ", ".join(part for part in (row.right, row.under, row.note) if part)
    return f"{row.title}: {more}" if more else row.title


@dataclass(frozen=True, slots=True)
class Correction:
    """What was said, what is right, and where that stands."""

    said: str
    right: str
    source: str

    @property
    def reading(self) -> str:
        """What a viewer reads of it: all but the source."""
        return f"What was said {self.said} What is right {self.right}"

    @property
    def text(self) -> str:
        parts = [("What was said", self.said), ("What is right", self.right), ("Source", self.source)]
        return "\n\n".join(f"{label}: {value}" for label, value in parts if value.strip())


def plate_of_terms(terms: Iterable[tuple[str, str]]) -> tuple[str, str, tuple[str, ...]] | None:
    """(kind, name, rows) of the plate that shows what a statement is about, from its (kind, name) terms.

    A muscle or a group with the motions named beside it; else a motion, else a nerve. None for other terms.
    """
    found: dict[str, list[str]] = {}
    for kind, name in terms:
        found.setdefault(kind, []).append(name)
    motions = tuple(name for name in found.get("motion", ()) if ": " in name)
    for kind in ("muscle", "group"):
        if kind in found:
            return kind, found[kind][0], motions
    if motions:
        return "motion", motions[0], ()
    return ("nerve", found["nerve"][0], ()) if "nerve" in found else None


def role_says(role: str) -> str:
    return _ROLES[role]


def anatomy_table(vocabulary: Vocabulary, kind: str, name: str, chosen: Sequence[str] = ()) -> AnatomyTable:
    """The table of one entry, with the rows whose keys are ``chosen`` (none: all). Raises NoEntry."""
    build = _BUILT.get(kind)
    if build is None or vocabulary.entry(kind, name) is None:
        raise NoEntry(
            f"The vocabulary has no {kind} “{name}”: choose another entry for the plate."
            if name
            else "No entry is chosen for the plate yet: name a muscle, or another entry of the vocabulary."
        )
    table = build(vocabulary, name)
    wanted = set(chosen)
    rows = tuple(row for row in table.rows if row.key in wanted) or table.rows
    return replace(table, rows=rows, total=len(table.rows))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _and(*parts: str) -> str:
    return "; ".join(part for part in parts if part)


def _citations(vocabulary: Vocabulary, *groups: Iterable[str]) -> tuple[str, ...]:
    """Each source once, in the order of first use."""
    return tuple(vocabulary.cite(key for group in groups for key in group))


def plane_and_axis(motion: Motion | None) -> str:
    """ "sagittal plane, mediolateral axis", as far as known."""
    if motion is None:
        return ""
    named = (("plane", motion.plane), ("axis", motion.axis))
    return ", ".join(f"{value} {word}" for word, value in named if value)


def roots_say(roots: Sequence[str], also: Sequence[str] = ()) -> str:
    more = f" (also {', '.join(also)})" if also and roots else ", ".join(also)
    return ", ".join(roots) + more


def _action_note(action: Action) -> str:
    return _and(
        f"depends on: {action.depends_on}" if action.depends_on else "",
        "textbooks differ" if action.disputed else "",
    )


def _shared_note(actions: Sequence[Action]) -> str:
    notes = {_action_note(one) for one in actions}
    return notes.pop() if len(notes) == 1 else "posture or part matters for some of them"


def _motion_of(vocabulary: Vocabulary, action: Action) -> Motion | None:
    return vocabulary.motions.get(motion_key(action.joint, action.motion))


def _prime_first(actions: Iterable[Action]) -> list[Action]:
    """What a muscle is known for comes first, so that a short table keeps it."""
    return sorted(actions, key=lambda one: one.role != "prime")


def _muscle(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    muscle: Muscle = vocabulary.muscles[name]
    actions = _prime_first(vocabulary.actions_of(name))
    rows = tuple(
        TableRow(
            motion_key(one.joint, one.motion),
            _capital(f"{one.joint} {one.motion}"),
            plane_and_axis(_motion_of(vocabulary, one)),
            role_says(one.role),
            _action_note(one),
        )
        for one in actions
    )
    roots = roots_say(muscle.roots, muscle.also_roots)
    nerve = ", ".join(part for part in (muscle.nerve, roots) if part)
    facts = [("Nerve and roots", _and(nerve, muscle.nerve_note))] if nerve else []
    return AnatomyTable(
        _capital(name),
        muscle.latin,
        muscle.gloss,
        ("Joint and motion", "Plane and axis", "Role"),
        _merged(rows),
        counted="motions",
        facts=tuple(facts),
        sources=_citations(vocabulary, *(one.sources for one in actions), muscle.sources),
    )


def _merged(rows: Sequence[TableRow]) -> tuple[TableRow, ...]:
    """One row for each key: what a second statement of the same motion adds stands in its note."""
    found: dict[str, TableRow] = {}
    for row in rows:
        first = found.get(row.key)
        if first is None:
            found[row.key] = row
            continue
        note = row.note if row.right == first.right else _and(row.right, row.note)
        joined = dict.fromkeys(part for part in (first.note, note) if part)
        found[row.key] = TableRow(row.key, first.title, first.under, first.right, "; ".join(joined))
    return tuple(found.values())


def _group(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    group: Group = vocabulary.groups[name]
    members = tuple(vocabulary.members(name))
    actions = _prime_first([one for member in members for one in vocabulary.actions_of(member)])
    keys = dict.fromkeys((one.joint, one.motion) for one in actions)
    rows = []
    for joint, motion in keys:
        here = [one for one in actions if (one.joint, one.motion) == (joint, motion)]
        roles = dict.fromkeys(
            role_says(role) for role in ("prime", "assist") if any(o.role == role for o in here)
        )
        muscles = dict.fromkeys(one.muscle for one in here)
        by = "all of them" if len(muscles) == len(members) > 1 else ", ".join(muscles)
        rows.append(
            TableRow(
                motion_key(joint, motion),
                _capital(f"{joint} {motion}"),
                plane_and_axis(_motion_of(vocabulary, here[0])),
                " or ".join(roles),
                _and(by, _shared_note(here)),
            )
        )
    nerves = dict.fromkeys(
        ", ".join(part for part in (muscle.nerve, roots_say(muscle.roots, muscle.also_roots)) if part)
        for member in members
        if (muscle := vocabulary.muscles.get(member)) and muscle.nerve
    )
    facts = [("Parts" if group.kind == "whole" else "Muscles", ", ".join(members))]
    facts += (
        [("Nerves and roots" if len(nerves) > 1 else "Nerve and roots", "; ".join(nerves))] if nerves else []
    )
    return AnatomyTable(
        _capital(name),
        "",
        group.gloss,
        ("Joint and motion", "Plane and axis", "Role"),
        tuple(rows),
        counted="motions",
        facts=tuple(facts),
        sources=_citations(vocabulary, *(one.sources for one in actions), group.sources),
    )


def spread_says(ranges: Sequence[Range]) -> str:
    """The least and the greatest published normal value: "113 to 140°"; "" without any."""
    highs = sorted({one.high for one in ranges})
    if not highs:
        return ""
    return f"{highs[0]:g}°" if len(highs) == 1 else f"{highs[0]:g} to {highs[-1]:g}°"


def _motion(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    motion: Motion = vocabulary.motions[name]
    actions = _prime_first(vocabulary.actions_at(motion.joint, motion.name))
    rows = []
    for one in actions:
        muscle = vocabulary.muscles.get(one.muscle)
        roots = roots_say(muscle.roots, muscle.also_roots) if muscle else ""
        nerve = ", ".join(part for part in (muscle.nerve, roots) if part) if muscle else ""
        rows.append(TableRow(one.muscle, _capital(one.muscle), nerve, role_says(one.role), _action_note(one)))
    ranges = vocabulary.ranges_of(motion.joint, motion.name)
    spread = spread_says(ranges)
    facts = [("Plane and axis", plane_and_axis(motion)), ("Opposite", motion.opposite)]
    facts.append(("Published normal range", spread and f"{spread} in {len(ranges)} sources"))
    return AnatomyTable(
        _capital(f"{motion.joint} {motion.name}"),
        "",
        motion.gloss,
        ("Muscle", "Nerve and roots", "Role"),
        _merged(rows),
        counted="muscles",
        facts=tuple((label, value) for label, value in facts if value),
        sources=_citations(
            vocabulary, *(one.sources for one in actions), *(one.sources for one in ranges), motion.sources
        ),
    )


def _joint(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    joint = vocabulary.joints[name]
    motions = tuple(vocabulary.motions_of(name))
    ranges = {one.name: vocabulary.ranges_of(name, one.name) for one in motions}
    rows = tuple(
        TableRow(
            motion_key(name, one.name), _capital(one.name), plane_and_axis(one), spread_says(ranges[one.name])
        )
        for one in motions
    )
    facts = [("Between", " and ".join(part for part in (joint.proximal, joint.distal) if part))]
    facts += [("Type", joint.type), ("Axes", str(joint.axes))]
    used = [one.sources for found in ranges.values() for one in found]
    return AnatomyTable(
        _capital(name),
        "",
        joint.gloss,
        ("Motion", "Plane and axis", "Normal range"),
        rows,
        counted="motions",
        facts=tuple((label, value) for label, value in facts if value),
        sources=_citations(vocabulary, joint.sources, *(one.sources for one in motions), *used),
    )


def _nerve(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    nerve = vocabulary.nerves[name]
    supplied = [one for one in vocabulary.muscles.values() if name in one.nerve.split("; ")]
    rows = tuple(
        TableRow(one.name, _capital(one.name), one.region, roots_say(one.roots, one.also_roots))
        for one in supplied
    )
    facts = [("Roots", roots_say(nerve.roots, nerve.also_roots)), ("Branch of", nerve.branch_of)]
    return AnatomyTable(
        _capital(name),
        "",
        nerve.gloss,
        ("Muscle", "Region", "Roots"),
        rows,
        counted="muscles",
        facts=tuple((label, value) for label, value in facts if value),
        sources=_citations(vocabulary, nerve.sources, *(one.sources for one in supplied)),
    )


def _structure(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    one = vocabulary.structures[name]
    facts = [
        ("Side", one.side),
        ("Where", ", ".join(one.quadrants)),
        ("Vertebrae", ", ".join(one.vertebrae)),
        ("Ribs", ", ".join(one.ribs)),
        ("Note", one.note),
    ]
    return _told(vocabulary, one, facts)


def _contraction(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    one = vocabulary.contractions[name]
    length = {"shortens": "shortens", "lengthens": "lengthens", "keeps": "stays the same", "varies": "varies"}
    return _told(vocabulary, one, [("The muscle’s length", length[one.length])])


def _plane(vocabulary: Vocabulary, name: str) -> AnatomyTable:
    one = vocabulary.planes[name]
    return _told(vocabulary, one, [("Axis", one.axis)])


def _told(vocabulary: Vocabulary, one: object, facts: Iterable[tuple[str, str]] = ()) -> AnatomyTable:
    return AnatomyTable(
        _capital(one.name),  # type: ignore[attr-defined]
        gloss=one.gloss,  # type: ignore[attr-defined]
        facts=tuple((label, value) for label, value in facts if value),
        sources=_citations(vocabulary, one.sources),  # type: ignore[attr-defined]
    )


_BUILT: dict[str, Callable[[Vocabulary, str], AnatomyTable]] = {
    "muscle": _muscle,
    "group": _group,
    "motion": _motion,
    "joint": _joint,
    "nerve": _nerve,
    "structure": _structure,
    "contraction": _contraction,
    "plane": _plane,
    "concept": lambda vocabulary, name: _told(vocabulary, vocabulary.concepts[name]),
}
ENTRY_KINDS = tuple(_BUILT)
