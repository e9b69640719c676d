"""Everything that the posture page tells of a state: rows of muscles, the ranking, what has turned over, and curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from anatomy.muscles.body import Body, Reading, open_body
from anatomy.muscles.catalogue import paths_on
from anatomy.muscles.coordinates import Coordinate, coordinates
from anatomy.muscles.faults import PostureError
from anatomy.muscles.flips import WORTH_TELLING, flips
from anatomy.muscles.lengths import length_says
from anatomy.muscles.position import ANATOMICAL, Posture
from anatomy.muscles.ranking import ranking
from anatomy.muscles.records import muscle_rows
from anatomy.muscles.sweeping import PathSweep, path_sweep, sweep_readings

from .state import State

__all__ = ["Examined", "MuscleRow", "Turned"]

_WORTH_WRITING = 1.0
"""Millimetres below which a lever is not written in the table; own choice, no source."""


@dataclass(frozen=True)
class MuscleRow:
    """One part of a muscle. ``arms``: (joint, [(motion, millimetres)]) the longest first; ``share`` of its muscle in the
    torque for the motion asked about, None where it does not make it."""

    base: str
    muscle: str
    part: str
    fibre: float | None
    active: float | None
    passive: float | None
    why_no_curve: str
    arms: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
    trust: str
    why_low: str
    doubted: tuple[tuple[str, str], ...]
    note: str
    share: float | None = None

    @property
    def name(self) -> str:
        return f"{self.muscle}, {self.part}" if self.part else self.muscle

    @property
    def fibre_says(self) -> str:
        return "" if self.fibre is None else length_says(self.fibre)

    @property
    def longest(self) -> float:
        """The longest lever in millimetres."""
        return max((mm for _, rows in self.arms for _, mm in rows), default=0.0)


@dataclass(frozen=True)
class Turned:
    """A path whose action about the motion's axis is the opposite of that in the anatomical position."""

    base: str
    muscle: str
    part: str
    sentence: str
    at: float | None
    swept: str
    usual: str
    now: str
    makes: bool
    trust: str
    why_low: str


class Examined:
    """One state examined; parts are worked out when asked for. Raises ModelNotInstalled when made without the extra."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.body: Body = open_body()
        self.posture: Posture = state.posture
        self.reading: Reading = self.body.read(self.posture)

    @cached_property
    def ranked(self) -> tuple[list[dict[str, Any]], str]:
        """Muscles that can make the motion asked about, and why there is no such list where there is none."""
        one = self.state.about
        if one is None or self.state.motion is None:
            return [], ""
        motion = one.motion if self.state.motion[1] > 0 else one.opposite
        try:
            return ranking(self.body, self.reading, one.joint, motion), ""
        except PostureError as fault:
            return [], str(fault)

    @cached_property
    def joints(self) -> tuple[str, ...]:
        """The joints whose muscles the table has; empty: all."""
        if self.state.joint == "all":
            return ()
        if self.state.joint:
            return (self.state.joint,)
        if self.state.about is not None:
            return (self.state.about.joint,)
        bent = tuple(dict.fromkeys(one.joint for one, angle in self.state.told() if angle.degrees))
        return bent or ("hip",)

    @cached_property
    def rows(self) -> list[MuscleRow]:
        """Parts that cross these joints, in the order asked for."""
        shares = {row["muscle"]: row["share"] for row in self.ranked[0]}
        makers = {part["model_name"] for row in self.ranked[0] for part in row["parts"]}
        bases = {path.name: path.base for path in paths_on(self.state.side)}
        found = []
        for row in muscle_rows(self.reading):
            made = _row(row, bases[row["model_name"]], shares if row["model_name"] in makers else {})
            if not self.joints or any(joint in self.joints for joint, _ in made.arms):
                found.append(made)
        return sorted(found, key=_ORDERS[self.order])

    @property
    def order(self) -> str:
        """The order of the table: as asked, else by share where a motion is asked about, else by length."""
        return self.state.sort or ("share" if self.ranked[0] else "length")

    @cached_property
    def turned(self) -> list[Turned]:
        """What does the opposite about this axis of what it does in the anatomical position."""
        one = self.state.about
        if one is None:
            return []
        standing = self.body.read(Posture(self.state.side, ANATOMICAL))
        found = []
        for place, path in enumerate(paths_on(self.state.side)):
            before = float(standing.levers[place, one.number])
            here = float(self.reading.levers[place, one.number])
            if before * here < 0 and min(abs(before), abs(here)) >= WORTH_TELLING:
                found.append(self._turned(path.base, one, here))
        return sorted((row for row in found if row), key=lambda row: (not row.makes, row.trust, row.muscle))

    def _turned(self, base: str, one: Coordinate, here: float) -> Turned:
        told: dict[str, Any] = {}
        swept = ""
        for other in [o for o in coordinates() if o.settable and self._moved(o)]:
            steps = _between(ANATOMICAL[other.number], self.posture.degrees[other.number])
            readings = sweep_readings(self.body, self.posture, other, steps)
            told = self._flip(other, readings, base, one)
            if told.get("at") is not None:
                swept = f"{other.joint} {other.named(told['at'])}"
                break
        if told.get("at") is None:
            told = self._flip(one, [self.reading], base, one)
        sign = 1 if self.state.motion is None else self.state.motion[1]
        usual, now = (one.opposite_doer, one.doer) if here > 0 else (one.doer, one.opposite_doer)
        return Turned(
            base, told["muscle"], told["part"], told["sentence"], told["at"], swept, usual, now,
            sign * here > 0, told["trust"], told["why_low"] or "",
        )  # fmt: skip

    def _moved(self, other: Coordinate) -> bool:
        return self.posture.degrees[other.number] != ANATOMICAL[other.number]

    def _flip(
        self, swept: Coordinate, readings: Sequence[Reading], base: str, one: Coordinate
    ) -> dict[str, Any]:
        rows = flips(self.body, swept, readings, frozenset({base}))
        return next((row for row in rows if row["joint"] == one.joint and self._same(row, one)), {})

    def _same(self, row: dict[str, Any], one: Coordinate) -> bool:
        names = {one.motion.replace(" ", "_"), one.opposite.replace(" ", "_")}
        return row["flipped"] in names

    @property
    def muscle(self) -> str:
        """The path whose curves are shown: the one asked for, else the first of the ranking, else of the table."""
        if self.state.muscle:
            return self.state.muscle
        if self.ranked[0]:
            first = self.ranked[0][0]["parts"][0]["model_name"]
            return next(path.base for path in paths_on(self.state.side) if path.name == first)
        return self.rows[0].base if self.rows else "soleus"

    @property
    def swept(self) -> Coordinate:
        """What the curves run along: as asked, else the motion's joint, else the first angle given, else hip flexion."""
        if self.state.swept is not None:
            return coordinates()[self.state.swept]
        if self.state.about is not None and self.state.about.settable:
            return self.state.about
        bent = [one for one, angle in self.state.told() if angle.degrees]
        return bent[0] if bent else coordinates()[0]

    @cached_property
    def sweep(self) -> PathSweep:
        """The muscle along the sweep, its lever about the motion asked about, else about what is swept."""
        about, sign = self.about
        return path_sweep(self.body, self.posture, self.muscle, about, sign, self.swept)

    @property
    def about(self) -> tuple[Coordinate, int]:
        """The axis of the lever that is drawn."""
        if self.state.about is not None and self.state.motion is not None:
            return self.state.about, self.state.motion[1]
        return self.swept, 1

    @property
    def muscle_row(self) -> MuscleRow:
        """The row of the muscle that is shown."""
        bases = {path.name: path.base for path in paths_on(self.state.side)}
        row = muscle_rows(self.reading, [self.muscle])[0]
        return _row(row, bases[row["model_name"]], {})


def _between(start: float, end: float) -> list[float]:
    count = max(2, round(abs(end - start) / 2.5))
    return [start + (end - start) * n / count for n in range(count + 1)]


def _row(row: dict[str, Any], base: str, shares: dict[str, float]) -> MuscleRow:
    arms = tuple(
        (
            joint,
            tuple(sorted(((m.replace("_", " "), mm) for m, mm in given.items()), key=lambda one: -one[1])),
        )
        for joint, given in row["moment_arms_mm"].items()
    )
    written = tuple(
        (joint, kept) for joint, given in arms if (kept := tuple(g for g in given if g[1] >= _WORTH_WRITING))
    )
    doubted = tuple(
        (f"{one['joint']} {one['motion'].replace('_', ' ')}", one["why"])
        for one in row["doubted_levers"]
        if one["usable"] == "direction"
    )
    return MuscleRow(
        base, row["muscle"], row["part"], row["normalised_fibre_length"], row["force_length_factor"],
        row["passive_factor"], row["why_no_force_length"] or "", written, row["trust"], row["why_low"] or "",
        doubted, row["note"] or "", shares.get(row["muscle"]),
    )  # fmt: skip


_ORDERS: dict[str, Any] = {
    "share": lambda row: (-(row.share if row.share is not None else -1.0), row.muscle, row.part),
    "length": lambda row: (abs(row.fibre - 1) if row.fibre is not None else 9.0, row.muscle, row.part),
    "lever": lambda row: (-row.longest, row.muscle, row.part),
    "name": lambda row: (row.muscle, row.part),
}
