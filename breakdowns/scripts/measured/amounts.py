"""Numbers with their hedges and units as ranges: "just under ninety degrees", "80–90°", "a couple of frames".

What a word of rounding or of vagueness allows stands in ``measured_tolerances.csv``. Imports no Django.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from breakdowns.scripts.measured.items import Item, Sentence
from breakdowns.scripts.measured.lexicon import tolerance
from breakdowns.scripts.measured.said import Amount, Quantity

__all__ = ["Unit", "allowed", "with_amounts"]

_DASHES = frozenset("-‐‑–—−")
_TO_DEGREES = {"RAD": 180 / math.pi, "TURNS": 360.0}


@dataclass(frozen=True, slots=True)
class Unit:
    """An item of a sentence, or an amount that takes the place of several."""

    item: Item
    amount: Amount | None = None

    @property
    def start(self) -> int:
        return self.amount.start if self.amount else self.item.start

    @property
    def end(self) -> int:
        return self.amount.end if self.amount else self.item.end

    def is_(self, *names: str) -> bool:
        return self.amount is None and self.item.is_(*names)


def allowed(quantity: str, sense: str, low: float, high: float) -> tuple[float, float]:
    """What the words allow for values from ``low`` to ``high`` said with a hedge of this sense."""
    kind = "deg" if quantity == "plain" else quantity
    rounding = tolerance(f"round_{kind}", low), tolerance(f"round_{kind}", high)
    vague = [
        max(share * abs(value), least, half)
        for value, half in zip((low, high), rounding, strict=True)
        for share, least in [(tolerance(f"about_share_{kind}"), tolerance(f"about_least_{kind}"))]
    ]
    if sense == "about":
        return low - vague[0], high + vague[1]
    if sense == "nearly":
        return low - vague[0], high
    if sense == "over":
        return low, high + vague[1]
    if sense == "least":
        return low, math.inf
    if sense == "most":
        return -math.inf, high
    if sense == "exact":
        return low - tolerance(f"exact_{kind}"), high + tolerance(f"exact_{kind}")
    return low - rounding[0], high + rounding[1]


def with_amounts(sentence: Sentence) -> list[Unit]:
    """The items with every amount as one. Values that tell of a change ("from 20 to 90") are left out as words."""
    items, found, place = sentence.items, [], 0
    while place < len(items):
        taken = _amount_at(sentence.text, items, place)
        if taken is None:
            found.append(Unit(items[place]))
            place += 1
            continue
        used, amount = taken
        while found and _belongs_before(found[-1], amount):
            amount = _hedged(amount, found.pop().item)
        found.append(Unit(items[place], amount))
        place += used
    return found


def _belongs_before(unit: Unit, amount: Amount) -> bool:
    if unit.amount is not None:
        return False
    return unit.is_("HEDGE") and not unit.item.is_("PREP", "PART")


def _hedged(amount: Amount, hedge: Item) -> Amount:
    """The amount with what stands before it; the first sense that was found nearest to the number holds."""
    sense = hedge.kinds["HEDGE"]
    low, high = amount.low, amount.high
    if sense != "plain" and not _is_hedged(amount):
        low, high = allowed(amount.quantity, sense, *_bare(amount))
    return Amount(
        amount.quantity, low, high, amount.value, hedge.start, amount.end, amount.number_start, amount.number_end,
        amount.figures, amount.joined, amount.unit,
    )  # fmt: skip


def _is_hedged(amount: Amount) -> bool:
    """Whether its ends are no longer those of its own rounding."""
    low, high = _bare(amount)
    return (amount.low, amount.high) != allowed(amount.quantity, "plain", low, high)


def _bare(amount: Amount) -> tuple[float, float]:
    """The two ends as they were named."""
    if math.isinf(amount.low) or math.isinf(amount.high):
        return amount.value, amount.value
    half = tolerance(f"round_{'deg' if amount.quantity == 'plain' else amount.quantity}", amount.value)
    if abs(amount.high - amount.low - 2 * half) < 1e-9:
        return amount.value, amount.value
    return amount.low + half, amount.high - half


def _amount_at(text: str, items: Sequence[Item], place: int) -> tuple[int, Amount] | None:
    item = items[place]
    for kind, quantity in (("ANGLEWORD", "deg"), ("TIMEWORD", "ms"), ("SPEEDWORD", "deg_s")):
        if item.is_(kind):
            value = float(item.kinds[kind])
            low, high = allowed(quantity, "about", value, value)
            used, unit = 1, quantity
            if kind == "ANGLEWORD" and place + 1 < len(items) and items[place + 1].is_("PERS"):
                used, unit = 2, "deg_s"
                low, high = allowed(unit, "about", value, value)
            return used, _amount(unit, low, high, value, items[place : place + used], item, item)
    if item.is_("FRAMEWORD"):
        low, high = (float(end) for end in item.kinds["FRAMEWORD"].split("-"))
        half = tolerance("exact_frames")
        return 1, _amount(
            "frames", low - half, high + half, (low + high) / 2, items[place : place + 1], item, item
        )
    if item.is_("DECADE") or item.is_("DECADE_OF"):
        return _decade(items, place)
    if not item.is_("NUM"):
        return _between(text, items, place) if item.text == "between" else None
    return _numbers(text, items, place, place)


def _amount(
    quantity: str, low: float, high: float, value: float, whole: Sequence[Item], first: Item, last: Item, *,
    figures: bool = False, joined: bool = False, unit: str = "",
) -> Amount:  # fmt: skip
    return Amount(
        quantity, low, high, value, whole[0].start, whole[-1].end, first.start, last.end, figures, joined, unit,  # type: ignore[arg-type]
    )  # fmt: skip


def _decade(items: Sequence[Item], place: int) -> tuple[int, Amount] | None:
    """ "in the low sixties degrees": a part of ten."""
    named = items[place].is_("DECADE")
    at = place + 1 if named else place
    if at >= len(items) or not items[at].is_("DECADE_OF"):
        return None
    part = items[place].kinds["DECADE"] if named else "all"
    first, last = {"low": (0, 4), "mid": (3, 7), "high": (6, 9.5), "all": (0, 9.5)}[part]
    tens, used = items[at].number, at + 1 - place
    if at + 1 < len(items) and items[at + 1].is_("DEG"):
        used += 1
    whole = items[place : place + used]
    value = tens + (first + last) / 2
    return used, _amount(
        "plain", tens + first, tens + last, value, whole, items[at], items[at], figures=items[at].figures
    )


def _between(text: str, items: Sequence[Item], place: int) -> tuple[int, Amount] | None:
    """ "between 80 and 90 degrees"."""
    at = place + 1
    while at < len(items) and items[at].is_("HEDGE"):
        at += 1
    if at >= len(items) or not items[at].is_("NUM"):
        return None
    found = _numbers(text, items, at, place)
    return found if found and found[0] > at - place + 1 else None


def _numbers(text: str, items: Sequence[Item], place: int, begin: int) -> tuple[int, Amount] | None:
    """One number or a range from ``place`` on; hedges between ``begin`` and ``place`` belong to it."""
    if (
        begin == place
        and place > 0
        and items[place - 1].text == "from"
        and _second(text, items, place, "from")
    ):
        return None
    first, at, several = items[place], place + 1, None
    skipped = 1 if at < len(items) and items[at].is_("DEG") else 0
    if (second := _second(text, items, place, items[begin].text)) is not None or (
        skipped and (second := _second(text, items, place + 1, items[begin].text)) is not None
    ):
        several, at = second, second + 1
    last = items[several] if several is not None else first
    at, spread = _tolerance_said(items, at)
    unit = _unit(items, at)
    if unit is None:
        return None
    factor, quantity, used, unit_text, joined = unit
    at += used
    low, high = sorted((first.number * factor, last.number * factor))
    if quantity == "deg" and several is None and begin == place and joined:
        joined = text[first.end : items[at - 1].start] in _DASHES
    ends = allowed(quantity, "plain", low, high)
    if spread:
        ends = min(ends[0], low - spread), max(ends[1], high + spread)
    at, ends = _after(text, items, at, quantity, ends, low, high)
    whole = items[begin:at]
    value = (low + high) / 2
    return at - begin, _amount(
        quantity, *ends, value, whole, first, last, figures=first.figures, joined=joined, unit=unit_text
    )


def _second(text: str, items: Sequence[Item], place: int, opened: str) -> int | None:
    """Where the second number of a range stands."""
    at = place + 1
    if at < len(items) and items[at].is_("NUM"):
        return at if text[items[place].end : items[at].start].strip() in _DASHES else None
    if at + 1 < len(items) and items[at + 1].is_("NUM"):
        word = items[at].text
        joins = word in _DASHES or word in ("to", "or", "till") or (word == "and" and opened == "between")
        return at + 1 if joins else None
    return None


def _tolerance_said(items: Sequence[Item], at: int) -> tuple[int, float]:
    """ "± 3": what is said to be the error counts as vagueness."""
    if at + 1 < len(items) and items[at].text == "±" and items[at + 1].is_("NUM"):
        return at + 2, items[at + 1].number
    return at, 0.0


def _unit(items: Sequence[Item], at: int) -> tuple[float, Quantity, int, str, bool] | None:
    """Factor, quantity, items taken, the unit's text, and whether it may be joined by a hyphen."""
    if at >= len(items):
        return 1.0, "plain", 0, "", False
    item, follows = items[at], items[at + 1] if at + 1 < len(items) else None
    per = follows is not None and follows.is_("PERS")
    if item.is_("DEG"):
        if per and follows is not None:
            return 1.0, "deg_s", 2, f"{item.text} {follows.text}", False
        return 1.0, "deg", 1, item.text, item.text in ("degree", "deg")
    for kind, factor in _TO_DEGREES.items():
        if item.is_(kind) and per:
            return factor, "deg_s", 2, "", False
    if item.is_("MS"):
        return float(item.kinds["MS"]), "ms", 1, item.text, False
    if item.is_("FRAMES"):
        return 1.0, "frames", 1, item.text, False
    return 1.0, "plain", 0, "", False


def _after(
    text: str,
    items: Sequence[Item],
    at: int,
    quantity: str,
    ends: tuple[float, float],
    low: float,
    high: float,
) -> tuple[int, tuple[float, float]]:
    """What is put behind: "or so", "-ish", "ninety-odd degrees", "or more"; the unit may still follow."""
    if at >= len(items) or not items[at].is_("AFTER"):
        return at, ends
    sense = items[at].kinds["AFTER"]
    taken = at + 1
    if quantity == "plain" and taken < len(items) and items[taken].is_("DEG"):
        taken += 1
    if sense == "odd":
        return taken, (low, high + 9.5 if high >= 20 else high + 2)
    return taken, allowed(quantity, sense, low, high)
