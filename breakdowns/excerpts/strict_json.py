"""Reading JSON that anybody may have written: exact numbers, one sentence for every fault.

Numbers with a point are read through Decimal, so ``0.1`` is exactly 1/10. What JSON itself does not
allow (NaN, Infinity), what it leaves open (the same key twice) and what could choke the reader
(numbers of thousands of digits, endless nesting) is refused. Grammar: RFC 8259.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

__all__ = ["NotJson", "read_json"]

MAX_TEXT = 20_000_000
MAX_DIGITS = 30
_LONE_SURROGATE = re.compile("[\ud800-\udfff]")


class NotJson(ValueError):
    """The text is not JSON that can be used; the message is one sentence."""


def _whole(text: str) -> int:
    if len(text) > MAX_DIGITS:
        raise NotJson(f"The number {text[:12]}… has {len(text)} digits: write at most {MAX_DIGITS}.")
    return int(text)


def _with_point(text: str) -> Fraction:
    if len(text) > MAX_DIGITS:
        raise NotJson(f"The number {text[:12]}… is too long: write at most {MAX_DIGITS} characters.")
    try:
        value = Decimal(text)
    except ArithmeticError:
        raise NotJson(f"The number {text} is too large or too fine.") from None
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or abs(exponent) > MAX_DIGITS or abs(value.adjusted()) > MAX_DIGITS:
        raise NotJson(f"The number {text} is too large or too fine.")
    return Fraction(value)


def _no_constant(text: str) -> Any:
    raise NotJson(f"{text} is not a number that JSON knows.")


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for key, value in pairs:
        if key in made:
            raise NotJson(f"The key {key[:40]!r} stands twice in one object: keep one.")
        made[key] = value
    return made


def read_json(text: str) -> Any:
    """The document: dict, list, str, int, Fraction (numbers with a point), bool or None.

    Raises NotJson with one sentence, never anything else.
    """
    if len(text) > MAX_TEXT:
        raise NotJson(f"The text is longer than {MAX_TEXT} characters.")
    try:
        found = json.loads(
            text.removeprefix("\ufeff"),
            parse_int=_whole,
            parse_float=_with_point,
            parse_constant=_no_constant,
            object_pairs_hook=_once_each,
        )
    except json.JSONDecodeError as fault:
        raise NotJson(f"Not JSON at line {fault.lineno}, column {fault.colno}: {fault.msg}.") from None
    except RecursionError:
        raise NotJson("The text is nested too deeply to be a plan.") from None
    if _LONE_SURROGATE.search(text) or "\\ud" in text.lower():
        _refuse_surrogates(found)
    return found


def _refuse_surrogates(found: Any) -> None:
    """A lone surrogate can be written in JSON but not printed as UTF-8."""
    try:
        json.dumps(found, ensure_ascii=False, default=str).encode()
    except UnicodeEncodeError:
        raise NotJson("The text holds half of a surrogate pair, which is no character.") from None
    except RecursionError:
        raise NotJson("The text is nested too deeply to be a plan.") from None
