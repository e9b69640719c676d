"""Citations where there is little room: up to the year and the chapter; the whole ones stand in the vocabulary."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

__all__ = ["cited_briefly", "short_citation"]

_SHORT: Final = re.compile(r".{1,120}?\(\d{4}\)(?:,? (?:chapter|ch\.|pp?\.) [\w.–-]+)?")


def short_citation(citation: str) -> str:
    """``"Moore KL, Anatomy (2014), muscle tables"`` → ``"Moore KL, Anatomy (2014)"``; unchanged without a year."""
    found = _SHORT.match(citation)
    return found[0] if found else citation


def cited_briefly(citations: Sequence[str], most: int = 2) -> str:
    """The first ``most`` of them in short, and how many more there are."""
    short = list(dict.fromkeys(map(short_citation, citations)))
    more = [f"{len(short) - most} more"] if len(short) > most else []
    return " · ".join([*short[:most], *more])
