"""What is kept with a beat beside its picture and words: the contact that it is about, its trade-offs. No Django here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from breakdowns.contacts.reading import read
from breakdowns.contacts.state import read_rows
from breakdowns.scripts.tradeoffs.notes import TradeOff, read_tradeoffs

__all__ = ["Kept", "contact_name", "kept_with"]


@dataclass(frozen=True)
class Kept:
    """``contact`` is its place in words, "" without one."""

    contact: str = ""
    tradeoffs: tuple[TradeOff, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.contact or self.tradeoffs)


@lru_cache(maxsize=512)
def contact_name(rows: tuple[str, ...]) -> str:
    """A kept contact's place in words; what was written down where it names none; "" without one."""
    if not rows:
        return ""
    state = read_rows(rows)
    return read(state).name or state.text or "a place that the map no longer has"


def kept_with(rows: Sequence[str], tradeoffs: Iterable[Mapping[str, Any]]) -> Kept:
    """What a beat's two columns hold."""
    return Kept(contact_name(tuple(rows)), read_tradeoffs(tradeoffs))
