"""Couplings, levers, lengths and sides of the posture engine, against the model itself and against published figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
mujoco = pytest.importorskip("mujoco", reason=WHY)
pytest.importorskip("myo_sim", reason=WHY)

from anatomy.muscles.body import Reading, open_body  # noqa: E402
from anatomy.muscles.catalogue import paths_on  # noqa: E402
from anatomy.muscles.coordinates import coordinates, find_joint, find_motion  # noqa: E402
from anatomy.muscles.flips import flips  # noqa: E402
from anatomy.muscles.position import ANATOMICAL, Posture, posture_of  # noqa: E402
from anatomy.muscles.ranking import ranking  # noqa: E402
from anatomy.muscles.records import muscle_rows  # noqa: E402

Angles = dict[str, dict[str, float]]


def read(angles: Angles, side: str = "right") -> Reading:
    return open_body().read(posture_of(side, angles))


def lever(angles: Angles, path: str, joint: str, motion: str) -> float:
    """Millimetres, positive where the path makes the motion."""
    one, sign = find_motion(find_joint(joint), motion)
    place = [p.name for p in paths_on("right")].index(path)
    return 1000 * sign * float(read(angles).levers[place, one.number])


@st.composite
def postures(draw: st.DrawFn) -> Posture:
    """Any posture within two degrees of the model's limits."""
    values = [draw(st.floats(one.low + 2, one.high - 2)) if one.settable else 0.0 for one in coordinates()]
    return Posture(draw(st.sampled_from(["right", "left"])), tuple(values))


def test_the_couplings_place_the_kneecap_as_their_polynomial_says_by_hand() -> None:
    """At 60 degrees, x = 1.0472, by the coefficients that the model's file gives: c0 + c1 x + … + c4 x⁴."""
    body = open_body()
    q = body.simulator.position(body.values(posture_of("right", {"knee": {"flexion": 60}})))
    m, x = body.simulator.m, math.pi / 3
    for joint, c in {
        "knee_angle_beta_translation1_r": (0.0524, -0.015, -0.0341, 0.0133, -0.0009),
        "knee_angle_beta_translation2_r": (-0.0108, -0.0488, 0.0093, 0.0132, -0.0035),
        "knee_angle_rotation3_r": (0.0, 0.3695, -0.1695, 0.0252, 0.0),
    }.items():
        by_hand = c[0] + c[1] * x + c[2] * x**2 + c[3] * x**3 + c[4] * x**4
        start = m.qpos0[body.simulator.at(joint)]
        assert q[body.simulator.at(joint)] - start == pytest.approx(by_hand, abs=2e-4), joint


def test_the_low_backs_five_joints_sum_to_the_angle_asked_for() -> None:
    body = open_body()
    asked = {"flexion": 20, "lateral_flexion": 10, "rotation": -15}
    q = body.simulator.position(body.values(posture_of("right", {"lumbar": asked})))
    for master, ending, whole in (
        ("flex_extension", "FE", -20),
        ("lat_bending", "LB", 10),
        ("axial_rotation", "AR", 15),
    ):
        levels = [f"{a}_{b}_{ending}" for a, b in (("L4", "L5"), ("L3", "L4"), ("L2", "L3"), ("L1", "L2"))]
        turned = sum(float(np.degrees(q[body.simulator.at(name)])) for name in (master, *levels))
        assert turned == pytest.approx(whole, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(postures())
def test_the_simulators_own_residual_of_every_tie_is_nothing_outside_the_split_low_back(
    posture: Posture,
) -> None:
    body = open_body()
    simulator, zero = body.simulator, [one.number for one in coordinates() if one.joint == "lumbar"]
    flat = Posture(posture.side, tuple(0.0 if n in zero else v for n, v in enumerate(posture.degrees)))
    simulator.d.qpos[:] = simulator.position(body.values(flat))
    mujoco.mj_forward(simulator.m, simulator.d)
    ties = simulator.d.efc_type == mujoco.mjtConstraint.mjCNSTR_EQUALITY
    assert ties.sum() >= 40
    assert np.abs(simulator.d.efc_pos[ties]).max() < 1e-6


@settings(max_examples=25, deadline=None)
@given(postures())
def test_a_mirrored_posture_has_the_same_lengths_and_levers(posture: Posture) -> None:
    one, other = open_body().read(posture), open_body().read(posture.mirrored())
    assert np.abs(one.lengths - other.lengths).max() < 1e-6
    # The package writes some points of the trunk with six digits; an iliocostalis differs by 0.0006 mm.
    assert np.abs(one.levers - other.levers).max() < 1e-6


@settings(max_examples=15, deadline=None)
@given(postures())
def test_levers_are_the_slope_of_length_along_the_coupled_path(posture: Posture) -> None:
    """Within 0.2 mm for every path whose wrapping does not jump within the half degree either way."""
    body, off = open_body(), 0
    here = body.read(posture)
    for one in coordinates():
        if not (one.settable and one.has_lever):
            continue
        ends = [
            body.read(posture.moved(one, posture.degrees[one.number] + s * 0.25)).lengths for s in (1, -1)
        ]
        slope = -(ends[0] - ends[1]) / math.radians(0.5)
        off += int((np.abs(slope - here.levers[:, one.number]) > 2e-4).sum())
    assert off <= 2


@settings(max_examples=10, deadline=None)
@given(postures())
def test_horizontal_adduction_is_a_turn_of_the_whole_arm_about_the_vertical(posture: Posture) -> None:
    across = find_motion("shoulder", "horizontal adduction")[0]
    plane, rotation = (find_motion("shoulder", name)[0] for name in ("plane", "internal rotation"))
    ends = []
    for step in (0.25, -0.25):
        moved = posture.moved(plane, posture.degrees[plane.number] + step)
        ends.append(open_body().read(moved.moved(rotation, posture.degrees[rotation.number] + step)).lengths)
    slope = -(ends[0] - ends[1]) / math.radians(0.5)
    assert (np.abs(slope - open_body().read(posture).levers[:, across.number]) > 2e-4).sum() <= 1


def test_force_and_length_are_the_simulators_own() -> None:
    body = open_body()
    m = body.simulator.m
    reading = read(
        {
            "hip": {"flexion": 50},
            "knee": {"flexion": 70},
            "elbow": {"flexion": 100},
            "lumbar": {"flexion": 30},
        }
    )
    for place, path in enumerate(paths_on("right")):
        n = m.actuator(path.name).id
        prm, ends, length = (
            m.actuator_gainprm[n, :9],
            m.actuator_lengthrange[n],
            float(reading.lengths[place]),
        )
        gain = mujoco.mju_muscleGain(length, 0.0, ends, m.actuator_acc0[n], prm)
        bias = mujoco.mju_muscleBias(length, ends, m.actuator_acc0[n], prm)
        assert reading.active[place] == pytest.approx(-gain / prm[2], abs=1e-9), path.name
        assert reading.passive[place] == pytest.approx(-bias / prm[2], abs=1e-9), path.name


def test_every_path_of_the_model_is_one_of_ours_on_its_own_side() -> None:
    """The model calls 416 muscles its own; two labels of rectus abdominis are swapped, one path is drawn across."""
    body = open_body()
    m = body.simulator.m
    ours = {path.name: path for side in ("right", "left") for path in paths_on(side)}
    assert set(ours) == {m.actuator(n).name for n in range(m.nu)}
    assert len(ours) == 416
    assert [len(paths_on(side)) for side in ("right", "left")] == [208, 208]
    body.simulator.settle(body.simulator.position(np.zeros(m.nq)))
    middle = float(np.mean([body.simulator.d.body(f"femur_{side}").xpos[0] for side in "rl"]))
    for name, path in ours.items():
        tendon = m.actuator(name).trnid[0]
        span = range(m.tendon_adr[tendon], m.tendon_adr[tendon] + m.tendon_num[tendon])
        sites = [m.wrap_objid[n] for n in span if m.wrap_type[n] == mujoco.mjtWrap.mjWRAP_SITE]
        x = float(np.mean([body.simulator.d.site_xpos[site][0] for site in sites]))
        assert (x < middle) == (path.side == "right"), name  # right is -x


def test_the_limits_in_the_data_are_the_models() -> None:
    m = open_body().simulator.m
    for one in coordinates():
        if not one.settable:
            continue
        for side in ("right", "left"):
            ends = np.degrees(m.joint(one.model_joints(side)[0]).range) * one.sign(side)
            assert sorted(ends) == pytest.approx([one.low, one.high], abs=0.5), (one.joint, one.motion, side)


PUBLISHED = [
    # path, joint, motion, posture, least, most, source
    ("vasint_r", "knee", "extension", {"knee": {"flexion": 30}}, 35, 55, "about 4 cm: Buford et al. 1997, IEEE Trans Rehabil Eng 5:367, from memory"),
    ("soleus_r", "talocrural", "plantarflexion", {}, 38, 60, "45 to 55 mm: Maganaris et al. 1998, J Physiol 510:977, from memory"),
    ("BIClong", "elbow", "flexion", {"elbow": {"flexion": 90}}, 32, 55, "about 45 mm near 90°: Murray et al. 1995, J Biomech 28:513, from memory"),
    ("BRD", "elbow", "flexion", {"elbow": {"flexion": 90}}, 50, 95, "60 to 80 mm: Murray et al. 1995, from memory"),
    ("TRIlat", "elbow", "extension", {"elbow": {"flexion": 90}}, 12, 30, "about 20 mm: Murray et al. 1995, from memory"),
    ("glmed2_r", "hip", "abduction", {}, 30, 65, "about 5 cm: Dostal et al. 1986, Phys Ther 66:351, from memory"),
    ("bflh_r", "hip", "extension", {}, 45, 75, "about 5.4 cm: Dostal et al. 1986, from memory"),
    ("addlong_r", "hip", "flexion", {}, 30, 55, "about 4.1 cm: Dostal et al. 1986, from memory"),
    ("addlong_r", "hip", "adduction", {}, 45, 80, "about 7.1 cm: Dostal et al. 1986, from memory"),
    ("piri_r", "hip", "external rotation", {}, 20, 38, "29 mm outward: Delp et al. 1999, J Biomech 32:493"),
    ("piri_r", "hip", "internal rotation", {"hip": {"flexion": 90}}, 7, 21, "14 mm inward: Delp et al. 1999, J Biomech 32:493"),
    ("tibant_r", "talocrural", "dorsiflexion", {}, 30, 55, "about 40 mm: Maganaris 2000, from memory"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "joint", "motion", "angles", "least", "most", "source"), PUBLISHED)
def test_levers_lie_within_the_spread_of_published_ones(
    path: str, joint: str, motion: str, angles: Angles, least: float, most: float, source: str
) -> None:
    assert least <= lever(angles, path, joint, motion) <= most, source


def _flips(motion: str, start: int, end: int) -> dict[tuple[str, str], float | None]:
    hip = find_motion("hip", motion)[0]
    standing = posture_of("right", {})
    readings = [open_body().read(standing.moved(hip, float(v))) for v in range(start, end + 1, 5)]
    return {(f["model_name"], f["flipped"]): f["at"] for f in flips(open_body(), hip, readings)}


def test_the_adductor_longus_turns_from_flexor_to_extensor_where_books_say() -> None:
    """Between about 50 and 80 degrees: Dostal et al. 1986, Phys Ther 66:351; Neumann 2010, JOSPT 40:82, from memory."""
    at = _flips("flexion", 0, 110)[("addlong_r", "extension")]
    assert at is not None
    assert 50 <= at <= 80


def test_the_piriformis_turns_from_outward_to_inward_rotation_on_the_way_to_ninety() -> None:
    """Outward with the hip straight, inward at 90 degrees: Delp et al. 1999, J Biomech 32:493."""
    at = _flips("flexion", 0, 110)[("piri_r", "internal_rotation")]
    assert at is not None
    assert 0 < at < 90
    assert ("soleus_r", "dorsiflexion") not in _flips("flexion", 0, 110)


def test_trust_is_low_where_the_model_is_known_to_fail_and_says_why() -> None:
    def row(angles: Angles, name: str) -> dict[str, object]:
        return next(r for r in muscle_rows(read(angles)) if r["model_name"] == name)

    assert row({}, "BIClong")["trust"] == "low"
    assert "30°" in str(row({}, "BRA")["why_low"])
    assert row({"elbow": {"flexion": 90}}, "BRA")["trust"] == "high"
    assert row({}, "glmax1_r")["trust"] == "high"
    assert row({"hip": {"flexion": 80}}, "glmax1_r")["trust"] == "low"
    assert row({"shoulder": {"elevation": 60, "plane": 30}}, "DELT1")["trust"] == "high"
    assert row({"shoulder": {"elevation": 130, "plane": 30}}, "DELT1")["trust"] == "low"
    assert row({}, "rect_abd_l")["muscle"] == "rectus abdominis"
    assert row({}, "FDP2")["normalised_fibre_length"] is None
    assert row({}, "FDP2")["why_no_force_length"]
    assert row({}, "soleus_r")["normalised_fibre_length"] is not None


def test_ranking_shares_sum_to_one_and_the_big_extensors_come_first() -> None:
    cases: list[tuple[Angles, str, str]] = [
        ({"hip": {"flexion": 45}}, "hip", "extension"),
        ({"knee": {"flexion": 60}}, "knee", "extension"),
    ]
    for angles, joint, motion in cases:
        rows = ranking(open_body(), read(angles), joint, motion)
        assert sum(row["share"] for row in rows) == pytest.approx(1, abs=1e-4)
        assert [row["share"] for row in rows] == sorted((row["share"] for row in rows), reverse=True)
    assert {row["muscle"] for row in rows[:4]} == {
        "vastus lateralis",
        "vastus medialis",
        "vastus intermedius",
        "rectus femoris",
    }


def test_lengths_and_levers_run_on_smoothly_along_a_sweep() -> None:
    """No path that can be trusted jumps by more than its lever allows within a degree of hip or elbow flexion."""
    for joint, start, end in (("hip", -30, 85), ("elbow", 30, 130)):
        one = find_motion(joint, "flexion")[0]
        base = Posture("right", ANATOMICAL)
        rows = [open_body().read(base.moved(one, float(v))) for v in range(start, end + 1)]
        lengths = np.array([row.lengths for row in rows])
        assert np.abs(np.diff(lengths, axis=0)).max() < 0.1 * math.radians(1)
        assert np.abs(np.diff([row.levers[:, one.number] for row in rows], axis=0)).max() < 0.012
