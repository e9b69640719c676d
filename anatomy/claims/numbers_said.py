"""Numbers as they are written or said: "120", "a hundred and twenty", "one-forty", "ninety"."""

from __future__ import annotations

from anatomy.claims.tokens import Token

UNITS = {
    word: value
    for value, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
            "nineteen",
        ]
    )
}
TENS = {
    word: 10 * value
    for value, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2
    )
}
TENS["fourty"] = 40
ORDINALS = {
    word: value
    for value, word in enumerate(
        [
            "first",
            "second",
            "third",
            "fourth",
            "fifth",
            "sixth",
            "seventh",
            "eighth",
            "ninth",
            "tenth",
            "eleventh",
            "twelfth",
        ],
        1,
    )
}
LARGEST = 1e15
"""What is written larger still counts as this, so that every number is finite and whole ones stay exact."""
STARTERS = UNITS.keys() | TENS.keys() | {"a", "hundred"}


def number_at(tokens: list[Token], place: int, limit: int) -> tuple[int, float] | None:
    """How many tokens a number takes from here, and its value; None where none begins. "a" counts only before "hundred"."""
    token = tokens[place]
    if token.sort == "number":
        return 1, min(float(token.text), LARGEST)
    if token.sort != "word" or token.text not in STARTERS:
        return None
    words = [t.text if t.sort == "word" else "" for t in tokens[place : min(place + 5, limit)]]
    hundreds, used = _hundreds(words)
    if hundreds is None and words[0] in ("a", "hundred"):
        return None
    rest, more = _below_hundred(words[used:])
    if hundreds is not None and not more and used < len(words) and words[used] == "and":
        rest, more = _below_hundred(words[used + 1 :])
        more += 1 if more else 0
    total = (hundreds or 0) + (rest or 0)
    if hundreds is None and more == 1 and rest is not None and 1 <= rest <= 2:
        after, extra = _below_hundred(words[1:])
        if after is not None and after >= 10:
            return 1 + extra, 100 * rest + after
    return (used + more, float(total)) if used + more else None


def _hundreds(words: list[str]) -> tuple[int | None, int]:
    if words[0] == "hundred":
        return 100, 1
    if len(words) > 1 and words[1] == "hundred" and (words[0] == "a" or words[0] in UNITS):
        return 100 * UNITS.get(words[0], 1), 2
    return None, 0


def _below_hundred(words: list[str]) -> tuple[int | None, int]:
    if not words:
        return None, 0
    if words[0] in TENS:
        if len(words) > 1 and 0 < UNITS.get(words[1], 0) < 10:
            return TENS[words[0]] + UNITS[words[1]], 2
        return TENS[words[0]], 1
    if words[0] in UNITS:
        return UNITS[words[0]], 1
    return None, 0
