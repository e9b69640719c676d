"""Technique trade-offs as plain values: what could be better, and what would it cost. No Django here.

Whatever the note says of an effect is told as expected, whatever it says of harm as possible, wherever it is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

__all__ = [
    "FIELDS",
    "HARMLESS",
    "MOST",
    "ON_A_PLATE",
    "TRADEOFF_TITLE",
    "TradeOff",
    "plate_text",
    "read_tradeoffs",
]

MOST = 8
"""Trade-offs of one beat; own choice, no source."""
ON_A_PLATE = 3
"""Trade-offs that one plate holds at most; own choice after looking at plates of 720 lines, no source."""
TRADEOFF_TITLE = "What could be better, and what would it cost"
HARMLESS = ("none known", "none", "nothing known")
"""What is written for the joint or part where no cost is known."""


class TradeOff(NamedTuple):
    """One trade-off. ``joint`` could pay for the change, by ``mechanism``; ``source`` is where that stands."""

    change: str
    effect: str
    joint: str = ""
    mechanism: str = ""
    source: str = ""

    @property
    def row(self) -> dict[str, str]:
        """As a beat keeps it."""
        return self._asdict()

    @property
    def expected(self) -> str:
        """What it should bring, as a phrase."""
        return _stopless(self.effect)

    @property
    def cost(self) -> str:
        """What it could cost, as a phrase; "" where no cost is known."""
        if _stopless(self.joint).casefold() in ("", *HARMLESS):
            return _stopless(self.mechanism)
        return ", ".join(part for part in (_stopless(self.joint), _stopless(self.mechanism)) if part)

    @property
    def said(self) -> str:
        """The whole as hedged sentences, without the source."""
        cost = f"Possible cost: {self.cost}." if self.cost else "No cost is known to us."
        return f"{_stopless(self.change)}. Expected: {self.expected}. {cost}"


FIELDS = TradeOff._fields


def read_tradeoffs(rows: Iterable[Mapping[str, Any]]) -> tuple[TradeOff, ...]:
    """What beats keep, as values; a field that is missing is empty."""
    return tuple(TradeOff(*(str(one.get(name, "")) for name in FIELDS)) for one in rows)


def plate_text(rows: Iterable[TradeOff]) -> str:
    """The text of a plate: a list, each with its source."""
    return "\n\n".join(f"- {one.said}{f' ({_stopless(one.source)})' if one.source else ''}" for one in rows)


def _stopless(text: str) -> str:
    return " ".join(text.split()).rstrip(".")
