"""The vocabulary's muscle actions against the geometry of an open musculoskeletal model (package ``myo-sim`` 0.2.4).

Source of the reference values: the model itself, see ``open_model.py``; nobody typed them in. For each action the pull
of the muscle is asked for its direction: at the anatomical position, or where ``model_postures.csv`` says that the
action holds or that the model can be trusted.

Measured: all 39 prime actions of hip, knee, ankle and subtalar joint that the model can judge agree (required: 97 %),
and 65 of 76 assisting ones there; all 50 prime and 56 of 65 assisting ones of shoulder, elbow, forearm, wrist and
lumbar spine. Every difference stands in ``model_differences.csv`` with its reason; ``pytest -s`` prints the figures.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from anatomy.vocabulary.packaged import packaged_vocabulary

WHY = "the open musculoskeletal model is not installed: it comes with the extra “test” (myo-sim, mujoco)"
pytest.importorskip("mujoco", reason=WHY)
pytest.importorskip("myo_sim", reason=WHY)

from tests.anatomy.vocabulary.model_actions import (  # noqa: E402
    ARM_AND_TRUNK,
    LEG,
    Looked,
    looked_at,
    paths_of,
    table,
)
from tests.anatomy.vocabulary.open_model import open_model  # noqa: E402

LEAST = {
    "hip": 68,
    "knee": 20,
    "talocrural": 10,
    "subtalar": 17,
    "glenohumeral": 47,
    "elbow": 14,
    "radioulnar": 9,
    "wrist": 22,
    "lumbar spine": 23,
}
"""How many actions of each joint the model could judge when this was written: none may slip out unseen."""


@pytest.fixture(scope="session")
def looked() -> list[Looked]:
    return looked_at(packaged_vocabulary(), LEG + ARM_AND_TRUNK)


@pytest.mark.parametrize(
    ("model", "coordinate", "posture", "body", "axis", "sign"),
    [
        # The world of the model: anterior is -y, right is -x, up is +z; moved parts are on the right.
        ("myolegs", "hip_flexion_r", {}, "calcn_r", 1, -1),
        ("myolegs", "hip_adduction_r", {}, "calcn_r", 0, 1),
        ("myolegs", "knee_angle_r", {}, "calcn_r", 1, 1),
        ("myolegs", "ankle_angle_r", {}, "toes_r", 2, 1),
        ("myoarm_r", "elbow_flexion_r", {}, "lunate_r", 1, -1),
        ("myoarm_r", "shoulder_elv_r", {"elv_angle_r": 90}, "ulna_r", 1, -1),
        ("myoarm_r", "shoulder_elv_r", {"elv_angle_r": 0}, "ulna_r", 0, -1),
        ("myoarm_r", "shoulder_rot_r", {"elbow_flexion_r": 90}, "lunate_r", 0, 1),
        ("myoarm_r", "elv_angle_r", {"shoulder_elv_r": 90}, "ulna_r", 1, -1),
        ("myotorso", "lat_bending", {}, "lumbar1", 0, -1),
        ("myotorso", "flex_extension", {}, "lumbar1", 1, 1),
    ],
)
def test_a_coordinate_moves_the_distal_part_the_way_its_name_says(
    model: str, coordinate: str, posture: dict[str, float], body: str, axis: int, sign: int
) -> None:
    before, _ = open_model(model).place(body, posture)
    after, _ = open_model(model).place(body, {**posture, coordinate: posture.get(coordinate, 0.0) + 10})
    assert sign * (after - before)[axis] > 0.002


def test_rotations_turn_the_distal_part_the_way_their_names_say() -> None:
    """Inward rotation of a right limb about its own long axis turns its front to the left, +x."""
    model = open_model("myolegs")
    for moved, turned in (
        ({"hip_rotation_r": 10.0}, None),
        ({}, ("tibia about its long axis", np.radians(10))),
    ):
        start, end = (
            model.place("toes_r", *how)[0] - model.place("calcn_r", *how)[0]
            for how in (({}, None), (moved, turned))
        )
        assert (end - start)[0] > 0.005, (moved, turned)


def test_the_couplings_hold_in_every_posture_by_the_simulators_own_reckoning() -> None:
    """The simulator's residual of each equality constraint (metres or radians) is nothing where a posture was set."""
    import mujoco

    for name, posture in (
        ("myolegs", {"hip_flexion_r": 40.0, "knee_angle_r": 70.0, "knee_angle_l": 15.0}),
        ("myoarm_r", {"shoulder_elv_r": 80.0, "elv_angle_r": 30.0, "elbow_flexion_r": 60.0}),
    ):
        model = open_model(name)
        model._d.qpos[:] = model.position(posture)
        mujoco.mj_forward(model._m, model._d)
        ties = model._d.efc_type == mujoco.mjtConstraint.mjCNSTR_EQUALITY
        assert ties.sum() >= 7
        assert np.abs(model._d.efc_pos[ties]).max() < 1e-6


def test_the_quadriceps_have_their_whole_lever_at_the_knee() -> None:
    """About 4 cm at 30 degrees (Buford et al. 1997, IEEE Trans Rehabil Eng 5:367, from memory); without the couplings
    the kneecap would sit in the joint and the lever would be a tenth of that."""
    lever = open_model("myolegs").lever("vasint_r", "knee_angle_r", (("knee_angle_r", 30.0),))
    assert 0.03 < -lever < 0.06


def test_every_path_belongs_to_a_muscle_of_the_vocabulary() -> None:
    muscles = packaged_vocabulary().muscles
    for row in table("model_muscles"):
        assert row["muscle"] in muscles, row
    # The package's labels of this muscle are swapped: the path called left lies on the right.
    assert paths_of("rectus abdominis", "myotorso") == ["rect_abd_l"]


def test_as_many_actions_are_judged_as_ever(looked: list[Looked]) -> None:
    judged = Counter(one.action.joint for one in looked)
    assert {joint: n for joint, n in LEAST.items() if judged[joint] < n} == {}


def test_the_model_bears_out_the_prime_actions_of_the_leg(looked: list[Looked]) -> None:
    prime = [one for one in looked if one.action.joint in LEG and one.action.role == "prime"]
    agreeing = sum(one.agrees for one in prime)
    _print_figures(looked)
    assert agreeing >= 0.97 * len(prime)


def test_every_difference_is_known_and_explained(looked: list[Looked]) -> None:
    found = {one.key: round(1000 * one.lever, 1) for one in looked if not one.agrees}
    known = {(row["muscle"], row["joint"], row["motion"]): row for row in table("model_differences")}
    assert len(known) == len(table("model_differences")), "a difference stands twice in the table"
    assert {key: mm for key, mm in found.items() if key not in known} == {}, "differences without a reason"
    assert known.keys() - found.keys() == set(), "no longer differences: take them out of the table"
    for key, row in known.items():
        assert row["reason"], key
        assert row["source"], key
        assert abs(float(row["lever_mm"]) - found[key]) < 1.0, (key, found[key])


def _print_figures(looked: list[Looked]) -> None:
    print()
    for where, joints in (("leg", LEG), ("arm and trunk", ARM_AND_TRUNK)):
        for role in ("prime", "assist"):
            for joint in (*joints, where):
                of = [
                    one
                    for one in looked
                    if one.action.role == role
                    and one.action.joint in (joints if joint == where else (joint,))
                ]
                print(f"{joint:14} {role:6} {sum(one.agrees for one in of):3} of {len(of):3} agree")
