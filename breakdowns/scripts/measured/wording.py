"""How what was measured is said, as figures and as words that can stand in the text. Imports no Django."""

from __future__ import annotations

import math

from breakdowns.scripts.measured.said import Amount, Noun
from breakdowns.scripts.spoken_numbers import cardinal

__all__ = ["about", "noun_for", "reads"]

_PLURALS = {"pelvis": "hips", "trunk": "shoulders"}
_STEPS = {"deg": 5, "plain": 5, "deg_s": 50, "ms": 10, "frames": 1}


def reads(value: float, sd: float, unit: str) -> str:
    """``71 ± 3°``: whole figures, the standard deviation rounded up and never below 1."""
    said = f"{value:.0f} ± {max(1, math.ceil(round(sd, 3)))}"
    return f"{said}°" if unit == "deg" else f"{said} {unit}"


def about(value: float, amount: Amount, words: str) -> str:
    """``about seventy degrees``: the measured value in the shape in which ``words`` told another one."""
    step = _STEPS.get(amount.quantity, 1)
    number = max(step * round(value / step), 1)
    told = str(number) if amount.figures else cardinal(number)
    if amount.joined:
        return told
    tail = words[amount.number_end : amount.end]
    if amount.quantity in ("deg", "deg_s", "ms", "frames") and not amount.unit:
        names = {"deg": "degrees", "deg_s": "degrees a second", "ms": "milliseconds", "frames": "frames"}
        return f"about {told} {names[amount.quantity]}"
    if amount.quantity == "ms" and "millisecond" not in tail and tail.strip() not in ("ms", "msec"):
        return f"about {told} milliseconds"
    return f"about {told}{_unit_alone(tail)}"


def _unit_alone(tail: str) -> str:
    """The unit without what was put behind it ("or so", "or more")."""
    for more in (" or ", "ish", " odd", "-odd", "-ish", " plus", " at least", " at most", "+"):
        tail = tail.split(more)[0]
    return tail


def noun_for(segment: str, slot: Noun, named: dict[str, Noun]) -> str | None:
    """The segment's name to stand where ``slot`` stands, in the same number; None where there is no such word."""
    plural = slot.text.endswith("s") and slot.text != "pelvis"
    own = named.get(segment)
    if own is not None and (own.text.endswith("s") and own.text != "pelvis") == plural:
        return own.text
    return _PLURALS.get(segment) if plural else segment.replace("_", " ")
