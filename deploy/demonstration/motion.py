"""Motion over time as analytic curves: quintic pieces between knots, plus minimum-jerk steps.

A track gives one quantity (metres or degrees) at any moment. Its knots carry value, velocity and
acceleration; between two knots runs the quintic that meets all six, so tracks are smooth to the second
derivative. Knots at rest give the minimum-jerk curve of Flash and Hogan (J. Neurosci. 1985; 5:1688-1703),
knots with an acceleration of -9.81 m/s² give free flight exactly. A step adds one more minimum-jerk
change; its velocity is greatest exactly at mid-time, which is how peaks are placed.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = ["Knot", "MotionError", "Step", "Track", "Tracks", "data_rows", "load_tracks", "smooth_rise"]

Floats = NDArray[np.float64]


class MotionError(ValueError):
    """Motion data that cannot be."""


def data_rows(name: str) -> list[dict[str, str]]:
    """Rows of one of the demonstration's CSV files; lines that start with # are remarks."""
    text = files("deploy.demonstration").joinpath("data", name).read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


def smooth_rise(share: Floats) -> Floats:
    """Minimum-jerk course from 0 to 1 for ``share`` 0 to 1, held outside. Dimensionless."""
    s = np.clip(share, 0.0, 1.0)
    return s**3 * (10 - 15 * s + 6 * s**2)


@dataclass(frozen=True, slots=True)
class Knot:
    """Value, velocity and acceleration at one exact moment (seconds); velocity None = chosen smoothly."""

    time: Fraction
    value: float
    velocity: float | None = None
    acceleration: float = 0.0


@dataclass(frozen=True, slots=True)
class Step:
    """A minimum-jerk change of ``change`` between two exact moments."""

    start: Fraction
    end: Fraction
    change: float

    def __post_init__(self) -> None:
        if self.end <= self.start:
            raise MotionError(f"A step must end after it starts ({self.start} to {self.end}).")

    @property
    def peak_time(self) -> Fraction:
        """When the step is fastest: exactly half-way."""
        return (self.start + self.end) / 2

    @property
    def peak_velocity(self) -> float:
        """Greatest velocity, 15/8 of the mean (Flash and Hogan 1985)."""
        return 1.875 * self.change / float(self.end - self.start)

    def at(self, times: Floats) -> Floats:
        return self.change * smooth_rise((times - float(self.start)) / float(self.end - self.start))


def _chosen_velocities(knots: list[Knot]) -> list[float]:
    """Velocity at each knot: as given, else 0 at ends and extremes, else the harmonic mean of the slopes.

    The harmonic mean keeps a cubic through the knots monotone (Fritsch and Butland, SIAM J. Sci. Stat.
    Comput. 1984; 5:300-304); for the quintic it is a good choice, not a guarantee.
    """
    chosen = []
    for i, knot in enumerate(knots):
        if knot.velocity is not None:
            chosen.append(knot.velocity)
        elif i in (0, len(knots) - 1):
            chosen.append(0.0)
        else:
            before, after = _slope(knots[i - 1], knot), _slope(knot, knots[i + 1])
            chosen.append(2 * before * after / (before + after) if before * after > 0 else 0.0)
    return chosen


def _slope(one: Knot, two: Knot) -> float:
    return (two.value - one.value) / float(two.time - one.time)


def _quintic(one: Knot, two: Knot, v0: float, v1: float) -> Floats:
    """Six coefficients, lowest power first, in seconds since ``one``."""
    h = float(two.time - one.time)
    a0, a1 = one.acceleration, two.acceleration
    rise = two.value - one.value
    c3 = (20 * rise - (8 * v1 + 12 * v0) * h - (3 * a0 - a1) * h**2) / (2 * h**3)
    c4 = (-30 * rise + (14 * v1 + 16 * v0) * h + (3 * a0 - 2 * a1) * h**2) / (2 * h**4)
    c5 = (12 * rise - 6 * (v1 + v0) * h - (a0 - a1) * h**2) / (2 * h**5)
    return np.array([one.value, v0, a0 / 2, c3, c4, c5])


@dataclass
class Track:
    """One quantity over time. ``knots`` in order of time; outside them the end values are held."""

    knots: list[Knot]
    steps: list[Step] = field(default_factory=list)

    def __post_init__(self) -> None:
        if not self.knots:
            raise MotionError("A track needs at least one knot.")
        if any(a.time >= b.time for a, b in pairwise(self.knots)):
            raise MotionError("The knots of a track must follow each other in time.")
        self._starts = np.array([float(k.time) for k in self.knots])
        v = _chosen_velocities(self.knots)
        pairs = zip(self.knots, self.knots[1:], v, v[1:], strict=False)
        self._pieces = np.array([_quintic(*piece) for piece in pairs]).reshape(-1, 6)

    def at(self, times: Floats) -> Floats:
        """Values at ``times`` (seconds, any shape)."""
        times = np.asarray(times, float)
        total = sum((step.at(times) for step in self.steps), np.zeros_like(times))
        if not len(self._pieces):
            return total + self.knots[0].value
        held = np.clip(times, self._starts[0], self._starts[-1])
        piece = np.clip(np.searchsorted(self._starts, held, "right") - 1, 0, len(self._pieces) - 1)
        since = held - self._starts[piece]
        powers = since[..., None] ** np.arange(6)
        return total + np.sum(self._pieces[piece] * powers, axis=-1)


class Tracks(Mapping[str, Track]):
    """The tracks of one figure by name; a track that is absent has a stated default."""

    def __init__(self, tracks: dict[str, Track], defaults: Mapping[str, float]) -> None:
        unknown = sorted(set(tracks) - set(defaults))
        if unknown:
            raise MotionError(f"Unknown track {unknown[0]!r}: known are {', '.join(sorted(defaults))}.")
        self._tracks, self._defaults = tracks, defaults

    def __getitem__(self, name: str) -> Track:
        return (
            self._tracks[name] if name in self._tracks else Track([Knot(Fraction(0), self._defaults[name])])
        )

    def __iter__(self):
        return iter(self._defaults)

    def __len__(self) -> int:
        return len(self._defaults)

    def at(self, name: str, times: Floats) -> Floats:
        """Values of one track at ``times`` (seconds)."""
        return self[name].at(times)


def load_tracks(figure: str, defaults: Mapping[str, float]) -> Tracks:
    """Read ``tracks_FIGURE.csv`` (track, time, value, velocity, acceleration) and the figure's steps."""
    knots: dict[str, list[Knot]] = {}
    for row in data_rows(f"tracks_{figure}.csv"):
        velocity = float(row["velocity"]) if row.get("velocity") else None
        acceleration = float(row.get("acceleration") or 0)
        knot = Knot(Fraction(row["time"]), float(row["value"]), velocity, acceleration)
        knots.setdefault(row["track"], []).append(knot)
    steps = {name: list(_steps_of(figure, name)) for name in defaults}
    names = {*knots, *(name for name, found in steps.items() if found)}
    start = Fraction(0)
    return Tracks(
        {n: Track(knots.get(n) or [Knot(start, defaults[n])], steps.get(n, [])) for n in names}, defaults
    )


def _steps_of(figure: str, name: str) -> Iterable[Step]:
    for row in data_rows("steps.csv"):
        if (row["figure"], row["track"]) == (figure, name):
            yield Step(Fraction(row["start"]), Fraction(row["end"]), float(row["change"]))
