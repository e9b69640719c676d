"""Where the model is not to be trusted, read from data: levers in certain postures, and the place on the fibre curve."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass
from functools import cache

from anatomy.muscles.catalogue import paths_on
from anatomy.muscles.coordinates import coordinates, coordinates_at, find_motion, table
from anatomy.muscles.position import Posture

__all__ = ["Doubt", "curve_doubt", "curve_doubts", "doubts_in", "doubts_of"]


@dataclass(frozen=True)
class Doubt:
    """Levers of some paths about some coordinates that are in doubt; ``lowers`` the trust in the whole muscle, or not.

    Where it does not lower it, the direction may be used and the size may not. ``bases`` None: every path.
    """

    bases: frozenset[str] | None
    numbers: frozenset[int]
    when: int | None
    low: float
    high: float
    lowers: bool
    why: str

    def holds(self, posture: Posture) -> bool:
        """Whether the posture lies where the doubt is."""
        if self.when is None:
            return True
        if coordinates()[self.when].motion == "plane" and posture.value("shoulder", "elevation") == 0:
            return False  # with the arm down the plane means nothing
        return self.low <= posture.degrees[self.when] <= self.high


@cache
def _doubts() -> tuple[Doubt, ...]:
    found = []
    for row in table("doubts"):
        about = coordinates_at(row["joint"])
        if row["motion"]:
            about = (find_motion(row["joint"], row["motion"])[0],)
        when = find_motion(row["when_joint"], row["when_motion"])[0].number if row["when_joint"] else None
        found.append(
            Doubt(
                None if row["paths"] == "*" else frozenset(row["paths"].split("; ")),
                frozenset(one.number for one in about),
                when,
                float(row["from"] or "-inf"),
                float(row["to"] or "inf"),
                row["lowers"] == "yes",
                row["why"],
            )
        )
    return tuple(found)


def doubts_in(posture: Posture) -> tuple[Doubt, ...]:
    """The doubts that hold in a posture."""
    return tuple(doubt for doubt in _doubts() if doubt.holds(posture))


def doubts_of(base: str, crossed: Set[int], held: tuple[Doubt, ...]) -> tuple[Doubt, ...]:
    """Of the doubts that hold, those about a path whose levers are about the coordinates ``crossed``."""
    return tuple(
        doubt
        for doubt in held
        if (doubt.bases is None or base in doubt.bases) and not doubt.numbers.isdisjoint(crossed)
    )


@cache
def curve_doubts() -> dict[str, str]:
    """Why a path's place on its fibre curve is not told, by base name; absent where it is."""
    found: dict[str, str] = {}
    for row in table("curve_doubts"):
        if row["paths"].startswith("region:"):
            region = row["paths"].partition(":")[2]
            names = [path.base for path in paths_on("right") if path.region == region]
        else:
            names = row["paths"].split("; ")
        for name in names:
            found.setdefault(name, row["why"])
    return found


def curve_doubt(base: str) -> str | None:
    """Why this path's place on its fibre curve is not told, or None."""
    return curve_doubts().get(base)
