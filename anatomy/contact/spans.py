"""Ribs and vertebrae against each other: whether what spans some levels lies away from the level that was said."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from itertools import pairwise

from anatomy.claims.levels_said import PLACE
from anatomy.contact.entries import Place, Risk

__all__ = ["TOLERANCE", "away", "distance", "spoken"]

TOLERANCE = 1
"""Levels; ribs and spines counted by hand or by eye are easily one off (common practice, no source)."""
LAST_THORACIC = 12


def away(risk: Risk, place: Place, levels: Collection[str]) -> bool:
    """Whether a structure under a place lies further from every level said than counting can be wrong."""
    if not levels or not (risk.ribs or risk.vertebrae):
        return False
    gaps = [gap for level in levels if (gap := distance(level, risk.ribs, risk.vertebrae, place)) is not None]
    return bool(gaps) and min(gaps) > TOLERANCE


def distance(level: str, ribs: Collection[str], vertebrae: Collection[str], place: Place) -> int | None:
    """How many levels lie between one and a span; None where the two can't be compared.

    Behind, a rib leaves the spine at the vertebra of its number (OpenStax, Anatomy and Physiology 2e, 7.4); in front and at
    the side it has sunk below it, so there ribs are compared with ribs only.
    """
    if level.isdigit() and ribs:
        return min(abs(int(level) - int(rib)) for rib in ribs)
    if not level.isdigit() and vertebrae:
        return _steps(level, vertebrae)
    if "back" not in place.views:
        return None
    if level.isdigit() and vertebrae:
        return _steps(f"T{level}", vertebrae)
    if ribs and PLACE["T1"] <= PLACE[level.upper()]:
        return min(abs(PLACE[level.upper()] - PLACE[f"T{rib}"]) for rib in ribs)
    return None


def _steps(level: str, vertebrae: Iterable[str]) -> int:
    return min(abs(PLACE[level.upper()] - PLACE[other.upper()]) for other in vertebrae)


def spoken(ribs: Collection[str], vertebrae: Collection[str]) -> str:
    """ "ribs 9 to 11, T9 to T11"; empty without levels."""
    parts = []
    if ribs:
        word = "rib" if len(ribs) == 1 else "ribs"
        parts.append(f"{word} {_range(ribs, lambda a, b: int(b) == int(a) + 1)}")
    if vertebrae:
        parts.append(_range(vertebrae, lambda a, b: PLACE[b.upper()] == PLACE[a.upper()] + 1))
    return ", ".join(parts)


def _range(levels: Collection[str], follows: Callable[[str, str], bool]) -> str:
    told = list(levels)
    in_a_row = all(follows(a, b) for a, b in pairwise(told))
    if len(told) == 1:
        return told[0]
    return f"{told[0]} to {told[-1]}" if in_a_row else ", ".join(told[:-1]) + f" and {told[-1]}"
