"""The command: the contract, and that nothing but exit 2 comes of wrong input."""

from __future__ import annotations

import io
import json
import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from anatomy.motion.document import read_request
from anatomy.motion.measure import measure
from tests.commands import run_on_file

from .made import STANDING, document, line_points, turn

Json = dict[str, Any]


def run(text: str, tmp_path: Path) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of the command."""
    return run_on_file("measure", text, tmp_path)


def answer(whole: Json, tmp_path: Path) -> Json:
    status, out, err = run(json.dumps(whole), tmp_path)
    assert status == 0, err
    return json.loads(out)


def throw(**changes: Any) -> Json:
    """Half a second of hips and shoulders turning, 60 ms apart."""
    seconds = np.arange(50) / 50
    rows = []
    hips, shoulders = turn(seconds, 0.45, 0.4, 70), turn(seconds, 0.51, 0.4, 100)
    for n in range(50):
        points: Json = {}
        for part, degrees, y in (("hip", hips, 300), ("shoulder", shoulders, 120)):
            ends = line_points(degrees[n : n + 1], 120, (320, y))
            points |= {f"left_{part}": ends[0][0].tolist(), f"right_{part}": ends[1][0].tolist()}
        rows.append({"frame": 100 + n, "points": points})
    return document() | {"frames": rows} | changes


def test_the_answer_has_the_keys_of_the_contract(tmp_path: Path) -> None:
    want = ["hip_shoulder_separation", "left_knee_flexion"]
    found = answer(throw(want=want, filter={"cutoff_hz": 12}, click_sd_px=0.5), tmp_path)
    assert [row["frame"] for row in found["frames"]] == list(range(100, 150))
    first = found["frames"][0]["measures"]
    assert list(first) == ["hip_shoulder_separation", "left_knee_flexion"]
    assert first["hip_shoulder_separation"] == {
        "value": 0.0,
        "unit": "deg",
        "sd": pytest.approx(math.degrees(2 * 0.5 / 120), abs=1e-6),
    }
    assert first["left_knee_flexion"]["value"] is None
    assert first["left_knee_flexion"]["why"] == "left_knee and left_ankle are not marked in this frame"
    assert [one["segment"] for one in found["sequence"]] == ["pelvis", "trunk"]
    pelvis, trunk = found["sequence"]
    assert {"segment", "peak_time_s", "peak_deg_per_s", "sd_s"} <= set(pelvis)
    # Times count from frame 0 of the clip: frame 100 is 2 s.
    assert pelvis["peak_time_s"] == pytest.approx(2.45, abs=0.001)
    assert trunk["peak_time_s"] == pytest.approx(2.51, abs=0.001)
    assert pelvis["peak_deg_per_s"] == pytest.approx(1.875 * 70 / 0.4, rel=0.05)
    assert pelvis["cutoff_hz"] == 12
    assert found["lags"][0]["sentence"].startswith("pelvis leads trunk by 60 ± ")


def test_standard_input_is_read_and_fewer_than_three_frames_have_no_sequence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    raw = io.BytesIO(json.dumps(document(want=["left_elbow_flexion"])).encode())
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(raw))
    out = io.StringIO()
    call_command("measure", "-", stdout=out)
    found = json.loads(out.getvalue())
    assert "sequence" not in found
    # Upper arm (-34, 64) down, forearm (38, 48): by hand 27.98° left of down and 38.37° right of it, 66.35° between.
    assert found["frames"][0]["measures"]["left_elbow_flexion"]["value"] == pytest.approx(66.35, abs=0.01)


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    """RFC 8259, section 8.1: parsers may ignore it; text saved on some systems begins with it."""
    assert run("\ufeff" + json.dumps(throw()), tmp_path) == run(json.dumps(throw()), tmp_path)


def test_without_a_wish_all_that_can_be_measured_is(tmp_path: Path) -> None:
    found = answer(document({"left_hip": [0, 0], "left_knee": [0, 50], "left_ankle": [20, 90]}), tmp_path)
    assert set(found["frames"][0]["measures"]) == {
        "left_knee_flexion",
        "left_thigh_inclination",
        "left_shank_inclination",
    }


def test_coincident_points_are_null_with_a_why_and_never_zero(tmp_path: Path) -> None:
    same = STANDING | {"left_knee": STANDING["left_hip"]}
    found = answer(document(same, want=["left_knee_flexion", "right_knee_flexion"]), tmp_path)["frames"][0][
        "measures"
    ]
    assert found["left_knee_flexion"]["value"] is None
    assert found["left_knee_flexion"]["sd"] is None
    assert "left_hip and left_knee lie at one place" in found["left_knee_flexion"]["why"]
    assert found["right_knee_flexion"]["value"] > 0


def test_pixel_aspect_is_applied_before_anything(tmp_path: Path) -> None:
    points = {"left_hip": [0, 0], "right_hip": [15, -16]}
    found = answer(document(points, pixel_aspect="16/15", want=["hip_line_inclination"]), tmp_path)
    assert found["frames"][0]["measures"]["hip_line_inclination"]["value"] == pytest.approx(45)


def test_points_outside_the_picture_are_measured_and_named(tmp_path: Path) -> None:
    found = answer(document(STANDING | {"left_ankle": [-40, 460]}, want=["left_knee_flexion"]), tmp_path)[
        "frames"
    ][0]
    assert found["outside"] == ["left_ankle"]
    assert found["measures"]["left_knee_flexion"]["value"] is not None


def test_filter_null_is_no_smoothing_and_the_choice_is_told(tmp_path: Path) -> None:
    for given_filter in (None, {"cutoff_hz": None}):
        one = answer(throw(filter=given_filter), tmp_path)["sequence"][0]
        assert (one["smoothing"], one["cutoff_hz"]) == ("none", None)
    one = answer(throw(), tmp_path)["sequence"][0]
    assert one["smoothing"] == "automatic"
    assert 0 < one["cutoff_hz"] < 25


def test_every_other_frame_marked_is_a_track_at_half_the_rate(tmp_path: Path) -> None:
    whole = throw(filter={"cutoff_hz": None}, want=[])
    whole["frames"] = whole["frames"][::2]
    found = answer(whole, tmp_path)["sequence"]
    assert [one["peak_time_s"] for one in found] == pytest.approx([2.45, 2.51], abs=0.002)
    status, _, err = run(json.dumps(whole | {"filter": {"cutoff_hz": 12.5}}), tmp_path)
    assert status == 2
    assert "12.5 Hz" in err


def test_frames_may_come_in_any_order_and_are_answered_in_it(tmp_path: Path) -> None:
    whole = throw(want=["hip_line_inclination"])
    shuffled = whole | {"frames": whole["frames"][::-1]}
    forwards, backwards = answer(whole, tmp_path), answer(shuffled, tmp_path)
    assert backwards["frames"] == forwards["frames"][::-1]
    assert backwards["sequence"] == forwards["sequence"]


def test_side_chooses_the_limbs(tmp_path: Path) -> None:
    whole = throw()
    for n, row in enumerate(whole["frames"]):
        row["points"] |= {"left_elbow": [200 + 3 * math.sin(n / 5) * 10, 200]}
    assert "upper_arm" not in [one["segment"] for one in answer(whole, tmp_path)["sequence"]]
    left = answer(whole | {"side": "left"}, tmp_path)
    assert "upper_arm" in [one["segment"] for one in left["sequence"] + left["left_out"]]


def test_key_frames_fill_gaps_and_say_so(tmp_path: Path) -> None:
    whole = throw(want=["hip_line_inclination"])
    for row in whole["frames"][5:9]:
        row["points"]["left_hip"] = None
    assert answer(whole, tmp_path)["frames"][6]["measures"]["hip_line_inclination"]["value"] is None
    filled = answer(whole | {"key_frames": [104, 109]}, tmp_path)["frames"][6]
    assert filled["interpolated"] == ["left_hip"]
    assert filled["measures"]["hip_line_inclination"]["interpolated"] is True


def test_lengths_are_shares_or_scaled_by_what_is_known_with_their_error(tmp_path: Path) -> None:
    points = {"left_heel": [0, 0], "right_heel": [300, 400], "left_hip": [0, 0], "left_knee": [0, 250]}
    rows: list[Json] = [{"name": "step", "between": ["left_heel", "right_heel"]}]
    rows.append(
        {"name": "step_in_thighs", "between": ["left_heel", "right_heel"], "of": ["left_hip", "left_knee"]}
    )
    rows.append(rows[1] | {"name": "step_length", "known": 0.45, "known_sd": 0.01, "unit": "m"})
    found = answer(document(points, want=[], lengths=rows), tmp_path)["frames"][0]["measures"]
    assert found["step"] == {"value": 500, "unit": "px", "sd": pytest.approx(1.5 * 2**0.5, abs=1e-6)}
    # Relative errors of 500 and 250 px, each from two clicks of 1.5 px, added in squares.
    relative = 1.5 * 2**0.5 * math.hypot(1 / 500, 1 / 250)
    assert found["step_in_thighs"] == {
        "value": 2,
        "unit": "share",
        "sd": pytest.approx(2 * relative, abs=1e-6),
    }
    assert found["step_length"]["value"] == pytest.approx(0.9)
    assert found["step_length"]["sd"] == pytest.approx(0.9 * math.hypot(relative, 0.01 / 0.45), abs=1e-6)


def test_shares_of_normal_range_name_their_sources(tmp_path: Path) -> None:
    points = {"left_hip": [0, 0], "left_knee": [0, 100], "left_ankle": [100, 100]}
    found = answer(document(points, want=["left_knee_flexion"], normal_ranges=True), tmp_path)
    published = found["normal_ranges"]["knee: flexion"]
    assert all(row["sources"] for row in published)
    share = found["frames"][0]["measures"]["left_knee_flexion"]["percent_of_normal"]
    assert share["of_widest"] == pytest.approx(9000 / max(row["high"] for row in published), abs=1e-4)
    assert share["of_narrowest"] == pytest.approx(9000 / min(row["low"] for row in published), abs=1e-4)
    # reference range of the AAOS as printed in Norkin and White, Measurement of Joint Motion: 135 to 160 or so in all books.
    assert 120 <= min(row["low"] for row in published) <= max(row["high"] for row in published) <= 165


def test_how_far_the_picture_can_mislead_is_told_for_three_tilts(tmp_path: Path) -> None:
    found = answer(document(want=["left_knee_flexion", "hip_line_inclination"]), tmp_path)["foreshortening"]
    assert list(found["left_knee_flexion"]) == ["10", "20", "30"]
    assert (
        0
        < found["left_knee_flexion"]["10"]
        < found["left_knee_flexion"]["20"]
        < found["left_knee_flexion"]["30"]
        <= 60
    )


P = {"left_hip": [1, 2], "right_hip": [3, 4]}
FAULTY: list[tuple[Any, str]] = [
    ([], "no object"), (7, "no object"), ({}, "rate"), (document() | {"rate": 0}, "rate"), (document() | {"rate": "0/1"}, "rate"),
    (document() | {"rate": "1/0"}, "rate"), (document() | {"rate": "fast"}, "rate"), (document() | {"rate": True}, "rate"),
    (document() | {"rate": {"num": 30, "den": 0}}, "rate"), (document() | {"rate": None}, "rate"),
    (document() | {"pixel_aspect": "-1"}, "pixel_aspect"), (document() | {"pixel_aspect": "0"}, "pixel_aspect"),
    (document() | {"click_sd_px": -1}, "click_sd_px"), (document() | {"click_sd_px": "1"}, "click_sd_px"),
    (document() | {"width": 0}, "width"), (document() | {"height": 1.5}, "height"), (document() | {"width": None}, "width"),
    (document() | {"frames": []}, "frames"), (document() | {"frames": {}}, "frames"), (document() | {"frames": [3]}, "Entry 0"),
    (document() | {"frames": [{"frame": -1, "points": P}]}, "whole number from 0"),
    (document() | {"frames": [{"frame": 1.0, "points": P}]}, "whole number from 0"),
    (document() | {"frames": [{"frame": 1, "points": []}]}, "points"),
    (document() | {"frames": [{"frame": 1, "points": P}, {"frame": 1, "points": P}]}, "twice"),
    (document() | {"frames": [{"frame": 1, "points": P}, {"frame": 10**8, "points": P}]}, "span"),
    (document() | {"frames": [{"frame": 1, "points": {"left_hip": [1]}}]}, "two numbers"),
    (document() | {"frames": [{"frame": 1, "points": {"left_hip": [1, "2"]}}]}, "two numbers"),
    (document() | {"frames": [{"frame": 1, "points": {"left_hip": [1e9, 2]}}]}, "pixels away"),
    (document() | {"frames": [{"frame": 1, "points": {"Left hip": [1, 2]}}]}, "such as left_hip"),
    (document() | {"want": ["left_knee_flexoin"]}, "did you mean left_knee_flexion"), (document() | {"want": "all"}, "list"),
    (document() | {"want": [None]}, "no measure"), (document() | {"side": "middle"}, "side"), (document() | {"side": []}, "side"),
    (document() | {"filter": 12}, "filter"), (document() | {"filter": {}}, "filter"), (document() | {"filter": {"cutoff_hz": 0}}, "cutoff_hz"),
    (throw(filter={"cutoff_hz": 25}), "below half the rate"), (throw(filter={"cutoff_hz": 0.011}), "at least"),
    (document() | {"key_frames": [77]}, "no marked frame"), (document() | {"key_frames": 3}, "list"),
    (document() | {"lengths": [{}]}, "name"), (document() | {"lengths": [{"name": "a", "between": ["left_hip", "left_hip"]}]}, "two different"),
    (document() | {"lengths": [{"name": "a", "between": ["left_hip", "left_knee"], "known": 1}]}, "known"),
    (document() | {"normal_ranges": "yes"}, "true or false"), (document() | {"rotation": 1000}, "rotation"),
]  # fmt: skip


@pytest.mark.parametrize(("whole", "said"), FAULTY)
def test_wrong_input_exits_2_with_one_line_that_names_it(whole: Any, said: str, tmp_path: Path) -> None:
    status, out, err = run(json.dumps(whole), tmp_path)
    assert (status, out) == (2, "")
    assert said in err
    assert "\n" not in err
    assert len(err) < 300


@pytest.mark.parametrize("text", [
    "", "{", "nul", '{"rate": NaN}', '{"rate": Infinity}', "[" * 5000, '{"rate": ' + "9" * 5000 + "}", '{"a": 1, "a": 2}', "\ufeff{}",
    json.dumps(document()).replace("[360, 90]", "[1e400, 3]"), "\ud800",
])  # fmt: skip
def test_what_is_no_json_exits_2(text: str, tmp_path: Path) -> None:
    status, out, err = run(text, tmp_path)
    assert (status, out) == (2, "")
    assert err
    assert "\n" not in err


def test_a_file_that_is_not_there_exits_2(tmp_path: Path) -> None:
    with pytest.raises(CommandError) as fault:
        call_command("measure", str(tmp_path / "nowhere.json"))
    assert fault.value.returncode == 2


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["1/2", "left_hip", "50"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        found += _paths(inner, (*path, key))
    return found


_WHOLE = document(
    *({k: [x + 3 * n, y] for k, (x, y) in list(STANDING.items())[5:14]} for n in range(5)),
    want=["left_knee_flexion", "trunk_inclination"], side="left", filter={"cutoff_hz": 8}, key_frames=[0, 3], rotation=2,
    lengths=[{"name": "arm", "between": ["left_hip", "left_elbow"], "of": ["left_hip", "right_hip"], "known": 0.3, "unit": "m"}],
)  # fmt: skip


def _honest(status: int, out: str, err: str) -> None:
    if status:
        assert (status, out) == (2, "")
        assert err
        assert "\n" not in err
    else:
        json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in the answer"))


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data(), anything)
def test_one_wrong_value_anywhere_never_ends_in_anything_but_exit_2(
    tmp_path: Path, data: st.DataObject, wrong: Any
) -> None:
    whole = json.loads(json.dumps(_WHOLE))
    *way, last = data.draw(st.sampled_from(_paths(whole)))
    place = whole
    for key in way:
        place = place[key]
    if data.draw(st.booleans()):
        place[last] = wrong
    else:
        del place[last]
    _honest(*run(json.dumps(whole), tmp_path))


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(anything)
def test_any_json_at_all_is_answered_or_refused(tmp_path: Path, whole: Any) -> None:
    _honest(*run(json.dumps(whole), tmp_path))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)) | st.none(), min_size=6, max_size=6),
        min_size=1,
        max_size=20,
    )
)
def test_any_points_are_measured_or_told_why_not(places: list[list[tuple[float, float] | None]]) -> None:
    names = ("left_hip", "right_hip", "left_shoulder", "right_shoulder", "right_elbow", "right_wrist")
    rows = [dict(zip(names, row, strict=True)) for row in places]
    text = json.dumps(
        document(*rows, want=["hip_shoulder_separation", "right_elbow_flexion", "trunk_inclination"])
    )
    found = measure(read_request(text))
    json.dumps(found, allow_nan=False)
    for row in found["frames"]:
        for one in row["measures"].values():
            assert (one["value"] is None) == ("why" in one) == (one["sd"] is None)
