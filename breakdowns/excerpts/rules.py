"""The vocabulary of rules: which figure of the ledger a limit compares, with its definition.

Also the small numbers that are our own choice (``choices.csv``), the markers of decided cases and
the wording that stays on every page with limits. All of it is data.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from .tables import DataError, Row, read_table

__all__ = ["CaseFact", "Rule", "case_facts", "choice", "rules", "wording"]

SCOPES = ("source", "event", "piece")
SENSES = ("max", "min")
UNITS = ("source_seconds", "screen_seconds", "share", "ratio", "count", "hours", "yes_no")
RESULTS = ("fair", "not fair")


@dataclass(frozen=True)
class Rule:
    """One thing that can be limited. ``key`` is the name of the figure in the ledger.

    ``near``: whether a figure close to the limit is pointed out.
    """

    key: str
    scopes: tuple[str, ...]
    senses: tuple[str, ...]
    unit: str
    near: bool
    label: str
    definition: str
    source: str

    def as_json(self) -> dict[str, Any]:
        return {"rule": self.key, "label": self.label, "definition": self.definition, "unit": self.unit}


@dataclass(frozen=True)
class CaseFact:
    """A fact of a decided case that may be drawn on a scale: never a limit. Seconds of source."""

    key: str
    seconds: Fraction
    of_seconds: Fraction | None
    result: str
    where: str
    reference: str
    why: str
    how_read: str

    @property
    def share(self) -> Fraction | None:
        return self.seconds / self.of_seconds if self.of_seconds else None


def _rule_faults(row: Row) -> list[str]:
    faults = row.missing()
    faults += [
        f"{row.place}: {scope!r} is no scope." for scope in row.listed("scopes") if scope not in SCOPES
    ]
    faults += [
        f"{row.place}: {sense!r} is no sense." for sense in row.listed("senses") if sense not in SENSES
    ]
    if row["unit"] not in UNITS:
        faults.append(f"{row.place}: {row['unit']!r} is no unit.")
    if row["near"] not in ("yes", "no"):
        faults.append(f"{row.place}: near must be yes or no.")
    return faults


def unique(rows: list[Row], *columns: str) -> list[str]:
    """A sentence for each row that repeats an earlier one in these columns."""
    seen: set[tuple[str, ...]] = set()
    faults = []
    for row in rows:
        key = tuple(row[column] for column in columns)
        if key in seen:
            faults.append(f"{row.place}: {' / '.join(key)} stands here a second time.")
        seen.add(key)
    return faults


@cache
def rules() -> dict[str, Rule]:
    """Every rule by key. Raises DataError naming each inconsistency by file and row."""
    rows = read_table(
        "rules.csv", ("rule", "scopes", "senses", "unit", "near", "label", "definition", "source")
    )
    faults = [fault for row in rows for fault in _rule_faults(row)] + unique(rows, "rule")
    if faults:
        raise DataError(faults)
    made = [
        Rule(
            key=row["rule"],
            scopes=row.listed("scopes"),
            senses=row.listed("senses"),
            unit=row["unit"],
            near=row["near"] == "yes",
            label=row["label"],
            definition=row["definition"],
            source=row["source"],
        )
        for row in rows
    ]
    return {rule.key: rule for rule in made}


@cache
def _choices() -> dict[str, Fraction]:
    rows = read_table("choices.csv", ("key", "value", "unit", "note", "source"))
    faults = [fault for row in rows for fault in row.missing()] + unique(rows, "key")
    if faults:
        raise DataError(faults)
    return {row["key"]: row.number("value") for row in rows}


def choice(key: str) -> Fraction:
    """A number of our own choosing, by its key. Raises KeyError."""
    return _choices()[key]


@cache
def case_facts() -> tuple[CaseFact, ...]:
    """Markers of decided cases, in order of seconds. Raises DataError."""
    columns = ("key", "seconds", "of_seconds", "result", "where", "reference", "why", "how_read")
    rows = read_table("case_facts.csv", columns)
    faults = [fault for row in rows for fault in row.missing(optional=("of_seconds",))]
    faults += unique(rows, "key")
    faults += [
        f"{row.place}: {row['result']!r} is no result." for row in rows if row["result"] not in RESULTS
    ]
    if {row["result"] for row in rows} != set(RESULTS):
        faults.append("case_facts.csv: must show opposite results, or it would read as a limit.")
    if faults:
        raise DataError(faults)
    return tuple(sorted((_case(row) for row in rows), key=lambda case: case.seconds))


def _case(row: Row) -> CaseFact:
    return CaseFact(
        key=row["key"],
        seconds=row.number("seconds"),
        of_seconds=row.number("of_seconds") if row["of_seconds"] else None,
        result=row["result"],
        where=row["where"],
        reference=row["reference"],
        why=row["why"],
        how_read=row["how_read"],
    )


@cache
def wording() -> dict[str, str]:
    """Sentences that must stay wherever limits are shown, by key, in order. Raises DataError."""
    rows = read_table("wording.csv", ("key", "text", "source"))
    faults = [fault for row in rows for fault in row.missing()] + unique(rows, "key")
    if faults:
        raise DataError(faults)
    return {row["key"]: row["text"] for row in rows}
