"""The only door to the simulator: the open model compiled in silence, its joints placed as its couplings want them.

Package ``myo-sim``; legs after Rajagopal et al. (2016), IEEE Trans Biomed Eng 63:2068, doi 10.1109/TBME.2016.2586891;
arms after Holzbaur et al. (2005), Ann Biomed Eng 33:829, doi 10.1007/s10439-005-3320-7; lumbar spine after a model of 210
fascicles with coupled joints. Nothing is imported before a model is asked for.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator, Sequence
from functools import cached_property
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from typing import Any

import numpy as np

from anatomy.muscles.faults import ModelNotInstalled

__all__ = ["Simulator", "is_installed"]

Floats = np.ndarray[Any, np.dtype[np.float64]]
Ints = np.ndarray[Any, np.dtype[np.int64]]
SPLIT = {"flex_extension": "_FE", "lat_bending": "_LB", "axial_rotation": "_AR"}
"""The masters of the low back and how the names of the levels end that follow them."""


def is_installed() -> bool:
    """Whether both packages of the extra are there; imports neither."""
    return find_spec("mujoco") is not None and find_spec("myo_sim") is not None


def model_version() -> str:
    """The packaged model with its version, "myo-sim 0.2.4"; empty where it is not installed."""
    try:
        return f"myo-sim {version('myo-sim')}"
    except PackageNotFoundError:
        return ""


@contextlib.contextmanager
def _silence(mujoco: Any) -> Iterator[None]:
    """The simulator warns on standard output and in a log file of the folder it runs in, the composer warns as well."""
    before = mujoco.get_mju_user_warning()
    mujoco.set_mju_user_warning(lambda message: None)
    try:
        with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
            warnings.simplefilter("ignore")
            yield
    finally:
        mujoco.set_mju_user_warning(before)


class Simulator:
    """One of the package's models (``myofullbody``, ``myolegs`` …). Raises ModelNotInstalled.

    A master joint takes values in radians from the model's own zero. Not safe for several threads at once.
    """

    def __init__(self, name: str) -> None:
        if not is_installed():
            raise ModelNotInstalled
        import mujoco

        self.mujoco: Any = mujoco
        with _silence(mujoco):
            from myo_sim.build.compose import build_spec

            self.m: Any = build_spec(name).compile()
        self.d: Any = mujoco.MjData(self.m)
        m = self.m
        ties = [n for n in range(m.neq) if m.eq_type[n] == mujoco.mjtEq.mjEQ_JOINT]
        first = [int(m.eq_obj1id[n]) for n in ties]
        second = [int(m.eq_obj2id[n]) for n in ties]
        self._of = m.jnt_qposadr[first]
        self._of_dof = m.jnt_dofadr[first]
        self._to = np.array([m.jnt_qposadr[j] if j >= 0 else -1 for j in second])
        self._to_dof = np.array([m.jnt_dofadr[j] if j >= 0 else -1 for j in second])
        self._curve = np.array([m.eq_data[n][:5] for n in ties])
        self._tied = np.flatnonzero(self._to_dof >= 0)
        if set(self._of) & set(self._to):
            raise RuntimeError("A tied joint of the model drives another one: the couplings need an order.")

    def has(self, joint: str) -> bool:
        """Whether the model has a joint of this name."""
        return bool(self.mujoco.mj_name2id(self.m, self.mujoco.mjtObj.mjOBJ_JOINT, joint) >= 0)

    def at(self, joint: str) -> int:
        """Where a joint stands among the positions. Raises KeyError for a stranger."""
        return int(self.m.joint(joint).qposadr[0])

    def dof(self, joint: str) -> int:
        """Where a joint stands among the degrees of freedom. Raises KeyError for a stranger."""
        return int(self.m.joint(joint).dofadr[0])

    @cached_property
    def own_share(self) -> dict[str, float]:
        """What is left for L5-S1 of each motion of the low back when the four levels above take the model's shares.

        The master would otherwise turn L5-S1 by the whole angle on top of what the levels turn, nearly twice the angle in
        all. With these shares the five joints sum to 1; for rotation any split is an assumption.
        """
        shares = {}
        for master, ending in SPLIT.items():
            if self.has(master):
                driven = [
                    float(self._curve[n, 1])
                    for n in range(len(self._of))
                    if self._to[n] == self.at(master) and self._joint_name(n).endswith(ending)
                ]
                shares[master] = 1.0 - sum(driven)
        return shares

    def _joint_name(self, tie: int) -> str:
        return str(self.m.joint(int(np.flatnonzero(self.m.jnt_qposadr == self._of[tie])[0])).name)

    def position(self, values: Floats) -> Floats:
        """Positions (nq) for the values of the masters (nq, from the model's zero, other entries 0).

        For each tie q1 = q1_0 + c0 + c1 x + … + c4 x⁴ with x = q2 − q2_0, and x = 0 where there is no second joint.
        """
        q = self.m.qpos0 + values
        x = self._driving(values)
        c = self._curve
        q[self._of] = self.m.qpos0[self._of] + (
            c[:, 0] + x * (c[:, 1] + x * (c[:, 2] + x * (c[:, 3] + x * c[:, 4])))
        )
        for master, share in self._shared:
            q[master] = self.m.qpos0[master] + share * values[master]
        return q

    def _driving(self, values: Floats) -> Floats:
        return np.where(self._to >= 0, values[self._to], 0.0)

    @cached_property
    def _shared(self) -> list[tuple[int, float]]:
        return [(self.at(master), share) for master, share in self.own_share.items()]

    def still_paths(self, masters: Floats) -> Floats:
        """The part of ``paths`` that is the same in every posture (nv, k)."""
        paths = masters.copy()
        paths[self._of_dof] = 0.0
        for master, share in self.own_share.items():
            paths[self.dof(master)] *= share
        return paths

    def paths(self, values: Floats, masters: Floats, still: Floats) -> Floats:
        """How every degree of freedom moves (nv, k) along k combinations of masters (nv, k), ties followed.

        ``still`` is what ``still_paths`` gave for the same masters.
        """
        paths = still.copy()
        x, c, tied = self._driving(values), self._curve, self._tied
        slope = c[:, 1] + x * (2 * c[:, 2] + x * (3 * c[:, 3] + x * 4 * c[:, 4]))
        paths[self._of_dof[tied]] = slope[tied, None] * masters[self._to_dof[tied]]
        return paths

    def settle(self, position: Floats) -> None:
        """Works out the geometry at a position: bodies, tendon lengths (``d.ten_length``), tendon Jacobian."""
        self.d.qpos[:] = position
        self.mujoco.mj_kinematics(self.m, self.d)
        self.mujoco.mj_comPos(self.m, self.d)
        self.mujoco.mj_tendon(self.m, self.d)

    def jacobian(self, tendons: Sequence[int]) -> tuple[Ints, Ints, Ints]:
        """The sparse pattern of the tendon Jacobian: places in ``d.ten_J``, rows (of ``tendons``), columns."""
        places: list[int] = []
        rows: list[int] = []
        for row, tendon in enumerate(tendons):
            start, count = int(self.m.ten_J_rowadr[tendon]), int(self.m.ten_J_rownnz[tendon])
            places += range(start, start + count)
            rows += [row] * count
        return np.array(places), np.array(rows), self.m.ten_J_colind.ravel()[places]
