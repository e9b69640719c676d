"""One muscle path, and one motion's torque, along a sweep of one joint while the rest of the posture stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anatomy.muscles.body import Body, Floats, Reading
from anatomy.muscles.catalogue import Path, paths_on
from anatomy.muscles.coordinates import Coordinate
from anatomy.muscles.doubts import curve_doubt, curve_doubts
from anatomy.muscles.position import Posture

__all__ = ["PathSweep", "path_sweep", "steps_of", "sweep_readings", "torque_sweep"]

STEP = 2.5


@dataclass(frozen=True)
class PathSweep:
    """A path along a sweep; arrays over ``degrees`` (T,) of the swept coordinate.

    ``levers`` in millimetres, positive where the path makes the named motion; ``fibres`` in optimal lengths, ``active``
    and ``passive`` shares of greatest isometric force, all three NaN where the model's curve can't be read.
    """

    path: Path
    degrees: Floats
    levers: Floats
    fibres: Floats
    active: Floats
    passive: Floats


def steps_of(swept: Coordinate, step: float = STEP) -> Floats:
    """The angles of a sweep over all that the model reaches, both ends among them."""
    return np.linspace(swept.low, swept.high, max(2, round((swept.high - swept.low) / step) + 1))


def sweep_readings(
    body: Body, posture: Posture, swept: Coordinate, degrees: Sequence[float] | Floats
) -> list[Reading]:
    """A reading for each angle of the swept coordinate."""
    return [body.read(posture.moved(swept, float(value))) for value in degrees]


def path_sweep(
    body: Body, posture: Posture, base: str, about: Coordinate, sign: int, swept: Coordinate
) -> PathSweep:
    """The path with this base name: its lever about one coordinate (times ``sign``) and its place on the curve.

    Raises KeyError for a path that is not there.
    """
    place = next((n for n, path in enumerate(paths_on(posture.side)) if path.base == base), None)
    if place is None:
        raise KeyError(base)
    degrees = steps_of(swept)
    rows = sweep_readings(body, posture, swept, degrees)
    known = curve_doubt(base) is None

    def told(values: list[float]) -> Floats:
        return np.array(values) if known else np.full(len(values), np.nan)

    return PathSweep(
        paths_on(posture.side)[place],
        degrees,
        np.array([1000 * sign * row.levers[place, about.number] for row in rows]),
        told([float(row.fibres[place]) for row in rows]),
        told([float(row.active[place]) for row in rows]),
        told([float(row.passive[place]) for row in rows]),
    )


def torque_sweep(
    body: Body, posture: Posture, about: Coordinate, sign: int, swept: Coordinate
) -> tuple[Floats, Floats]:
    """(degrees, newton metres) that all muscles which make a motion could give together, each at its greatest force.

    Lever × force–length factor × greatest isometric force, as the ranking counts: factor 1 where the curve can't be read,
    passive force left out.
    """
    degrees = steps_of(swept)
    unread = np.array([path.base in curve_doubts() for path in paths_on(posture.side)])
    forces = body.forces(posture.side)
    found = []
    for row in sweep_readings(body, posture, swept, degrees):
        pull = np.where(unread, 1.0, row.active) * forces
        found.append(float((np.maximum(sign * row.levers[:, about.number], 0) * pull).sum()))
    return degrees, np.array(found)
