"""Rows to people with days of membership, and a sentence for each line that can't be one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from .columns import FIELDS
from .day_order import NotADay, read_day
from .table import Row


@dataclass(frozen=True)
class Plan:
    """How a file is to be read, as a person settled it. ``columns``: field → number of the column from 0."""

    encoding: str
    separator: str
    head: bool
    columns: Mapping[str, int] = field(default_factory=dict)
    day_order: str = ""
    first_day: date | None = None
    last_day: date | None = None
    invite: bool = False
    settled: bool = False

    def as_json(self) -> dict[str, Any]:
        days = {name: (day.isoformat() if day else None) for name, day in self._days.items()}
        return {**asdict(self), "columns": dict(self.columns), **days}

    @property
    def _days(self) -> dict[str, date | None]:
        return {"first_day": self.first_day, "last_day": self.last_day}

    @classmethod
    def from_json(cls, found: Mapping[str, Any]) -> Plan:
        days = {
            name: date.fromisoformat(found[name]) if found.get(name) else None
            for name in ("first_day", "last_day")
        }
        return cls(**{**found, **days})


@dataclass(frozen=True)
class Entry:
    """One person of the file. ``ends_on`` None has no end; both days are inclusive."""

    line: int
    email: str
    name: str
    starts_on: date
    ends_on: date | None
    gift_from: str = ""


@dataclass(frozen=True)
class Fault:
    """What is wrong with one line and how to mend it."""

    line: int
    words: str


@dataclass(frozen=True)
class Reading:
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]

    @property
    def lines(self) -> int:
        return len(self.entries) + len(self.faults)


class _Bad(ValueError):
    pass


def read_entries(
    rows: Iterable[Row], plan: Plan, *, today: date, is_address: Callable[[str], bool]
) -> Reading:
    """Every row that is not blank is an entry or a fault, each with its line; the first of one address counts."""
    entries: list[Entry] = []
    faults: list[Fault] = []
    seen: dict[str, int] = {}
    body = (row for row in rows if not row.is_blank)
    head = next(body, None) if plan.head else None
    for row in body:
        try:
            if head and len(row.cells) > len(head.cells) and any(row.cells[len(head.cells) :]):
                raise _Bad(
                    f"The line has {len(row.cells)} cells and the head {len(head.cells)}; put a text with a separator in "
                    "it between quotation marks."
                )
            entry = _entry(row, plan, today, is_address)
            if entry.email in seen:
                raise _Bad(f"{entry.email} stands in line {seen[entry.email]} already; keep one of the two.")
        except (_Bad, NotADay) as reason:
            faults.append(Fault(row.line, str(reason)))
        else:
            seen[entry.email] = row.line
            entries.append(entry)
    return Reading(tuple(entries), tuple(faults))


def _entry(row: Row, plan: Plan, today: date, is_address: Callable[[str], bool]) -> Entry:
    if row.broken:
        raise _Bad(row.broken)
    email = _cell(row, plan, "email").lower()
    if not email:
        raise _Bad("The e-mail address is missing.")
    if not is_address(email) or len(email) > 254:
        raise _Bad(f"“{_cut(email)}” is no e-mail address.")
    name = _cell(row, plan, "name")
    if not name:
        name = " ".join(filter(None, (_cell(row, plan, "given_name"), _cell(row, plan, "family_name"))))
    gift_from = _cell(row, plan, "gift_from")
    for words, value in (("name", name), (FIELDS["gift_from"], gift_from)):
        if len(value) > 120:
            raise _Bad(f"The {words.lower()} is {len(value)} characters long; 120 is the most.")
    first = _day(row, plan, "starts_on") or plan.first_day or today
    last = _day(row, plan, "ends_on") or plan.last_day
    if last is not None and last < first:
        raise _Bad(f"The last day, {last}, lies before the first, {first}.")
    return Entry(row.line, email, name, first, last, gift_from)


def _cell(row: Row, plan: Plan, name: str) -> str:
    number = plan.columns.get(name)
    if number is None:
        return ""
    if number >= len(row.cells):
        if name != "email" and len(row.cells) > 1:
            return _short_of(row, number, name)
        return ""
    value = " ".join(row.cells[number].split())
    if any(sign < " " or sign == "\x7f" for sign in value):
        raise _Bad(f"{FIELDS[name]} holds a control sign.")
    return value


def _short_of(row: Row, number: int, name: str) -> str:
    raise _Bad(
        f"The line has {len(row.cells)} cells, so that {FIELDS[name].lower()}, in column {number + 1}, is missing."
    )


def _day(row: Row, plan: Plan, name: str) -> date | None:
    said = _cell(row, plan, name)
    if not said:
        return None
    try:
        return read_day(said, plan.day_order)
    except NotADay as reason:
        raise NotADay(f"{FIELDS[name]}: {reason}") from None


def _cut(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"
