"""What waits, as rows of numbers and keys, and what fits into the minutes there are. No database here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from breakdowns.questions.planning import Waiting, Weights, plan

__all__ = ["Chosen", "Head", "choose"]


@dataclass(frozen=True, slots=True)
class Head:
    """The first of a group that waits (or a question alone), standing for all of them."""

    key: str
    asked_on: date
    people: int
    urgency: str | None
    rank: int
    minutes: Fraction | float
    times_passed_over: int
    questions: int = 1
    promised_at: date | None = None
    group: int | None = None

    def waiting(self) -> Waiting:
        """As the planning takes it."""
        return Waiting(
            self.key, self.asked_on, self.people, self.urgency or None, self.minutes,
            self.times_passed_over, self.promised_at,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chosen:
    """Keys in the order to be answered, those left for later, the minutes these would take, and why.

    ``oldest`` are those of the chosen that the share of the longest waiting was used for.
    """

    keys: tuple[str, ...]
    left: tuple[str, ...]
    left_minutes: float
    why: Mapping[str, str]
    oldest: tuple[str, ...] = ()


def choose(
    heads: Sequence[Head],
    minutes: Fraction | float,
    weights: Weights | None = None,
    *,
    today: date | None = None,
    reserved: Fraction | None = None,
) -> Chosen:
    """Which of the heads fit into ``minutes``, red flags first, and in which order (``planning.plan``)."""
    made = plan(
        [head.waiting() for head in heads], max(0, minutes), weights, today=today, reserved_minutes=reserved
    )
    return Chosen(made.chosen, made.left_over, float(made.minutes_to_clear), made.why, made.oldest)
