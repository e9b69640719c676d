"""Days as people write them. Year first is year, month, day (ISO 8601); year last has to be asked for.

What can't be told from the writing is never guessed: 4/3/2026 is two different days.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

ORDERS = {"dmy": "day, month, year", "mdy": "month, day, year"}
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_MIDNIGHT = re.compile(r"[T ]00:00(:00(\.0+)?)?(Z|[+-]\d\d:?\d\d)?$", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})([-/. ]?)(\d{1,2})\2(\d{1,2})", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})([-/. ]) ?(\d{1,2})\2 ?(\d{4})", re.ASCII)
_WORD_SECOND = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-/. ]+([a-z]{3,9})\.?[-/., ]+(\d{4})", re.ASCII)
_WORD_FIRST = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? +(\d{4})", re.ASCII)


class NotADay(ValueError):
    """Why a text is no day: one sentence."""


@dataclass(frozen=True)
class OrderFound:
    """What a column of days says about its order: ``asked`` when a person must settle it.

    ``settled`` is the one order in which all can be read. ``fits`` counts the days that each order can read, of
    ``total`` with the year last; ``proof`` is a day that only ``settled`` can read.
    """

    total: int
    fits: dict[str, int]
    settled: str = ""
    proof: str = ""

    @property
    def asked(self) -> bool:
        return self.total > 0 and not self.settled


def read_day(text: str, order: str = "") -> date:
    """The day; ``order`` is a key of ORDERS, for days with the year last. Raises NotADay."""
    said = text.strip()
    plain = _MIDNIGHT.sub("", said)
    if found := _YEAR_FIRST.fullmatch(plain):
        if found[2] or len(plain) == 8:
            return _day(int(found[1]), int(found[3]), int(found[4]), said)
    elif found := _YEAR_LAST.fullmatch(plain):
        if order not in ORDERS:
            raise NotADay(f"“{_cut(said)}” may be two different days; say which order the file uses.")
        first, second, year = int(found[1]), int(found[3]), int(found[4])
        day, month = (first, second) if order == "dmy" else (second, first)
        return _day(year, month, day, said, order)
    elif found := _WORD_SECOND.fullmatch(plain.lower()):
        return _day(int(found[3]), _month(found[2], said), int(found[1]), said)
    elif found := _WORD_FIRST.fullmatch(plain.lower()):
        return _day(int(found[3]), _month(found[1], said), int(found[2]), said)
    raise NotADay(
        f"“{_cut(said)}” is no day; write it as 2026-03-31, with a year of four digits and no time."
    )


def order_of(texts: Iterable[str]) -> OrderFound:
    """Which order the days with the year last are in, as far as they tell."""
    total, fits, only = 0, dict.fromkeys(ORDERS, 0), dict.fromkeys(ORDERS, "")
    for text in texts:
        if not _YEAR_LAST.fullmatch(_MIDNIGHT.sub("", text.strip())):
            continue
        read = [order for order in ORDERS if _can(text, order)]
        if not read:
            continue
        total += 1
        for order in read:
            fits[order] += 1
        if len(read) == 1:
            only[read[0]] = only[read[0]] or text.strip()
    whole = [order for order in ORDERS if fits[order] == total]
    if total and len(whole) == 1:
        return OrderFound(total, fits, whole[0], only[whole[0]])
    return OrderFound(total, fits)


def _can(text: str, order: str) -> bool:
    try:
        read_day(text, order)
    except NotADay:
        return False
    return True


def _cut(text: str) -> str:
    return text if len(text) <= 30 else text[:29] + "…"


def _month(word: str, said: str) -> int:
    found = [n for n, name in enumerate(_MONTHS, 1) if name.startswith(word) or (word == "sept" and n == 9)]
    if len(found) != 1:
        raise NotADay(f"“{_cut(said)}” names no month in English; write it as 2026-03-31.")
    return found[0]


def _day(year: int, month: int, day: int, said: str, order: str = "") -> date:
    try:
        return date(year, month, day)
    except ValueError:
        read = f", read as {ORDERS[order]}" if order else ""
        raise NotADay(f"“{_cut(said)}” is no day of the calendar{read}.") from None
