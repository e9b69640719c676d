"""Which of those who wait are answered in the minutes there are, in which order, and why."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from fractions import Fraction

from breakdowns.questions.planning.knapsack import best_subset
from breakdowns.questions.planning.promise import reserved
from breakdowns.questions.planning.weights import TENTH, Weights, exact, tenths_down
from breakdowns.questions.screening import URGENCIES

__all__ = ["Plan", "Waiting", "plan"]


@dataclass(frozen=True, slots=True)
class Waiting:
    """A question that waits, or a group that one answer serves.

    ``asked_on``: when the first of them asked; a day, or a moment where the order within a day matters. ``people``:
    how many ask it. ``urgency``: one of the urgencies of the screening, or None. ``minutes``: what an answer takes,
    estimated. ``times_passed_over``: sittings that ended without it. ``promised_at``: when an answer was promised.
    """

    key: str
    asked_on: date
    people: int
    urgency: str | None
    minutes: Fraction | float
    times_passed_over: int = 0
    promised_at: date | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """``order``: every key, first those chosen, then the rest by age. ``chosen`` and ``left_over`` are its two parts.

    ``minutes``: what the chosen take, ``minutes_to_clear``: what the left over take, both estimated and exact, with the
    weight of effort in them. ``oldest``: those of the chosen that the reserved share belongs to. ``too_long``: those
    that would not fit even if they came first after the red flags. ``why``: a sentence for every key.
    """

    order: tuple[str, ...]
    chosen: tuple[str, ...]
    left_over: tuple[str, ...]
    minutes: Fraction
    minutes_to_clear: Fraction
    oldest: tuple[str, ...]
    too_long: tuple[str, ...]
    why: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Item:
    one: Waiting
    cost: int
    value: int
    days: int

    @property
    def age(self) -> tuple[float, str]:
        return _moment(self.one.asked_on), self.one.key

    @property
    def place(self) -> tuple[bool, float, float, str]:
        """The place in the line: the promised ones as they were promised, the others behind by age."""
        given = self.one.promised_at
        return (given is None, _moment(given) if given is not None else 0.0, *self.age)


def plan(
    items: Sequence[Waiting],
    minutes: Fraction | float,
    weights: Weights | None = None,
    *,
    today: date | None = None,
    reserved_minutes: Fraction | float | None = None,
) -> Plan:
    """Choose from ``items`` what is answered in ``minutes``.

    1. Red flags first, the most urgent and then the oldest before the others, whatever the minutes are.
    2. Then the line: ``weights.reserved_share`` of the minutes belongs to those with a promise in its order and, behind
       them, to the oldest. From it follows a bound on waiting, stated and derived in ``planning.promise``.
    3. What is left goes to those whom it helps most: the exact 0/1 knapsack of estimated minutes (in tenths, rounded
       up) against people * (person + waiting * days) + passed_over * times. Among equals fewer minutes win, then the older.

    Red flags apart, the chosen never take more than the minutes. The order of ``items`` makes no difference.
    ``today``: the day that waiting is counted to (the computer's, if not given). ``reserved_minutes``: what the line gets
    where a part of its share was used already in this sitting. Raises ValueError for minutes below nought, a question without
    people or minutes, an urgency that the screening doesn't know, or a key that comes twice.
    """
    weights = weights or Weights.load()
    given = exact(minutes)
    _checked(items, given)
    made = _items(items, weights, today or date.today())
    urgent = sorted((one for one in made if one.one.urgency), key=lambda one: (_rank(one), one.age))
    ordinary = sorted((one for one in made if not one.one.urgency), key=lambda one: one.place)
    room = max(0, tenths_down(given) - sum(one.cost for one in urgent))
    share = reserved(given, weights) if reserved_minutes is None else tenths_down(exact(reserved_minutes))
    oldest = _from_the_line(ordinary, room, share)
    first = {one.one.key for one in oldest}
    others = sorted((one for one in ordinary if one.one.key not in first), key=lambda one: one.age)
    left = room - sum(one.cost for one in oldest)
    best = best_subset([one.cost for one in others], [one.value for one in others], left)
    helpful = [others[place] for place in best]
    helpful.sort(key=lambda one: (-Fraction(one.value, one.cost), one.age))
    taken = {one.one.key for one in (*urgent, *oldest, *helpful)}
    rest = sorted((one for one in made if one.one.key not in taken), key=lambda one: one.age)
    why = {one.one.key: f"A sign that can't wait: {one.one.urgency}." for one in urgent}
    why |= {one.one.key: _why_oldest(one) for one in oldest}
    why |= {one.one.key: _why_helpful(one) for one in helpful}
    why |= {one.one.key: _why_left(one, room) for one in rest}
    chosen = tuple(one.one.key for one in (*urgent, *oldest, *helpful))
    left_over = tuple(one.one.key for one in rest)
    return Plan(
        order=(*chosen, *left_over),
        chosen=chosen,
        left_over=left_over,
        minutes=_sum((*urgent, *oldest, *helpful), weights),
        minutes_to_clear=_sum(rest, weights),
        oldest=tuple(one.one.key for one in oldest),
        too_long=tuple(one.one.key for one in rest if one.cost > room),
        why=why,
    )


def _checked(items: Sequence[Waiting], minutes: Fraction) -> None:
    if minutes < 0:
        raise ValueError("Minutes can't be below nought.")
    if len({one.key for one in items}) != len(items):
        raise ValueError("Each question has a key of its own; one came twice.")
    for one in items:
        if one.people < 1 or exact(one.minutes) <= 0 or one.times_passed_over < 0:
            raise ValueError(f"“{one.key}” needs at least one person and more than no minutes.")
        if one.urgency and one.urgency not in URGENCIES:
            raise ValueError(f"“{one.urgency}” is none of the urgencies: {', '.join(URGENCIES)}.")


def _items(items: Sequence[Waiting], weights: Weights, today: date) -> list[_Item]:
    # The points of each weight as whole numbers over one denominator: they compare as the fractions do.
    scale = math.lcm(*(part.denominator for part in (weights.person, weights.waiting, weights.passed_over)))
    person, waiting, passed = (
        int(part * scale) for part in (weights.person, weights.waiting, weights.passed_over)
    )
    made = []
    for one in items:
        asked = one.asked_on.date() if isinstance(one.asked_on, datetime) else one.asked_on
        days = max(0, (today - asked).days)
        value = one.people * (person + waiting * days) + passed * one.times_passed_over
        made.append(_Item(one, weights.cost(exact(one.minutes)), value, days))
    return made


def _rank(item: _Item) -> int:
    return URGENCIES.index(item.one.urgency or "")


def _moment(when: date) -> float:
    """Seconds since 1970; a day is its beginning in UTC, and so is a moment that names no zone."""
    if not isinstance(when, datetime):
        when = datetime.combine(when, time.min, UTC)
    return (when if when.tzinfo else when.replace(tzinfo=UTC)).timestamp()


def _from_the_line(line: list[_Item], room: int, share: int) -> list[_Item]:
    """The walk along the line that ``planning.promise`` derives its bound from."""
    taken: list[_Item] = []
    used = 0
    for one in line:
        if used >= share:
            break
        if used + one.cost <= room:
            taken.append(one)
            used += one.cost
        elif one.cost <= 2 * share:
            break
    return taken


def _sum(items: Sequence[_Item], weights: Weights) -> Fraction:
    return sum((exact(one.one.minutes) * weights.effort for one in items), Fraction(0))


def _people(count: int) -> str:
    return "1 person" if count == 1 else f"{count} people"


def _days(count: int) -> str:
    return "since today" if not count else "for 1 day" if count == 1 else f"for {count} days"


def _minutes(cost: int) -> str:
    return f"{cost / TENTH:g} minute{'' if cost == TENTH else 's'}"


def _why_oldest(item: _Item) -> str:
    first = (
        "Promised, and next in the line" if item.one.promised_at else "Among those that have waited longest"
    )
    return f"{first}: {_days(item.days)}."


def _why_helpful(item: _Item) -> str:
    over = f", passed over {item.one.times_passed_over} times" if item.one.times_passed_over > 1 else ""
    over = ", passed over once" if item.one.times_passed_over == 1 else over
    return f"Helps {_people(item.one.people)} in {_minutes(item.cost)}, waiting {_days(item.days)}{over}."


def _why_left(item: _Item, room: int) -> str:
    if item.cost > room:
        return f"Takes {_minutes(item.cost)}, which is more than there is."
    return (
        f"The others help more people in these minutes ({_people(item.one.people)}, {_minutes(item.cost)})."
    )
