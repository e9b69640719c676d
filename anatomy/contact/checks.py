"""What must hold between the rows of the contact map, and between them and the vocabulary."""

from __future__ import annotations

from collections.abc import Iterator

from anatomy.claims.levels_said import PLACE as LEVELS
from anatomy.contact.entries import TABLES, VIEWS, Place, Risk
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Structure
from anatomy.vocabulary.faults import Fault
from anatomy.vocabulary.placed import Placed, Rows

__all__ = ["faults_between"]

RIBS = frozenset(str(n) for n in range(1, 13))


def faults_between(rows: Rows, vocabulary: Vocabulary) -> list[Fault]:
    """Every fault that no single cell shows."""
    checks = (_twice, _sources, _names, _places, _unfolding, _levels, _risks, _sides, _covered)
    return [fault for check in checks for fault in check(rows, vocabulary)]


def _keys(rows: Rows, table: str) -> set[str]:
    return {row.record.key for row in rows[table]}


def _twice(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    for name, table in TABLES.items():
        seen: dict[object, int] = {}
        for row in rows[name]:
            key = table.key_of(row.record)
            if key in seen:
                yield row.fault(f"the row stands in line {seen[key]} too", "take one of the two out")
            seen[key] = row.line


def _sources(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    for name in TABLES:
        for row in rows[name]:
            for key in row.record.sources:
                if key not in vocabulary.sources:
                    mend = "add it to a sources_*.csv of the vocabulary or correct the key"
                    yield row.fault(f"unknown source {key!r}", mend)


def _names(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    for table in ("risks", "surface"):
        for row in rows[table]:
            if vocabulary.entry(row.record.kind, row.record.of) is None:
                what = f"the vocabulary has no {row.record.kind} {row.record.of!r}"
                yield row.fault(what, "use its standard name, or add it to the vocabulary")


def _places(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    known = _keys(rows, "places")
    named = [("places", "within"), ("risks", "places"), ("parts", "places"), ("mechanisms", "carries")]
    cautions = [row for row in rows["cautions"] if row.record.when == "places"]
    for row, values in [
        *((row, getattr(row.record, field)) for table, field in named for row in rows[table]),
        *((row, row.record.values) for row in cautions),
    ]:
        for key in values:
            if key not in known:
                yield row.fault(f"unknown place {key!r}", "use a key of places.csv")
    parts = {row.record.part for row in rows["parts"] if not row.record.aspects}
    for row in rows["cautions"]:
        for name in row.record.values if row.record.when == "structures" else ():
            if vocabulary.entry("structure", name) is None:
                yield row.fault(f"the vocabulary has no structure {name!r}", "use its standard name")
    for row in rows["words"]:
        if row.record.cls == "part" and row.record.value not in parts:
            mend = "add a row without aspects to parts.csv"
            yield row.fault(f"parts.csv says nowhere what {row.record.value!r} is", mend)
    mechanisms = _keys(rows, "mechanisms")
    cautions = [row for row in rows["cautions"] if row.record.when == "mechanisms"]
    for row, values in [
        *((row, row.record.mechanisms) for row in rows["risks"]),
        *((row, row.record.values) for row in cautions),
    ]:
        for key in values:
            if key not in mechanisms:
                yield row.fault(f"unknown mechanism {key!r}", "use a key of mechanisms.csv")


def _unfolding(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    within = {row.record.key: row.record.within for row in rows["places"]}
    for row in rows["places"]:
        seen: set[str] = set()
        waiting = list(row.record.within)
        while waiting:
            key = waiting.pop()
            if key == row.record.key:
                yield row.fault("the place lies within itself", "mend the cell “within”")
                break
            if key not in seen:
                seen.add(key)
                waiting += within.get(key, ())
        place: Place = row.record
        if place.parity == "paired" and "{side}" not in place.name:
            yield row.fault("a paired place has no {side} in its name", "write {side} where the side is said")
        for view in place.views:
            if view not in VIEWS:
                yield row.fault(f"{view!r} is no view", "write front, side or back")


def _levels(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    for table in ("places", "risks", "surface"):
        for row in rows[table]:
            for rib in row.record.ribs:
                if rib not in RIBS:
                    yield row.fault(f"there is no rib {rib!r}", "write numbers from 1 to 12")
            for level in row.record.vertebrae:
                if level.upper() not in LEVELS:
                    yield row.fault(
                        f"there is no vertebra {level!r}", "write C1 to C7, T1 to T12, L1 to L5 …"
                    )


def _risks(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    for row in rows["risks"]:
        risk: Risk = row.record
        if (
            risk.urgency == "soon"
            and "emergency" in risk.watch_for
            and "is an emergency" not in risk.watch_for
        ):
            yield row.fault("an emergency is hinted at and not said", "write “… is an emergency”")
        if not risk.why.endswith("."):
            yield row.fault("“why” is no sentence", "end it with a full stop")


def _sides(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    parity = {row.record.key: row.record.parity for row in rows["places"]}
    for table in ("risks", "surface"):
        for row in rows[table]:
            yield from _wrong_side(row, vocabulary, parity)


def _wrong_side(row: Placed, vocabulary: Vocabulary, parity: dict[str, str]) -> Iterator[Fault]:
    entry = vocabulary.entry(row.record.kind, row.record.of)
    side = entry.side if isinstance(entry, Structure) else "both"
    if side not in ("left", "right") or row.record.side == side:
        return
    paired = [key for key in getattr(row.record, "places", ()) if parity.get(key) == "paired"]
    if row.record.side != "midline" or paired:
        yield row.fault(
            f"{row.record.of} lies on the {side} and the row says {row.record.side}", f"write {side}"
        )


def _covered(rows: Rows, vocabulary: Vocabulary) -> Iterator[Fault]:
    named = {key for row in rows["risks"] for key in row.record.places}
    larger = {key for row in rows["places"] for key in row.record.within}
    for row in rows["places"]:
        if row.record.key not in named | larger:
            yield row.fault("no structure is at risk at this place", "add a row of risks.csv that names it")
