"""What must hold for terms: each points to a standard name, and one text to one entry of a kind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.faults import Fault
from anatomy.vocabulary.naming import fold, motion_key, split_motion
from anatomy.vocabulary.placed import Placed, Rows, names_in

__all__ = ["SHARED_STYLES", "family", "shared_texts", "term_targets"]

# A text may stand for several entries of one kind only in these styles, where speakers do so too.
SHARED_STYLES = ("short", "slang", "dictation")

_KIND_TABLES = {
    kind: f"{kind}s"
    for kind in (
        "muscle",
        "group",
        "joint",
        "motion",
        "structure",
        "nerve",
        "plane",
        "contraction",
        "segment",
    )
} | {"chain": "chains", "concept": "concepts"}


def _standing(rows: Rows) -> dict[str, set[str]]:
    """The names that a term of each kind may point to."""
    known = {kind: names_in(rows, table) for kind, table in _KIND_TABLES.items()}
    known["motion"] |= {row.record.name for row in rows["motions"]}
    known["axis"] = {row.record.axis for row in rows["planes"]}
    return known


def term_targets(rows: Rows) -> Iterator[Fault]:
    """Terms that point to nothing, to another term, or in a circle."""
    known = _standing(rows)
    said = {(row.record.kind, row.record.text): row.record.of for row in rows["terms"]}
    for row in rows["terms"]:
        kind, of = row.record.kind, row.record.of
        if of in known[kind]:
            continue
        chain = [row.record.text, of]
        while (following := said.get((kind, chain[-1]))) is not None and following not in chain:
            chain.append(following)
        if following is not None:
            what = f"the synonyms go in a circle: {' → '.join([*chain, following])}"
            yield row.fault(what, "point each to a standard name")
        elif chain[-1] in known[kind]:
            yield row.fault(f"{of!r} is itself a synonym", f"point to the standard name {chain[-1]!r}")
        else:
            yield row.fault(f"no {kind} is called {of!r}", _mend_of(kind, of))


def _mend_of(kind: str, of: str) -> str:
    if kind == "motion" and split_motion(of)[0]:
        return "write a motion of motions.csv as “joint: motion”, or the motion alone"
    return f"write a standard name of {_KIND_TABLES.get(kind, 'planes')}.csv"


def shared_texts(rows: Rows) -> Iterator[Fault]:
    """One text for two entries of one kind. Muscles and groups count as one kind: both answer "which muscle"."""
    meant: dict[tuple[str, str], list[tuple[Placed, str, str]]] = defaultdict(list)
    for kind, table in _KIND_TABLES.items():
        for row in rows[table]:
            if kind == "motion":
                key = motion_key(row.record.joint, row.record.name)
                meant[kind, fold(f"{row.record.joint} {row.record.name}")].append((row, key, "standard"))
                meant[kind, fold(row.record.name)].append((row, row.record.name, "standard"))
            else:
                name = row.record.movement if kind == "chain" else row.record.name
                meant[family(kind), fold(name)].append((row, name, "standard"))
    for row in rows["terms"]:
        term = row.record
        meant[family(term.kind), fold(term.text)].append((row, term.of, term.style))
    for (_, text), places in meant.items():
        if len({of for _, of, _ in places}) > 1:
            yield from _shared_faults(text, places)


def _shared_faults(text: str, places: list[tuple[Placed, str, str]]) -> Iterator[Fault]:
    standing = [(row, of) for row, of, _ in places if not isinstance(row.record, Term)]
    for row, of, style in places:
        if not isinstance(row.record, Term):
            continue
        taken = next((one for one, other in standing if other != of), None)
        if taken:
            what = f"{text!r} is a standard name already ({taken.file}, line {taken.line}), here it stands for {of!r}"
            yield row.fault(what, "take this term out")
        elif style not in SHARED_STYLES:
            others = ", ".join(sorted({repr(other) for _, other, _ in places if other != of}))
            mend = f"make them a group, take one out, or mark all as {', '.join(SHARED_STYLES)} if speakers share it"
            yield row.fault(f"{text!r} stands for {of!r} and also for {others}", mend)


def family(kind: str) -> str:
    """The kinds among which one text should stand for one entry: a group answers "which muscle" as a muscle does."""
    return "muscle" if kind == "group" else kind
