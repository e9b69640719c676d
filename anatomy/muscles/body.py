"""The body as numbers: lengths and levers of every muscle path on one side in a posture. Loaded once for each process."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from anatomy.muscles.catalogue import paths_on
from anatomy.muscles.coordinates import coordinates
from anatomy.muscles.curves import active_factor, passive_factor
from anatomy.muscles.position import Posture
from anatomy.muscles.simulator import Floats, Ints, Simulator

__all__ = ["Body", "Reading", "open_body"]

MODEL = "myofullbody"
DRAWN_ON_THE_OTHER_SIDE = ("LTpT_T12_l",)
"""This path of the package has the points of its right-hand twin; they are put where its name says, z being to the right."""
KEPT = 2048
"""Postures kept; one takes about 60 kB."""


@dataclass(frozen=True)
class Reading:
    """One posture. Rows are ``paths_on(side)``, columns of ``levers`` are ``coordinates()``.

    ``lengths`` in metres; ``levers`` in metres, positive where the pull makes the coordinate's motion; fibre lengths in
    optimal lengths on a tendon that does not stretch; ``active`` and ``passive`` shares of greatest isometric force.
    """

    posture: Posture
    lengths: Floats
    levers: Floats
    fibres: Floats
    active: Floats
    passive: Floats


@dataclass(frozen=True)
class _Side:
    tendons: Ints
    places: Ints
    spots: Ints
    joints: tuple[tuple[int, int, float], ...]  # number of the coordinate, place among positions, sign
    masters: Floats  # (dofs, coordinates): which masters a coordinate turns, with sign
    still: Floats
    moving: Ints  # the degrees of freedom that any coordinate turns
    forces: Floats
    curve: Floats  # optimal length, tendon length, shortest, longest, greatest passive


class Body:
    """The model with its couplings. Safe for threads; raises ModelNotInstalled when made without the extra."""

    def __init__(self) -> None:
        self.simulator = Simulator(MODEL)
        for path in DRAWN_ON_THE_OTHER_SIDE:
            self._put_across(path)
        self._sides = {side: self._side(side) for side in ("right", "left")}
        self._lock = threading.Lock()
        self._kept: OrderedDict[Posture, Reading] = OrderedDict()

    def forces(self, side: str) -> Floats:
        """The greatest isometric force of every path on a side, in newtons."""
        return self._sides[side].forces

    def read(self, posture: Posture) -> Reading:
        """Lengths, levers and fibres in a posture; what was read before is kept."""
        with self._lock:
            reading = self._kept.get(posture)
            if reading is None:
                reading = self._kept[posture] = self.compute(posture)
                if len(self._kept) > KEPT:
                    self._kept.popitem(last=False)
            else:
                self._kept.move_to_end(posture)
            return reading

    def places(self, posture: Posture, bodies: Sequence[str]) -> Floats:
        """Where the origins of bodies of the model lie (n, 3), metres: x forward, y up, z to the right."""
        simulator = self.simulator
        with self._lock:
            simulator.settle(simulator.position(self.values(posture)))
            found = np.array([simulator.d.body(name).xpos for name in bodies])
        return np.column_stack([-found[:, 1], found[:, 2], -found[:, 0]])

    def path_points(self, posture: Posture, name: str) -> Floats:
        """The points that a path runs through (n, 3), wrapping included, axes as in ``places``. Raises KeyError."""
        simulator = self.simulator
        m, d = simulator.m, simulator.d
        tendon = int(m.actuator(name).trnid[0])
        with self._lock:
            simulator.settle(simulator.position(self.values(posture)))
            start, count = int(d.ten_wrapadr[tendon]), int(d.ten_wrapnum[tendon])
            found = np.array(d.wrap_xpos.reshape(-1, 3)[start : start + count])
        return np.column_stack([-found[:, 1], found[:, 2], -found[:, 0]])

    def values(self, posture: Posture) -> Floats:
        """What the model's masters stand at (nq), radians from the model's own zero."""
        values = np.zeros(self.simulator.m.nq)
        for number, place, sign in self._sides[posture.side].joints:
            values[place] = sign * np.radians(posture.degrees[number])
        return values

    def compute(self, posture: Posture) -> Reading:
        """A reading worked out afresh; ``read`` keeps it. Not safe for several threads at once."""
        simulator, side = self.simulator, self._sides[posture.side]
        values = self.values(posture)
        simulator.settle(simulator.position(values))
        lengths = np.array(simulator.d.ten_length[side.tendons])
        jacobian = np.zeros((len(side.tendons), len(side.moving)))
        jacobian.ravel()[side.spots] = simulator.d.ten_J.ravel()[side.places]
        along = simulator.paths(values, side.masters, side.still)[side.moving]
        # A muscle shortens when it pulls: growing along a motion means pulling against it.
        levers = -(jacobian @ along)
        optimal, tendon, shortest, longest, greatest = side.curve
        fibres = (lengths - tendon) / optimal
        reading = Reading(
            posture,
            lengths,
            levers,
            fibres,
            active_factor(fibres, shortest, longest),
            passive_factor(fibres, longest, greatest),
        )
        for array in (lengths, levers, fibres, reading.active, reading.passive):
            array.setflags(write=False)
        return reading

    def _put_across(self, path: str) -> None:
        m = self.simulator.m
        tendon = m.actuator(path).trnid[0]
        start, count = m.tendon_adr[tendon], m.tendon_num[tendon]
        m.site_pos[m.wrap_objid[start : start + count], 2] *= -1

    def _side(self, side: str) -> _Side:
        simulator = self.simulator
        m = simulator.m
        actuators = [m.actuator(path.name).id for path in paths_on(side)]
        tendons = m.actuator_trnid[actuators, 0]
        places, rows, columns = simulator.jacobian(tendons)
        low, high, force, _, shortest, longest, _, greatest, _ = m.actuator_gainprm[actuators, :9].T
        ends = m.actuator_lengthrange[actuators]
        optimal = (ends[:, 1] - ends[:, 0]) / (high - low)
        joints = []
        turned = np.zeros((m.nv, len(coordinates())))
        for one in coordinates():
            for name in one.model_joints(side):
                if one.settable:
                    joints.append((one.number, simulator.at(name), one.sign(side)))
                turned[simulator.dof(name), one.number] = one.sign(side)
        still = simulator.still_paths(turned)
        probe = simulator.paths(np.full(m.nq, 0.3), turned, still)
        moving = np.flatnonzero(np.abs(probe).sum(axis=1))
        spot = np.full(m.nv, -1)
        spot[moving] = np.arange(len(moving))
        used = spot[columns] >= 0
        places, spots = places[used], rows[used] * len(moving) + spot[columns[used]]
        curve = np.array([optimal, ends[:, 0] - low * optimal, shortest, longest, greatest])
        return _Side(tendons, places, spots, tuple(joints), turned, still, moving, np.abs(force), curve)


@cache
def open_body() -> Body:
    """The body, built once for each process. Raises ModelNotInstalled."""
    return Body()
