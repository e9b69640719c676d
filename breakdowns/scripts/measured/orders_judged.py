"""Orders, times between and speeds that words tell, against those that were measured. Imports no Django."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from anatomy.motion.facts import Measured, MeasuredOrder, MeasuredSpeed
from anatomy.motion.wording import milliseconds
from breakdowns.scripts.measured.lexicon import reach
from breakdowns.scripts.measured.said import Amount, Noun, OrderSaid, RatioSaid, SpeedSaid
from breakdowns.scripts.measured.verdict import Disagreement
from breakdowns.scripts.measured.wording import about, noun_for, reads

__all__ = ["judged_orders", "judged_ratio", "judged_speed"]


def judged_orders(words: str, said: Iterable[OrderSaid], measured: Measured) -> Iterator[Disagreement]:
    """Orders that are settled the other way round, and times between that were measured otherwise."""
    for one in said:
        judge = {"before": _row, "together": _together, "leads": _leads}[one.kind]
        found = judge(words, one, measured)
        if found is not None:
            yield found


# --- which comes first -----------------------------------------------------------------------------


def _of_side(noun: Noun, side: str, measured: Measured) -> bool:
    return measured.mirrored or not noun.side or not side or noun.side == side


def _settled(measured: Measured, nouns: Sequence[Noun]) -> list[MeasuredOrder]:
    """The settled orders of the side that is spoken of."""
    return [
        one
        for one in measured.orders
        if one.order == "settled" and all(_of_side(noun, one.side, measured) for noun in nouns)
    ]


def _paths(orders: Sequence[MeasuredOrder], first: str, second: str) -> list[MeasuredOrder]:
    """Settled steps that lead from ``first`` to ``second``; empty where nothing settles them."""
    straight = [one for one in orders if (one.first, one.second) == (first, second)]
    if straight:
        return straight[:1]
    for step in orders:
        if step.first == first:
            rest = _paths([one for one in orders if one is not step], step.second, second)
            if rest:
                return [step, *rest]
    return []


def _comes_before(measured: Measured, one: Noun, other: Noun) -> tuple[str, str, list[MeasuredOrder]] | None:
    """The segments and steps by which ``other`` was settled before ``one``, where no sense of the words is right."""
    orders = _settled(measured, (one, other))
    known = {name for order in measured.orders for name in (order.first, order.second)}
    ones = [name for name in one.segments if name in known]
    others = [name for name in other.segments if name in known]
    if any(_paths(orders, a, b) for a in ones for b in others):
        return None
    found = [(b, a, _paths(orders, b, a)) for a in ones for b in others if a != b]
    return next((one for one in found if one[2]), None)


def _measured_words(steps: Sequence[MeasuredOrder], first: str, second: str) -> str:
    lag = sum(one.lag_s for one in steps)
    sd = math.sqrt(sum(one.sd_s**2 for one in steps))
    names = [name.replace("_", " ") for name in (first, second)]
    where = steps[0].where or "the track"
    return f"on {where} {names[0]} leads {names[1]} by {milliseconds(lag, sd)}"


def _quoted(words: str, start: int, end: int) -> str:
    return " ".join(words[start:end].split())


def _row(words: str, said: OrderSaid, measured: Measured) -> Disagreement | None:
    wrong = [
        (place, found)
        for place, (one, other) in enumerate(pairwise(said.nouns))
        if (found := _comes_before(measured, one, other)) is not None
    ]
    if not wrong:
        return _lag(words, said, measured)
    nouns = [said.nouns[k] for place, _ in wrong for k in (place, place + 1)]
    start, end = min(noun.start for noun in nouns), max(noun.end for noun in nouns)
    told = "; ".join(_measured_words(found[2], found[0], found[1]) for _, found in wrong)
    instead = _reordered(words, said, measured, start, end)
    return Disagreement(start, end, "order", f"“{_quoted(words, start, end)}”: {told}", instead)


def _reordered(words: str, said: OrderSaid, measured: Measured, start: int, end: int) -> str:
    """The same words with the segments in the measured order; "" where they can't be told so."""
    inside = [noun for noun in said.nouns if start <= noun.start and noun.end <= end]
    known = {name for order in measured.orders for name in (order.first, order.second)}
    segments = [next((name for name in noun.segments if name in known), "") for noun in inside]
    if not all(segments) or len(set(segments)) < len(segments):
        return ""
    orders = _settled(measured, inside)
    count = {
        name: sum(bool(_paths(orders, other, name)) for other in segments if other != name)
        for name in segments
    }
    ranked = sorted(segments, key=lambda name: count[name])
    named = dict(zip(segments, inside, strict=True))
    text, at = "", start
    slots = dict(zip([noun.start for noun in inside], ranked, strict=True))
    for noun in sorted(inside, key=lambda one: one.start):
        put = noun_for(slots[noun.start], noun, named)
        if put is None:
            return ""
        put = put.capitalize() if words[noun.start].isupper() else put
        text, at = text + words[at : noun.start] + put, noun.end
    return text + words[at:end]


def _together(words: str, said: OrderSaid, measured: Measured) -> Disagreement | None:
    one, other = said.nouns[:2]
    found = _comes_before(measured, one, other) or _comes_before(measured, other, one)
    if found is None or len(said.nouns) != 2:
        return None
    first = other if found[0] in other.segments else one
    told = _measured_words(found[2], found[0], found[1])
    return Disagreement(
        said.start, said.end, "order", f"“{_quoted(words, said.start, said.end)}”: {told}",
        f"one after the other, {first.text} first",
    )  # fmt: skip


def _leads(words: str, said: OrderSaid, measured: Measured) -> Disagreement | None:
    (noun,) = said.nouns
    orders = _settled(measured, (noun,))
    known = {name for order in measured.orders for name in (order.first, order.second)}
    own = [name for name in noun.segments if name in known]
    ahead = [one for one in orders if one.second in own]
    behind = {one.second for one in ahead}
    if not ahead or any(one.first in own and one.first not in behind for one in orders):
        return None
    firsts = {one.first for one in orders} - {one.second for one in orders}
    first = next(iter(sorted(firsts)), ahead[0].first)
    steps = _paths(orders, first, ahead[0].second) or [ahead[0]]
    told = _measured_words(steps, steps[0].first, steps[-1].second)
    put = noun_for(steps[0].first, noun, {}) if noun.start >= said.start else None
    instead = words[said.start : noun.start] + put + words[noun.end : said.end] if put else ""
    if put and words[noun.start].isupper():
        instead = instead[:1].upper() + instead[1:]
    return Disagreement(
        said.start, said.end, "order", f"“{_quoted(words, said.start, said.end)}”: {told}", instead
    )


def _lag(words: str, said: OrderSaid, measured: Measured) -> Disagreement | None:
    """The order is right or open; the time between may still be another one."""
    amount = said.lag
    if amount is None or len(said.nouns) != 2:
        return None
    one, other = said.nouns
    orders = _settled(measured, (one, other))
    found = [steps for a in one.segments for b in other.segments if (steps := _paths(orders, a, b))]
    per = _milliseconds_each(amount, measured)
    if not found or per is None:
        return None
    steps = found[0]
    lag, sd = 1000 * sum(x.lag_s for x in steps), 1000 * math.sqrt(sum(x.sd_s**2 for x in steps))
    spread = reach() * sd
    if lag - spread <= amount.high * per and amount.low * per <= lag + spread:
        return None
    told = _measured_words(steps, steps[0].first, steps[-1].second)
    return Disagreement(
        amount.start, amount.end, "order", f"“{_quoted(words, amount.start, amount.end)}”: {told}",
        about(lag / per, amount, words),
    )  # fmt: skip


def _milliseconds_each(amount: Amount, measured: Measured) -> float | None:
    if amount.quantity == "ms":
        return 1.0
    if amount.quantity == "frames" and measured.rate:
        return float(1000 / measured.rate)
    return None


# --- how fast --------------------------------------------------------------------------------------


def _speeds(noun: Noun, measured: Measured) -> list[MeasuredSpeed]:
    return [
        one
        for one in measured.speeds
        if one.segment in noun.segments and not one.caution and _of_side(noun, one.side, measured)
    ]


def judged_speed(words: str, said: SpeedSaid, measured: Measured) -> Disagreement | None:
    """A speed that no measure of the segment's fastest turn allows."""
    amount, found = said.amount, _speeds(said.noun, measured)
    if not found:
        return None
    for one in found:
        spread = reach() * one.sd
        if (said.moment or one.value - spread <= amount.high) and amount.low <= one.value + spread:
            return None
    one = min(found, key=lambda fact: abs(fact.value - amount.value))
    told = f"on {one.where or 'the track'} {one.segment.replace('_', ' ')} peaks at {reads(one.value, one.sd, '°/s')}"
    return Disagreement(
        amount.start, amount.end, "speed", f"“{_quoted(words, amount.start, amount.end)}”: {told}",
        about(one.value, amount, words),
    )  # fmt: skip


def judged_ratio(words: str, said: RatioSaid, measured: Measured) -> Disagreement | None:
    """So many times as fast; the errors of both speeds count."""
    pairs = [
        (a, b)
        for a in _speeds(said.first, measured)
        for b in _speeds(said.second, measured)
        if a.segment != b.segment and b.value > 0 and a.value > 0
    ]
    for a, b in pairs:
        ratio = a.value / b.value
        spread = reach() * ratio * math.hypot(a.sd / a.value, b.sd / b.value)
        if ratio - spread <= said.high and said.low <= ratio + spread:
            return None
    if not pairs:
        return None
    a, b = pairs[0]
    told = (
        f"on {a.where or 'the track'} {a.segment.replace('_', ' ')} peaks at {reads(a.value, a.sd, '°/s')}, "
        f"{b.segment.replace('_', ' ')} at {reads(b.value, b.sd, '°/s')}"
    )
    return Disagreement(
        said.start, said.end, "speed", f"“{_quoted(words, said.start, said.end)}”: {told}",
        _swapped(words, said) if math.isinf(said.high) or said.low == 0 else "",
    )  # fmt: skip


def _swapped(words: str, said: RatioSaid) -> str:
    one, other = said.first, said.second
    if (one.text.endswith("s") and one.text != "pelvis") != (
        other.text.endswith("s") and other.text != "pelvis"
    ):
        return ""
    return other.text + words[one.end : other.start] + one.text
