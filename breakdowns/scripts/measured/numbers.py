"""Numbers as they are said, beyond what claims need: thousands, halves, decimals, decades. Imports no Django."""

from __future__ import annotations

from typing import NamedTuple

from anatomy.claims.numbers_said import UNITS, number_at
from anatomy.claims.tokens import Token

__all__ = ["NumberSaid", "decade_at", "number_said"]

_DECADES = {
    "twenties": 20, "thirties": 30, "forties": 40, "fifties": 50, "sixties": 60, "seventies": 70, "eighties": 80,
    "nineties": 90,
}  # fmt: skip
_PARTS = {"half": 0.5, "quarter": 0.25, "third": 1 / 3}


class NumberSaid(NamedTuple):
    """How many tokens a number takes, its value, and whether it stands in figures."""

    used: int
    value: float
    figures: bool


def number_said(tokens: list[Token], place: int, limit: int) -> NumberSaid | None:
    """The number that begins at a token, or None."""
    token = tokens[place]
    if token.sort == "number":
        return _in_figures(tokens, place, limit)
    if token.sort != "word":
        return None
    found = number_at(tokens, place, limit)
    if found is None and token.text == "a" and _word(tokens, place + 1, limit) == "thousand":
        found = 1, 1.0
    if found is None:
        return None
    used, value = _thousands(tokens, place, limit, *found)
    used, value = _parts(tokens, place, limit, used, value)
    return NumberSaid(used, value, False)


def _word(tokens: list[Token], place: int, limit: int) -> str:
    return tokens[place].text if place < limit else ""


def _in_figures(tokens: list[Token], place: int, limit: int) -> NumberSaid:
    """ "1,000" counts as one number when nothing stands between; longer chains too."""
    digits, used = tokens[place].text, 1
    while (
        len(digits) <= 12
        and "." not in digits
        and place + used + 1 < limit
        and tokens[place + used].text == ","
        and tokens[place + used + 1].sort == "number"
        and len(tokens[place + used + 1].text) == 3
        and tokens[place + used + 1].start == tokens[place + used].end == tokens[place + used - 1].end + 1
    ):
        digits += tokens[place + used + 1].text
        used += 2
    value = min(float(digits), 1e15)
    if _word(tokens, place + used, limit) == "thousand":
        return NumberSaid(used + 1, value * 1000, True)
    used, value = _parts(tokens, place, limit, used, value)
    return NumberSaid(used, value, True)


def _thousands(tokens: list[Token], place: int, limit: int, used: int, value: float) -> tuple[int, float]:
    if _word(tokens, place + used, limit) != "thousand":
        return used, value
    value, used = value * 1000, used + 1
    joined = 1 if _word(tokens, place + used, limit) == "and" else 0
    rest = number_at(tokens, place + used + joined, limit) if place + used + joined < limit else None
    if rest is not None and rest[1] < 1000 and tokens[place + used + joined].sort == "word":
        return used + joined + rest[0], value + rest[1]
    return used, value


def _parts(tokens: list[Token], place: int, limit: int, used: int, value: float) -> tuple[int, float]:
    """ "… and a half", "… point five"."""
    words = [_word(tokens, place + used + k, limit) for k in range(3)]
    joined = words[0] == "and" and words[1] in ("a", "one") and words[2] in _PARTS
    if joined and _word(tokens, place + used + 3, limit) != "of":
        return used + 3, value + _PARTS[words[2]]
    if words[0] == "point":
        step, taken = 0.1, 1
        while UNITS.get(_word(tokens, place + used + taken, limit), 10) < 10:
            value += step * UNITS[tokens[place + used + taken].text]
            step, taken = step / 10, taken + 1
        if taken > 1:
            return used + taken, value
    return used, value


def decade_at(tokens: list[Token], place: int, limit: int) -> NumberSaid | None:
    """ "the nineties", "the 60s": the tens, or None."""
    token = tokens[place]
    if token.text in _DECADES:
        return NumberSaid(1, float(_DECADES[token.text]), False)
    if (
        token.sort == "number"
        and token.text.isdigit()
        and len(token.text) <= 3
        and int(token.text) % 10 == 0
        and place + 1 < limit
        and tokens[place + 1].text == "s"
        and tokens[place + 1].start <= token.end + 1
    ):
        return NumberSaid(2, float(token.text), True)
    return None
