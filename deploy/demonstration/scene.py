"""Who plays: the four figures of the invented event, placed over time.

The attacker's movement comes first; the defender's elbow reaches for the attacker's left flank.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .axes import Floats, along
from .figure import Skeleton, posed

__all__ = ["PLAYERS", "Player", "attacker_at", "flank_point", "players_at"]


@dataclass(frozen=True, slots=True)
class Player:
    """A figure by role, its shirt number and its stature in metres (invented)."""

    role: str
    number: str
    stature: float


PLAYERS = (
    Player("attacker", "9", 1.92),
    Player("defender", "4", 1.96),
    Player("blocker", "6", 1.98),
    Player("keeper", "16", 1.94),
)


def attacker_at(times: Floats) -> Skeleton:
    """The attacker at ``times`` (T,), seconds of the event."""
    return posed(PLAYERS[0].role, PLAYERS[0].stature, times)


def flank_point(attacker: Skeleton, clear: float = 0.0) -> Floats:
    """(T, 3): the left flank between the lowest ribs and the pelvis, ``clear`` metres outside the skin."""
    s = attacker.build.stature
    outward = along(attacker.frames["lumbar"], -0.12, 0.0, -1.0)
    place = along(attacker.frames["lumbar"], -0.006 * s, 0.036 * s, -0.078 * s)
    return attacker.joints["lumbar"] + place + clear * outward


def players_at(times: Floats) -> dict[str, Skeleton]:
    """All four figures at ``times`` (T,), seconds of the event, by role."""
    times = np.asarray(times, float)
    attacker = attacker_at(times)
    placed = {"attacker": attacker}
    for player in PLAYERS[1:]:
        aims = {"l": flank_point(attacker, clear=0.035)} if player.role == "defender" else None
        placed[player.role] = posed(player.role, player.stature, times, aims)
    return placed
