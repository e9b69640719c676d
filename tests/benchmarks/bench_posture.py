"""One posture and a sweep of 60 for all muscles of a side, against bare MuJoCo in the same run.

Bare is what the simulator alone needs for the same geometry, couplings and levers left out (kinematics, centres of mass,
tendons), and ``mj_forward``, the usual single call. Times are the best of several rounds; nothing is taken from the cache.

    python -m tests.benchmarks.bench_posture [rounds]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import mujoco

from anatomy.muscles.body import open_body
from anatomy.muscles.coordinates import find_motion
from anatomy.muscles.position import posture_of
from anatomy.muscles.records import muscle_rows

STEPS = 60


def best(work: Callable[[], object], rounds: int) -> float:
    """Milliseconds of the fastest round."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return 1000 * min(times)


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    begun = time.perf_counter()
    body = open_body()
    print(f"{1000 * (time.perf_counter() - begun):9.0f} ms  load, once for each process")
    one = find_motion("hip", "flexion")[0]
    postures = [posture_of("right", {}).moved(one, float(v)) for v in range(STEPS)]
    simulator = body.simulator
    positions = [simulator.position(body.values(posture)) for posture in postures]

    def geometry() -> None:
        for position in positions:
            simulator.settle(position)

    def forward() -> None:
        for position in positions:
            simulator.d.qpos[:] = position
            mujoco.mj_forward(simulator.m, simulator.d)

    rows = {
        "geometry by bare MuJoCo": best(geometry, rounds),
        "mj_forward by bare MuJoCo": best(forward, rounds),
        "lengths, levers, fibres of 208 paths": best(lambda: [body.compute(p) for p in postures], rounds),
        "the same with rows in words": best(lambda: [muscle_rows(body.compute(p)) for p in postures], rounds),
        "from the cache, rows in words": best(lambda: [muscle_rows(body.read(p)) for p in postures], rounds),
    }
    for name, milliseconds in rows.items():
        print(f"{milliseconds:9.1f} ms  {name}, {STEPS} postures; {milliseconds / STEPS:.2f} ms each")
    mine = rows["lengths, levers, fibres of 208 paths"]
    print(f"{mine / rows['geometry by bare MuJoCo']:9.2f} ×   numbers against bare geometry")
    print(f"{mine / rows['mj_forward by bare MuJoCo']:9.2f} ×   numbers against mj_forward")


if __name__ == "__main__":
    main()
