"""The curves of the posture page and plate, as plots that ``breakdowns.tracks.plot`` draws."""

from __future__ import annotations

import numpy as np

from anatomy.muscles.coordinates import Coordinate
from anatomy.muscles.lengths import PeakTorque, sarcomere_landmarks, sarcomere_share
from anatomy.muscles.sweeping import PathSweep
from breakdowns.tracks.plot import Curve, Plot

__all__ = ["HERE", "force_plot", "lever_plot", "sarcomere_plot", "torque_plot"]

HERE = "you are here"


def _told(sweep: PathSweep) -> str:
    path = sweep.path
    return f"{path.muscle}, {path.part}" if path.part else path.muscle


def force_plot(sweep: PathSweep, swept: Coordinate, here: float) -> Plot | None:
    """Active and passive force over the sweep; None where the model's curve can't be read."""
    if not np.isfinite(sweep.active).all():
        return None
    active, passive = (float(np.interp(here, sweep.degrees, one)) for one in (sweep.active, sweep.passive))
    title = (
        f"{_told(sweep)} along {swept.joint} {swept.motion}: at {here:g}° about {100 * active:.0f} % of its greatest "
        f"active force, passive force {100 * passive:.0f} %, by a model’s estimate."
    )
    curves = (
        Curve("active", 0, sweep.degrees, 100 * sweep.active),
        Curve("passive", 1, sweep.degrees, 100 * np.minimum(sweep.passive, 2.0)),
    )
    return Plot(title, "% of greatest force", "°", curves, from_zero=True)


def lever_plot(sweep: PathSweep, about: Coordinate, sign: int, swept: Coordinate, here: float) -> Plot:
    """The lever about one axis over the sweep, above 0 where the path makes the motion."""
    lever = float(np.interp(here, sweep.degrees, sweep.levers))
    motion, other = (about.motion, about.opposite) if sign > 0 else (about.opposite, about.motion)
    does = motion if lever >= 0 else other
    title = (
        f"Lever of {_told(sweep)} for {about.joint} {does}: {abs(lever):.0f} mm at {here:g}° of {swept.joint} "
        f"{swept.motion}, by a model’s estimate."
    )
    return Plot(
        title, f"mm; above 0 {motion}, below {other}", "°",
        (Curve("lever", 0, sweep.degrees, sweep.levers),), from_zero=True,
    )  # fmt: skip


def sarcomere_plot() -> Plot:
    """The classical curve of a frog's sarcomere (Gordon, Huxley & Julian 1966) and the plateau of people's."""
    lengths = np.linspace(1.1, 4.4, 331)
    human = sarcomere_landmarks("human")
    plateau = [mark for mark in human if mark.share == 1]
    flat = np.where((lengths >= plateau[0].length_um) & (lengths <= plateau[-1].length_um), 100.0, np.nan)
    title = (
        "Active force of a sarcomere over its length. Frog: no force at 1.27 micrometres, a plateau from 2.0 to 2.25, "
        f"none at 3.65. People: plateau {plateau[0].length_um:g} to {plateau[-1].length_um:g} micrometres."
    )
    curves = (
        Curve("frog", 0, lengths, 100 * sarcomere_share(lengths)),
        Curve("people, best", 1, lengths, flat + 3),
    )
    return Plot(title, "% of greatest active force", "µm", curves, from_zero=True)


def torque_plot(row: PeakTorque, degrees: np.ndarray, torque: np.ndarray) -> Plot:  # type: ignore[type-arg]
    """The model's torque over the sweep, the published angle as a dashed line."""
    share = 100 * torque / torque.max()
    middle = (row.low + row.high) / 2
    title = (
        f"{row.motion}: the model’s torque is greatest at {degrees[int(np.argmax(torque))]:.0f}°, "
        f"published {middle:g}° of {row.swept.joint} {row.swept.motion}."
    )
    return Plot(
        title,
        "% of greatest torque",
        "°",
        (Curve("model", 0, degrees, share),),
        upright=middle,
        from_zero=True,
    )
