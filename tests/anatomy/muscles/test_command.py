"""The command: the contract, clean standard output, and that nothing but exit 2 comes of wrong input."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from anatomy.muscles import simulator
from tests.commands import run_on_file

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
with_model = pytest.mark.skipif(not simulator.is_installed(), reason=WHY)
Json = dict[str, Any]
WHOLE: Json = {
    "side": "right",
    "angles": {
        "hip": {"flexion": 60, "adduction": 0, "internal_rotation": 0}, "knee": {"flexion": 90}, "talocrural": {"dorsiflexion": 0},
        "subtalar": {"inversion": 0}, "shoulder": {"elevation": 45, "plane": 90, "internal_rotation": 0}, "elbow": {"flexion": 90},
        "radioulnar": {"pronation": 0}, "wrist": {"flexion": 0, "radial_deviation": 0},
        "lumbar": {"flexion": 0, "lateral_flexion": 0, "rotation": 0},
    },
}  # fmt: skip


def run(text: str, tmp_path: Path) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of the command."""
    return run_on_file("posture", text, tmp_path)


def answer(whole: Json, tmp_path: Path) -> Json:
    status, out, err = run(json.dumps(whole), tmp_path)
    assert status == 0, err
    return json.loads(out)


@with_model
def test_the_contracts_own_example_is_answered_with_its_keys(tmp_path: Path) -> None:
    found = answer(WHOLE, tmp_path)["muscles"]
    assert len(found) == 208
    for row in found:
        assert {
            "muscle",
            "part",
            "model_name",
            "length_m",
            "normalised_fibre_length",
            "force_length_factor",
        } <= row.keys()
        assert row["trust"] in ("high", "low")
        assert (row["why_low"] is None) == (row["trust"] == "high")
        assert (row["force_length_factor"] is None) == (row["why_no_force_length"] is not None)
        assert all(mm > 0 for joint in row["moment_arms_mm"].values() for mm in joint.values())


@with_model
def test_the_opposite_motion_counts_the_other_way_and_what_is_absent_is_nothing(tmp_path: Path) -> None:
    one = answer({"angles": {"hip": {"extension": 10}}, "muscles": ["soleus", "iliacus"]}, tmp_path)
    other = answer(
        {"side": "right", "angles": {"hip": {"flexion": -10}, "knee": {}}, "muscles": ["iliacus", "soleus"]},
        tmp_path,
    )
    assert one == other
    assert [row["model_name"] for row in one["muscles"]] == ["iliacus_r", "soleus_r"]


@with_model
def test_either_side_gives_the_same_figures_under_its_own_names(tmp_path: Path) -> None:
    angles = WHOLE["angles"] | {"lumbar": {"flexion": 20, "lateral_flexion": 10, "rotation": 5}}
    right, left = (
        answer({"side": side, "angles": angles}, tmp_path)["muscles"] for side in ("right", "left")
    )
    for one, other in zip(right, left, strict=True):
        assert (one["muscle"], one["part"]) == (other["muscle"], other["part"])
        assert one["length_m"] == pytest.approx(other["length_m"], abs=1e-6)
        assert one["moment_arms_mm"].keys() == other["moment_arms_mm"].keys()


@with_model
def test_a_sweep_holds_every_value_and_agrees_with_single_postures(tmp_path: Path) -> None:
    asked = {"joint": "knee", "motion": "flexion", "from": 0, "to": 60, "step": 20}
    found = answer({"angles": {}, "muscles": ["vastus lateralis"], "sweep": asked}, tmp_path)
    assert [step["value"] for step in found["sweep"]] == [0, 20, 40, 60]
    alone = answer({"angles": {"knee": {"flexion": 40}}, "muscles": ["vastus lateralis"]}, tmp_path)
    assert found["sweep"][2]["muscles"] == alone["muscles"]


@with_model
def test_lever_and_length_of_the_answer_belong_together(tmp_path: Path) -> None:
    """A muscle that pulls shortens: the printed lever is minus the slope of the printed length, within 0.2 mm."""
    asked = {"joint": "hip", "motion": "flexion", "from": 29, "to": 31, "step": 1}
    low, here, high = (step["muscles"] for step in answer({"angles": {}, "sweep": asked}, tmp_path)["sweep"])
    for before, row, after in zip(low, here, high, strict=True):
        arms = row["moment_arms_mm"].get("hip", {})
        printed = arms.get("flexion", 0) - arms.get("extension", 0)
        slope = -1000 * (after["length_m"] - before["length_m"]) / math.radians(2)
        assert printed == pytest.approx(slope, abs=0.2), row["model_name"]


@with_model
def test_sweep_and_rank_tell_flips_and_shares(tmp_path: Path) -> None:
    found = answer(
        {
            "angles": {"hip": {"flexion": 30}},
            "muscles": ["adductor longus"],
            "sweep": {"joint": "hip", "motion": "flexion", "from": 0, "to": 100, "step": 5},
            "rank": {"joint": "hip", "motion": "extension"},
        },
        tmp_path,
    )
    assert [one["sentence"][:34] for one in found["flips"]] == ["adductor longus: flexor of the hip"]
    assert sum(row["share"] for row in found["ranking"]) == pytest.approx(1, abs=1e-4)


@with_model
def test_names_groups_synonyms_and_the_models_own_names_find_muscles(tmp_path: Path) -> None:
    def names(*muscles: str) -> set[str]:
        return {row["model_name"] for row in answer({"muscles": list(muscles)}, tmp_path)["muscles"]}

    assert names("gluteus maximus") == {"glmax1_r", "glmax2_r", "glmax3_r"}
    assert names("peroneus longus") == names("fibularis longus") == {"perlong_r"}
    assert names("hamstrings") >= {"bflh_r", "semimem_r", "semiten_r"}
    assert names("deltoid") == {"DELT1", "DELT2", "DELT3"}
    assert names("rectus abdominis") == {"rect_abd_l"}  # the package's label is swapped


FAULTY: list[tuple[Any, str]] = [
    ([], "no object"), ({"side": "middle"}, "side"), ({"side": []}, "side"), ({"angles": 3}, "angles"), ({"angles": {"hip": 3}}, "hip"),
    ({"angles": {"hip": {"flexion": 121}}}, "-30 to 120"), ({"angles": {"hip": {"extension": 31}}}, "Hip extension 31"),
    ({"angles": {"knee": {"extension": 5}}}, "0 to 120"), ({"angles": {"hipp": {"flexion": 1}}}, "did you mean hip?"),
    ({"angles": {"neck": {"flexion": 1}}}, "no joint"), ({"angles": {"hip": {"flexoin": 1}}}, "did you mean flexion?"),
    ({"angles": {"knee": {"pronation": 1}}}, "no motion"), ({"angles": {"shoulder": {"abduction": 45}}}, "plane 0"),
    ({"angles": {"shoulder": {"horizontal_adduction": 4}}}, "elevation"), ({"angles": {"hip": {"flexion": "60"}}}, "number of degrees"),
    ({"angles": {"hip": {"flexion": True}}}, "number of degrees"), ({"angles": {"hip": {"flexion": None}}}, "number of degrees"),
    ({"angles": {"hip": {"flexion": 1, "extension": 1}}}, "twice"), ({"angles": {"ankle": {}, "talocrural": {}}}, "twice"),
    ({"muscles": []}, "muscles"), ({"muscles": "soleus"}, "muscles"), ({"muscles": ["gluteus maximums"]}, "did you mean gluteus maximus?"),
    ({"muscles": ["serratus anterior"]}, "shoulder blade"), ({"muscles": ["pectineus"]}, "no pectineus"), ({"muscles": ["\n"]}, "muscle"),
    ({"sweep": 4}, "sweep"), ({"sweep": {"joint": "hip", "motion": "flexion"}}, "from"),
    ({"sweep": {"joint": "hip", "motion": "flexion", "from": 0, "to": 130, "step": 10}}, "range"),
    ({"sweep": {"joint": "hip", "motion": "flexion", "from": 0, "to": 90, "step": 0}}, "step"),
    ({"sweep": {"joint": "hip", "motion": "flexion", "from": 0, "to": 90, "step": -1}}, "step"),
    ({"sweep": {"joint": "hip", "motion": "flexion", "from": 0, "to": 90, "step": 0.001}}, "larger"),
    ({"rank": {"joint": "hip", "motion": "wink"}}, "no motion"), ({"rank": []}, "rank"),
]  # fmt: skip


@pytest.mark.parametrize(("whole", "said"), FAULTY)
def test_wrong_input_exits_2_with_one_line_that_names_it(whole: Any, said: str, tmp_path: Path) -> None:
    status, out, err = run(json.dumps(whole), tmp_path)
    assert (status, out) == (2, "")
    assert said in err
    assert "\n" not in err
    assert len(err) < 300


@pytest.mark.parametrize(
    "text", ["", "{", '{"side": NaN}', "[" * 5000, '{"a": ' + "9" * 5000 + "}", '{"a": 1, "a": 2}', "\ud800"]
)
def test_what_is_no_json_exits_2(text: str, tmp_path: Path) -> None:
    status, out, err = run(text, tmp_path)
    assert (status, out) == (2, "")
    assert err
    assert "\n" not in err


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(["hip", "flexion", "soleus"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8) | st.sampled_from(["hip", "flexion"]), inner, max_size=4),
    max_leaves=8,
)  # fmt: skip


@with_model
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(st.sampled_from(["side", "angles", "muscles", "sweep", "rank", "x"]), anything) | anything
)
def test_any_json_at_all_is_answered_or_refused(tmp_path: Path, whole: Any) -> None:
    status, out, err = run(json.dumps(whole), tmp_path)
    if status:
        assert (status, out) == (2, "")
        assert err
        assert "\n" not in err
    else:
        json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in the answer"))


def test_without_the_extra_one_clear_line_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from anatomy.muscles import body

    body.open_body.cache_clear()
    monkeypatch.setattr(simulator, "is_installed", lambda: False)
    status, out, err = run(json.dumps(WHOLE), tmp_path)
    body.open_body.cache_clear()
    assert (status, out) == (2, "")
    assert "muscles" in err
    assert "\n" not in err


@with_model
def test_a_process_of_its_own_prints_json_only_and_leaves_no_file(tmp_path: Path) -> None:
    manage = Path(django_settings.BASE_DIR) / "manage.py"
    done = subprocess.run(
        [sys.executable, str(manage), "posture", "-"],
        input=json.dumps({"muscles": ["soleus"]}).encode(),
        capture_output=True,
        cwd=tmp_path,
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["muscles"][0]["muscle"] == "soleus"
    assert list(tmp_path.iterdir()) == []


@with_model
def test_a_model_is_made_without_the_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: Any, **kwargs: Any) -> None:
        raise AssertionError("something reached for the network")

    monkeypatch.setattr("socket.socket.connect", refuse)
    monkeypatch.setattr("socket.getaddrinfo", refuse)
    assert simulator.Simulator("myoarm_r").m.nu == 63
