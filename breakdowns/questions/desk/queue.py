"""What waits, as rows of numbers and keys, and what fits into the minutes there are. No database here.

The choosing is that of ``breakdowns.questions.planning``; where that stage is not installed, the most urgent and
then the oldest come first as long as they fit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from importlib.util import find_spec
from typing import Any

__all__ = ["Chosen", "Head", "choose", "usual_weights"]

_PLANNING = "breakdowns.questions.planning"


@dataclass(frozen=True, slots=True)
class Head:
    """The oldest of a group that waits (or a question alone), standing for all of them."""

    key: str
    asked_on: date
    people: int
    urgency: str | None
    rank: int
    minutes: float
    times_passed_over: int
    questions: int = 1


@dataclass(frozen=True, slots=True)
class Chosen:
    """Keys in the order to be answered, those left for later, the minutes these would take, and why."""

    keys: tuple[str, ...]
    left: tuple[str, ...]
    left_minutes: float
    why: Mapping[str, str]


def _planning() -> Any:
    found = import_module(_PLANNING) if find_spec(_PLANNING) else None
    return found if hasattr(found, "plan") else None


def usual_weights() -> dict[str, tuple[float, str]]:
    """Each weight of the choosing with its value and what it is for; empty without the planning stage."""
    planning = _planning()
    rows = getattr(planning, "usual_weights", None) or getattr(planning, "weight_rows", None)
    return dict(rows()) if rows else {}


def choose(heads: Sequence[Head], minutes: float, weights: Mapping[str, float] | None = None) -> Chosen:
    """Which of the heads fit into ``minutes``, red flags first, and in which order."""
    flagged = sorted((head for head in heads if head.rank), key=lambda head: (-head.rank, head.asked_on))
    others = [head for head in heads if not head.rank]
    spent = sum(head.minutes for head in flagged)
    chosen, why = _fitting(others, max(0.0, minutes - spent), weights or {})
    first = [head.key for head in flagged]
    why = {**why, **{head.key: f"A sign that can't wait: {head.urgency}." for head in flagged}}
    taken = {*first, *chosen}
    left = [head for head in sorted(heads, key=lambda head: head.asked_on) if head.key not in taken]
    return Chosen(
        (*first, *chosen), tuple(head.key for head in left), sum(head.minutes for head in left), why
    )


def _fitting(
    heads: Sequence[Head], minutes: float, weights: Mapping[str, float]
) -> tuple[list[str], dict[str, str]]:
    planning = _planning()
    if planning is None:
        return _oldest_first(heads, minutes)
    items = [
        planning.Waiting(
            head.key, head.asked_on, head.people, head.urgency, head.minutes, head.times_passed_over
        )
        for head in heads
    ]
    made = planning.plan(items, minutes, planning.Weights.load(dict(weights)))
    return [str(key) for key in made.chosen], {str(key): str(said) for key, said in dict(made.why).items()}


def _oldest_first(heads: Sequence[Head], minutes: float) -> tuple[list[str], dict[str, str]]:
    chosen, left = [], minutes
    for head in sorted(heads, key=lambda head: head.asked_on):
        if head.minutes <= left:
            chosen.append(head.key)
            left -= head.minutes
    return chosen, dict.fromkeys(chosen, "Among those that have waited longest.")
