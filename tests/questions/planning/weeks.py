"""A desk over many weeks: more is asked than there are minutes, one sitting a week. Everything is invented."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from breakdowns.questions.planning import Plan, Waiting, Weights, can_promise, plan

FIRST = date(2026, 1, 5)
Choosing = Callable[[Sequence[Waiting], Fraction, Weights, date], Plan]


@dataclass
class Outcome:
    """Weeks that each waited until the answer or until it was told that there is none, by key."""

    promised: dict[str, int] = field(default_factory=dict)
    answered: dict[str, int] = field(default_factory=dict)
    told: dict[str, int] = field(default_factory=dict)
    urgent_left: int = 0
    people: int = 0
    minutes: Fraction = Fraction(0)
    asked_minutes: Fraction = Fraction(0)
    oldest: int = 0


def usual(items: Sequence[Waiting], minutes: Fraction, weights: Weights, today: date) -> Plan:
    return plan(items, minutes, weights, today=today)


def simulate(
    chance: random.Random,
    *,
    weeks: int = 52,
    minutes: Fraction = Fraction(20),
    load: Fraction = Fraction(3),
    weights: Weights | None = None,
    choosing: Choosing = usual,
    let_go: bool = True,
    longest: int = 130,
) -> Outcome:
    """``load`` times ``minutes`` are asked for each week, then one sitting; ``longest`` in tenths of a minute.

    With ``let_go`` those without a promise are told so after the promised weeks, as the desk does.
    """
    weights = weights or Weights.load()
    waiting: dict[str, Waiting] = {}
    asked_in: dict[str, int] = {}
    outcome = Outcome()
    for week in range(weeks):
        today = FIRST + timedelta(weeks=week)
        for one in _asked(chance, week, today, minutes * load, longest):
            line = [other.minutes for other in waiting.values() if other.promised_at and not other.urgency]
            if not one.urgency and can_promise(line, one.minutes, minutes, weights):
                one = Waiting(one.key, today, one.people, None, one.minutes, promised_at=today)
                outcome.promised[one.key] = week
            waiting[one.key] = one
            asked_in[one.key] = week
            outcome.asked_minutes += Fraction(one.minutes)
        made = choosing(list(waiting.values()), minutes, weights, today)
        for key in made.chosen:
            one = waiting.pop(key)
            outcome.answered[key] = week - asked_in[key] + 1
            outcome.people += one.people
            outcome.minutes += Fraction(one.minutes)
        outcome.urgent_left += sum(1 for one in waiting.values() if one.urgency)
        for key, one in list(waiting.items()):
            waited = week - asked_in[key] + 1
            outcome.oldest = max(outcome.oldest, waited)
            if let_go and not one.promised_at and waited >= weights.promised_weeks:
                del waiting[key]
                outcome.told[key] = waited
            else:
                waiting[key] = Waiting(
                    key, one.asked_on, one.people, one.urgency, one.minutes,
                    one.times_passed_over + 1, one.promised_at,
                )  # fmt: skip
    return outcome


def _asked(chance: random.Random, week: int, today: date, minutes: Fraction, longest: int) -> list[Waiting]:
    """Questions of one week: mostly one person each, mostly short, seldom a red flag, together ``minutes`` or a bit more."""
    found: list[Waiting] = []
    while sum(Fraction(one.minutes) for one in found) < minutes:
        long = Fraction(max(5, min(longest, int(chance.lognormvariate(3.3, 0.7)))), 10)
        flag = chance.choice(("emergency now", "urgent same day")) if chance.random() < 0.01 else None
        people = 1 + int(chance.paretovariate(1.6)) if chance.random() < 0.2 else 1
        found.append(
            Waiting(f"{week:02d}-{len(found):03d}", today, people, flag, Fraction(2) if flag else long)
        )
    return found
