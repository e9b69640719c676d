"""What the page of an entry says, as plain values: facts, tables, names, sources. No address and no HTML here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from anatomy.lookup.index import KINDS
from anatomy.vocabulary.collection import OWN_SOURCE, Vocabulary
from anatomy.vocabulary.entries import Action, Motion, Range
from anatomy.vocabulary.naming import fold, motion_key, split_motion
from breakdowns.scripts.plate_content import role_says, roots_say

from .page_parts import Cell, Desk, EntryPage, Names, Row, Table, Told, fact_of, plain

__all__ = ["page_of", "title_of"]

STYLE_LABELS = {
    "standard": "Also called",
    "short": "Short",
    "plain": "In plain words",
    "slang": "Slang",
    "dictation": "As dictation may hear it",
    "own": "Added by this studio",
}


def title_of(kind: str, name: str) -> str:
    """``motion``, ``hip: flexion`` → ``Hip flexion``."""
    said = " ".join(part for part in split_motion(name) if part) if kind == "motion" else name
    return said[:1].upper() + said[1:]


def page_of(vocabulary: Vocabulary, kind: str, name: str) -> EntryPage:
    """The page of one entry. Raises LookupError where the vocabulary has none."""
    desk = Desk(vocabulary)
    if not vocabulary.has(kind, name):
        raise LookupError(f"No {kind} is called {name!r}.")
    record = vocabulary.entry(kind, name)
    if record is None:
        told = Told(tables=[_bare_motion(desk, name)])
    else:
        told = _TOLD[kind](desk, record)
        desk.cite(record.sources)
    return EntryPage(
        kind=kind,
        name=name,
        title=title_of(kind, name),
        latin=getattr(record, "latin", ""),
        gloss=getattr(record, "gloss", ""),
        note=getattr(record, "note", ""),
        facts=tuple(fact for fact in told.facts if any(link.text for link in fact.value)),
        tables=tuple(table for table in told.tables if table.rows),
        names=_names(vocabulary, kind, name),
        sources=desk.sources(),
        guarded=kind in ("structure", "nerve"),
        is_own=(kind, name) in vocabulary.own,
    )


def _names(vocabulary: Vocabulary, kind: str, name: str) -> tuple[Names, ...]:
    found: dict[str, list[str]] = {style: [] for style in STYLE_LABELS if style != "own"}
    shown = (fold(name), fold(title_of(kind, name)))
    for term in vocabulary.terms:
        ours = (term.kind, term.of) == (kind, name) and OWN_SOURCE.key not in term.sources
        if ours and term.style in found and fold(term.text) not in shown:
            found[term.style].append(term.text)
    return tuple(Names(STYLE_LABELS[style], tuple(texts)) for style, texts in found.items() if texts)


def _when(action: Action) -> str:
    """What a muscle's action hangs on, in words."""
    parts = [action.depends_on, "textbooks differ" if action.disputed else ""]
    return "; ".join(part for part in parts if part)


def _by_use(actions: Iterable[Action]) -> list[Action]:
    return sorted(actions, key=lambda one: (one.role != "prime", one.joint, one.motion, one.muscle))


# --- muscles and groups --------------------------------------------------------------------------


def _muscle(desk: Desk, muscle: Any) -> Told:
    vocabulary = desk.vocabulary
    rows = []
    for action in _by_use(vocabulary.actions_of(muscle.name)):
        motion = vocabulary.motions.get(motion_key(action.joint, action.motion))
        rows.append(_action_row(desk, action, motion))
    parts = [one.name for one in vocabulary.muscles.values() if one.whole and one.whole == muscle.whole]
    others = [name for name in parts if name != muscle.name]
    groups = [name for name in vocabulary.groups_of(muscle.name) if name != muscle.whole]
    roots = roots_say(muscle.roots, muscle.also_roots)
    facts = [
        fact_of("Region", muscle.region),
        fact_of("Part of", desk.links("group", (muscle.whole,))),
        fact_of("Its other parts", desk.links("muscle", others)),
        fact_of("Groups", desk.links("group", groups)),
        fact_of("From", muscle.origin),
        fact_of("To", muscle.insertion),
        fact_of("Nerve", desk.links("nerve", muscle.nerve.split("; "))),
        fact_of("Roots", roots),
        fact_of("About the nerve", muscle.nerve_note),
        fact_of("Identifier", muscle.identifier),
    ]
    heads = ("Joint", "Motion", "Plane", "Role", "Depends on")
    return Told(facts, [Table("What it does", heads, tuple(rows))])


def _action_row(desk: Desk, action: Action, motion: Motion | None) -> Row:
    key = motion_key(action.joint, action.motion)
    cells = (
        (desk.link("joint", action.joint),),
        (desk.link("motion", key, action.motion),),
        (desk.link("plane", motion.plane),) if motion and motion.plane else (),
        plain(role_says(action.role)),
        plain(_when(action)),
    )
    return Row(cells, sources=desk.cite(action.sources))


def _group(desk: Desk, group: Any) -> Told:
    vocabulary = desk.vocabulary
    members = vocabulary.members(group.name)
    label = "Parts" if group.kind == "whole" else "Muscles"
    actions = _by_use(one for member in members for one in vocabulary.actions_of(member))
    rows = []
    for joint, name in dict.fromkeys((one.joint, one.motion) for one in actions):
        here = [one for one in actions if (one.joint, one.motion) == (joint, name)]
        motion = vocabulary.motions.get(motion_key(joint, name))
        by_role = [[one.muscle for one in here if one.role == role] for role in ("prime", "assist")]
        rows.append(
            Row(
                (
                    (desk.link("joint", joint),),
                    (desk.link("motion", motion_key(joint, name), name),),
                    (desk.link("plane", motion.plane),) if motion and motion.plane else (),
                    *(desk.links("muscle", names) for names in by_role),
                ),
                sources=desk.cite(key for one in here for key in one.sources),
            )
        )
    nerves = dict.fromkeys(
        nerve
        for member in members
        if member in vocabulary.muscles
        for nerve in vocabulary.muscles[member].nerve.split("; ")
    )
    facts = [fact_of(label, desk.links("muscle", members)), fact_of("Nerves", desk.links("nerve", nerves))]
    heads = ("Joint", "Motion", "Plane", "Prime movers", "Assist")
    return Told(facts, [Table("What it does", heads, tuple(rows))])


# --- joints and motions --------------------------------------------------------------------------


def _joint(desk: Desk, joint: Any) -> Told:
    vocabulary = desk.vocabulary
    motions = vocabulary.motions_of(joint.name)
    parts = [name for name in vocabulary.parts_of(joint.name) if name != joint.name]
    facts = [
        fact_of("Region", joint.region),
        fact_of("Part of", desk.links("joint", (joint.within,))),
        fact_of("Its joints", desk.links("joint", parts)),
        fact_of("Type", joint.type),
        fact_of("Axes", joint.axes),
        fact_of("Between", " and ".join(part for part in (joint.proximal, joint.distal) if part)),
        fact_of("Identifier", joint.identifier),
    ]
    moved = [
        Row(
            (
                (desk.link("motion", motion_key(joint.name, one.name), one.name),),
                (desk.link("plane", one.plane),) if one.plane else (),
                plain(one.axis),
                plain(_spread(vocabulary.ranges_of(joint.name, one.name))),
                plain(one.gloss),
            ),
            sources=desk.cite(one.sources),
        )
        for one in motions
    ]
    ranges = [row for one in motions for row in _range_rows(desk, one, named=True)]
    by_motion = []
    for one in motions:
        actions = vocabulary.actions_at(joint.name, one.name)
        by_role = [[a.muscle for a in actions if a.role == role] for role in ("prime", "assist")]
        if actions:
            cells = (
                (desk.link("motion", motion_key(joint.name, one.name), one.name),),
                *(desk.links("muscle", names) for names in by_role),
            )
            by_motion.append(Row(cells, sources=desk.cite(key for a in actions for key in a.sources)))
    return Told(
        facts,
        [
            Table("How it moves", ("Motion", "Plane", "Axis", "Normal", "In plain words"), tuple(moved)),
            Table("Muscles by motion", ("Motion", "Prime movers", "Assist"), tuple(by_motion)),
            Table("Published ranges", ("Motion", "Range", "Who was measured", "Note"), tuple(ranges)),
        ],
    )


def _spread(ranges: Sequence[Range]) -> str:
    """Least to greatest published normal end of the motion, and from how many values."""
    ends = sorted(one.high for one in ranges)
    if not ends:
        return ""
    told = f"{ends[0]:g}°" if ends[0] == ends[-1] else f"{ends[0]:g}° to {ends[-1]:g}°"
    return f"{told} ({len(ends)} value{'s' if len(ends) > 1 else ''})"


def _range_rows(desk: Desk, motion: Motion, *, named: bool) -> list[Row]:
    rows = []
    for one in sorted(
        desk.vocabulary.ranges_of(motion.joint, motion.name), key=lambda r: (r.high, r.population)
    ):
        told = f"{one.high:g}°" if one.low == one.high else f"{one.low:g}° to {one.high:g}°"
        cells: tuple[Cell, ...] = (plain(told), plain(one.population), plain(one.note))
        if named:
            cells = ((desk.link("motion", motion_key(motion.joint, motion.name), motion.name),), *cells)
        rows.append(Row(cells, sources=desk.cite(one.sources)))
    return rows


def _motion(desk: Desk, motion: Motion) -> Told:
    vocabulary = desk.vocabulary
    ranges = vocabulary.ranges_of(motion.joint, motion.name)
    elsewhere = [one for one in vocabulary.motions_named(motion.name) if one.joint != motion.joint]
    facts = [
        fact_of("Joint", desk.links("joint", (motion.joint,))),
        fact_of("Plane", desk.links("plane", (motion.plane,))),
        fact_of("Axis", motion.axis),
        fact_of("Opposite", _opposite(desk, motion)),
        fact_of("Normal range", _spread(ranges)),
        fact_of(
            "Same motion elsewhere",
            tuple(desk.link("motion", motion_key(one.joint, one.name), one.joint) for one in elsewhere),
        ),
    ]
    rows = []
    for action in _by_use(vocabulary.actions_at(motion.joint, motion.name)):
        muscle = vocabulary.muscles.get(action.muscle)
        cells = (
            (desk.link("muscle", action.muscle),),
            plain(role_says(action.role)),
            plain(_when(action)),
            desk.links("nerve", muscle.nerve.split("; ")) if muscle else (),
            plain(roots_say(muscle.roots, muscle.also_roots) if muscle else ""),
        )
        rows.append(Row(cells, sources=desk.cite(action.sources)))
    measured = tuple(_range_rows(desk, motion, named=False))
    return Told(
        facts,
        [
            Table("Muscles that do it", ("Muscle", "Role", "Depends on", "Nerve", "Roots"), tuple(rows)),
            Table("Published ranges", ("Range", "Who was measured", "Note"), measured),
        ],
    )


def _opposite(desk: Desk, motion: Motion) -> Cell:
    if not motion.opposite:
        return ()
    return (desk.link("motion", motion_key(motion.joint, motion.opposite), motion.opposite),)


def _bare_motion(desk: Desk, name: str) -> Table:
    """A motion without its joint: where it is found."""
    return _motions_table(desk, "At which joints", desk.vocabulary.motions_named(name))


def _motions_table(desk: Desk, title: str, motions: Iterable[Motion]) -> Table:
    rows = []
    for one in motions:
        primes = [a.muscle for a in desk.vocabulary.actions_at(one.joint, one.name) if a.role == "prime"]
        cells = (
            (desk.link("motion", motion_key(one.joint, one.name), f"{one.joint} {one.name}"),),
            plain(one.plane),
            plain(one.gloss),
            desk.links("muscle", primes),
        )
        rows.append(Row(cells, sources=desk.cite(one.sources)))
    return Table(title, ("Motion", "Plane", "In plain words", "Prime movers"), tuple(rows))


# --- the rest ------------------------------------------------------------------------------------


def _nerve(desk: Desk, nerve: Any) -> Told:
    vocabulary = desk.vocabulary
    supplied = [one for one in vocabulary.muscles.values() if nerve.name in one.nerve.split("; ")]
    rows = [
        Row(
            (
                (desk.link("muscle", one.name),),
                plain(roots_say(one.roots, one.also_roots)),
                plain(one.gloss),
                plain(one.nerve_note),
            ),
            sources=desk.cite(one.sources),
        )
        for one in supplied
    ]
    branches = [one.name for one in vocabulary.nerves.values() if one.branch_of == nerve.name]
    facts = [
        fact_of("Kind", nerve.kind),
        fact_of("Roots", roots_say(nerve.roots, nerve.also_roots)),
        fact_of("Branch of", desk.links("nerve", (nerve.branch_of,))),
        fact_of("Branches", desk.links("nerve", branches)),
    ]
    heads = ("Muscle", "Roots", "In plain words", "Note")
    return Told(facts, [Table("Muscles it drives", heads, tuple(rows))])


def _structure(desk: Desk, one: Any) -> Told:
    return Told(
        [
            fact_of("Kind", one.kind),
            fact_of("Side", one.side),
            fact_of("Where", ", ".join(one.quadrants)),
            fact_of("Vertebrae", ", ".join(one.vertebrae)),
            fact_of("Ribs", ", ".join(one.ribs)),
            fact_of("Identifier", one.identifier),
        ]
    )


def _contraction(desk: Desk, one: Any) -> Told:
    says = {"shortens": "shortens", "lengthens": "lengthens", "keeps": "stays the same", "varies": "varies"}
    return Told([fact_of("The muscle’s length", says[one.length])])


def _plane(desk: Desk, plane: Any) -> Told:
    motions = [one for one in desk.vocabulary.motions.values() if one.plane == plane.name]
    return Told([fact_of("Axis", plane.axis)], [_motions_table(desk, "Motions in this plane", motions)])


def _chain(desk: Desk, chain: Any) -> Told:
    phases = [one for one in desk.vocabulary.phases if one.movement == chain.movement]
    rows = [
        Row((plain(str(one.place)), plain(one.name), plain(one.gloss)), sources=desk.cite(one.sources))
        for one in phases
    ]
    order = tuple(desk.link("segment", name) for name in chain.order)
    return Told(
        [fact_of("Order", order)], [Table("Its phases", ("Place", "Phase", "What happens"), tuple(rows))]
    )


def _segment(desk: Desk, segment: Any) -> Told:
    chains = [one.movement for one in desk.vocabulary.chains if segment.name in one.order]
    return Told([fact_of("In the order of", desk.links("chain", chains))])


_TOLD: dict[str, Callable[[Desk, Any], Told]] = {
    "muscle": _muscle,
    "group": _group,
    "joint": _joint,
    "motion": _motion,
    "nerve": _nerve,
    "structure": _structure,
    "contraction": _contraction,
    "plane": _plane,
    "chain": _chain,
    "segment": _segment,
    "concept": lambda desk, one: Told(),
}
assert set(_TOLD) == set(KINDS)
