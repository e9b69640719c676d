"""What the person should do now: calm words that leave the decision to local services."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache

from breakdowns.questions.screening.reading import DATA


@dataclass(frozen=True)
class Advice:
    """The calm page of one urgency: its title, its lines in order, and where they come from."""

    title: str
    lines: tuple[str, ...]
    sources: tuple[str, ...]


def action(key: str) -> str:
    """What to do now for one kind of sign. Raises ``KeyError`` for an unknown key."""
    return _actions()[key]


def advice(urgency: str) -> Advice:
    """The words of the page that a person sees at once. Raises ``ValueError`` for an unknown urgency."""
    rows = [row for row in _rows("advice.csv") if row["urgency"] == urgency]
    if not rows:
        raise ValueError(f"There is no advice for “{urgency}”; use one of the URGENCIES.")
    title = next(row["words"] for row in rows if row["part"] == "title")
    lines = tuple(row["words"] for row in rows if row["part"] == "line")
    named = dict.fromkeys(row["source"] for row in rows)
    return Advice(title, lines, tuple(named))


@cache
def _actions() -> dict[str, str]:
    return {row["key"]: row["words"] for row in _rows("actions.csv")}


@cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))
