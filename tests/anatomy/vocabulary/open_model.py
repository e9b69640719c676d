"""The open musculoskeletal model of the package ``myo-sim``: postures exactly as its couplings want them, and levers.

Sources of the model, as its package names them: legs after Rajagopal et al. (2016), IEEE Trans Biomed Eng 63:2068,
doi 10.1109/TBME.2016.2586891; arms after Holzbaur et al. (2005), Ann Biomed Eng 33:829, doi 10.1007/s10439-005-3320-7;
lumbar spine after a model of 210 fascicles with coupled joints. One average adult: signs and orders of magnitude only.
Angles are degrees at this module's surface, lengths metres, levers metres per radian.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np

from anatomy.muscles.simulator import Simulator

STEP = math.radians(1.0)
ANATOMICAL = {"pro_sup_r": -90.0}
"""Every other coordinate is 0 in the anatomical position; the model's own zero of the forearm is thumb up."""
LONG_AXIS = {"tibia about its long axis": "knee_angle_rotation3_r"}
"""Turns that the model ties to another joint, taken by themselves from the coupled posture."""
TOGETHER = {"raised arm about the vertical": {"elv_angle_r": 1.0, "shoulder_rot_r": 1.0}}
"""Pure turns made of two coordinates. The arm's direction is Ry(e) Rx(raised) Ry(−e) Ry(r): a turn about the vertical
by d adds d to the plane e and, because of the coupling by −e, d to the rotation r; e alone would turn the arm outward
about its own axis as it swings."""


class OpenModel:
    """One of the package's models. Raises ModelNotInstalled when ``mujoco`` or ``myo_sim`` is not there."""

    def __init__(self, name: str) -> None:
        self._simulator = Simulator(name)
        self._m: Any = self._simulator.m
        self._d: Any = self._simulator.d
        self._paths = {
            self._m.actuator(number).name: int(self._m.actuator_trnid[number, 0])
            for number in range(self._m.nu)
        }
        self._forces = {
            self._m.actuator(number).name: float(abs(self._m.actuator_gainprm[number, 2]))
            for number in range(self._m.nu)
        }
        self._lengths = cache(self._lengths_at)

    def position(self, posture: Mapping[str, float], *, turned: tuple[str, float] | None = None) -> Any:
        """Joint positions (radians, metres) for independent coordinates in degrees, every dependent joint placed.

        ``turned`` adds radians to one coordinate of ``LONG_AXIS`` or of the low back after its own rule. Raises KeyError
        for an unknown coordinate.
        """
        wanted = {name: math.radians(value) for name, value in {**self._standing(), **posture}.items()}
        free, extra = turned or ("", 0.0)
        if free and free not in LONG_AXIS:
            wanted[free] = wanted.get(free, 0.0) + extra
        values = np.zeros(self._m.nq)
        for name, value in wanted.items():
            values[self._simulator.at(name)] = value
        q = self._simulator.position(values)
        if free in LONG_AXIS:
            q[self._simulator.at(LONG_AXIS[free])] += extra
        return q

    def _standing(self) -> dict[str, float]:
        return {name: value for name, value in ANATOMICAL.items() if self._simulator.has(name)}

    def lever(self, path: str, coordinate: str, posture: tuple[tuple[str, float], ...] = ()) -> float:
        """The moment arm of one muscle path about a coordinate, positive when its pull produces the positive direction.

        The central difference of its length over ±1 degree, couplings applied at either end; a muscle shortens when
        it pulls, hence the minus.
        """
        ahead, behind = (self._lengths(coordinate, sign * STEP, posture) for sign in (1.0, -1.0))
        tendon = self._paths[path]
        return float(-(ahead[tendon] - behind[tendon]) / (2 * STEP))

    def force(self, path: str) -> float:
        """The greatest isometric force of a muscle path in newtons, for weighing the parts of one muscle."""
        return self._forces[path]

    def place(self, body: str, posture: Mapping[str, float], turned: tuple[str, float] | None = None) -> Any:
        """Where the origin of a body is (3, in metres) and how it stands (3 × 3)."""
        self._settle(self.position(posture, turned=turned))
        return self._d.body(body).xpos.copy(), self._d.body(body).xmat.reshape(3, 3).copy()

    def _settle(self, position: Any) -> None:
        self._simulator.settle(position)

    def _lengths_at(self, coordinate: str, step: float, posture: tuple[tuple[str, float], ...]) -> Any:
        given = dict(posture)
        if coordinate in LONG_AXIS or coordinate in self._simulator.own_share:
            self._settle(self.position(given, turned=(coordinate, step)))
        else:
            moved = {
                name: given.get(name, ANATOMICAL.get(name, 0.0)) + share * math.degrees(step)
                for name, share in TOGETHER.get(coordinate, {coordinate: 1.0}).items()
            }
            self._settle(self.position({**given, **moved}))
        return np.array(self._d.ten_length)


@cache
def open_model(name: str) -> OpenModel:
    """The model of that name, built once in a process."""
    return OpenModel(name)
