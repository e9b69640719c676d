"""Suggesting landmarks in a real browser: nothing leaves the machine, pixels map back, nothing is thrown into the page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from anatomy.motion.points import LANDMARKS

from .pose_page import STATIC, PosePage, lay_out_pictures, marked_people, opened

pytestmark = pytest.mark.browser
MAN = next(one for one in marked_people() if one.name == "b2")
WALKER = next(one for one in marked_people() if one.name == "v480a")

_DRAW = """
const redrawn = async (file, across, down, dx, dy, width, height) => {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [width, height];
  canvas.getContext("2d").setTransform(across, 0, 0, down, dx, dy);
  canvas.getContext("2d").drawImage(await load(file), 0, 0);
  return canvas;
};
"""


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pictures")
    lay_out_pictures(folder)
    return folder


@pytest.fixture(scope="module")
def shown(pictures: Path) -> Iterator[PosePage]:
    with opened(pictures) as page:
        yield page


def points(answer: dict) -> dict[str, np.ndarray]:
    assert answer["problem"] == ""
    return {name: np.array(one["at"]) for name, one in answer["landmarks"].items()}


def test_only_the_own_origin_is_asked_and_the_answer_is_whole(shown: PosePage) -> None:
    answer = shown.run("return pose.suggest(await load(given.file), given.box)", MAN.job)
    assert answer["problem"] == ""
    assert set(answer["landmarks"]) == set(answer["world"]) == set(LANDMARKS)
    assert answer["milliseconds"] > 0
    assert all(0 <= one["visibility"] <= 1 for one in answer["landmarks"].values())
    hips = np.mean([answer["world"][f"{side}_hip"] for side in ("left", "right")], axis=0)
    assert np.abs(hips).max() < 0.02  # metres from the middle of the hips
    # Upright: the head is above (y down), and a man's height is of the order of his world's.
    assert answer["world"]["nose"][1] < -0.4 < 0.4 < answer["world"]["left_ankle"][1]
    assert shown.refused == []
    assert shown.faults == []
    vendored = {url.rsplit("/", 1)[1] for url in shown.asked if "/vendor/" in url}
    there = {path.name for path in (STATIC / "vendor" / "pose").iterdir()} - {"LICENSE", "package.json"}
    assert vendored <= there
    assert there - vendored <= {"pose_landmark_lite.tflite"}  # nothing is kept that isn't asked for


@pytest.mark.parametrize(
    ("across", "down", "dx", "dy"), [(1, 1, 37, 0), (1.5, 1.5, 0, 0), (1, 1, 211, 23), (0.75, 0.75, 90, 60)]
)
def test_a_shifted_or_scaled_picture_gives_the_same_points(shown: PosePage, across, down, dx, dy) -> None:
    """The box goes along, so that the model sees the same but for resampling and what the edge cuts off."""
    box = {"x": 40, "y": 80, "width": 150, "height": 360}
    first = points(
        shown.run("return pose.suggest(await load(given.file), given.box)", {"file": MAN.file, "box": box})
    )
    moved = {"x": box["x"] * across + dx, "y": box["y"] * down + dy}
    moved |= {"width": box["width"] * across, "height": box["height"] * down}
    job = {"file": MAN.file, "box": moved, "move": [across, down, dx, dy, 960 + dx, 720 + dy]}
    script = _DRAW + "return pose.suggest(await redrawn(given.file, ...given.move), given.box)"
    second = points(shown.run(script, job))
    body = [name for name in MAN.points if "wrist" not in name]
    errors = [np.hypot(*((second[n] - (dx, dy)) / (across, down) - first[n])) for n in body]
    print(f"shift {dx}, {dy}, scale {across}: mean {np.mean(errors):.2f} px, worst {np.max(errors):.2f} px")
    assert np.mean(errors) < 0.02 * MAN.box["height"]


def test_tall_pixels_are_drawn_square_and_mapped_back(shown: PosePage) -> None:
    """A picture stored at half its width, pixel aspect 2, gives the points at half their x."""
    first = points(shown.run("return pose.suggest(await load(given.file), given.box)", MAN.job))
    box = MAN.box | {"x": MAN.box["x"] / 2, "width": MAN.box["width"] / 2}
    job = {"file": MAN.file, "box": box, "move": [0.5, 1, 0, 0, 320, 480]}
    script = (
        _DRAW + "return pose.suggest(await redrawn(given.file, ...given.move), given.box, {pixelAspect: 2})"
    )
    second = points(shown.run(script, job))
    errors = [np.hypot(*(second[n] * (2, 1) - first[n])) for n in MAN.points]
    assert np.mean(errors) < 0.02 * MAN.box["height"]


def test_the_crop_maps_its_corners_exactly(shown: PosePage) -> None:
    script = """return [[null, 1], [{x: 100, y: 50, width: 40, height: 120}, 1], [{x: -30, y: 500, width: 90, height: 200}, 1.5]]
      .map(([box, aspect]) => { const crop = pose.cropFor({width: 768, height: 576}, box, aspect);
        return [crop, pose.toPicture(crop, {x: 0, y: 0}), pose.toPicture(crop, {x: 1, y: 1})]; });"""
    whole, small, edge = shown.run(script)
    assert (whole[1], whole[2]) == ([0, 0], [768, 576])
    assert (small[1], small[2]) == ([70, 20], [170, 200])  # a quarter of 120 on each side
    assert small[0]["down"] / 180 == pytest.approx(4)  # the person is 480 pixels tall
    assert edge[1][0] == 0
    assert edge[2][1] == 576
    for crop, _, _ in (whole, small, edge):
        square = crop["across"] / (crop["width"] * crop["aspect"]) / (crop["down"] / crop["height"])
        assert square == pytest.approx(1, abs=0.01)


def test_sides_are_swapped_at_once_and_back(shown: PosePage) -> None:
    script = """const answer = await pose.suggest(await load(given.file), given.box);
      const swapped = pose.swapSides(answer); return [answer, swapped, pose.swapSides(swapped)];"""
    answer, swapped, back = shown.run(script, MAN.job)
    assert back == answer
    assert swapped["landmarks"]["left_hip"] == answer["landmarks"]["right_hip"]
    assert swapped["world"]["right_knee"] == answer["world"]["left_knee"]
    assert swapped["landmarks"]["nose"] == answer["landmarks"]["nose"]


def test_many_frames_one_at_a_time_with_progress_and_stop(shown: PosePage) -> None:
    script = """const seen = []; const frames = [1, 2, 3, 4].map((frame) => ({frame, image: () => load(given.file)}));
      frames[1].image = () => Promise.reject(new Error("gone"));
      const progress = (state) => { seen.push([state.done, state.total]); if (given.at && state.done === given.at) pose.stop(); };
      const all = await pose.suggestMany(frames, {model: "lite", box: given.box, progress});
      return {seen, stopped: all.stopped, frames: all.results.map((one) => one.frame), problems: all.results.map((one) => one.problem)};"""
    whole = shown.run(script, WALKER.job)
    assert whole["seen"] == [[n, 4] for n in (1, 2, 3, 4)]
    assert whole["stopped"] is False
    assert [bool(one) for one in whole["problems"]] == [False, True, False, False]
    assert "gone" in whole["problems"][1]
    cut = shown.run(script, WALKER.job | {"at": 3})
    assert cut["stopped"] is True
    assert cut["frames"] == [1, 2, 3]


def test_waiting_suggestions_are_given_up_on_stop_and_later_ones_run(shown: PosePage) -> None:
    script = """const picture = await load(given.file);
      const waiting = [1, 2, 3].map(() => pose.suggest(picture, given.box)); pose.stop();
      return [...await Promise.all(waiting), await pose.suggest(picture, given.box)].map((one) => one.problem);"""
    problems = shown.run(script, MAN.job)
    assert problems == ["Stopped before it was done."] * 3 + [""]


def test_what_cannot_be_answered_is_told_in_a_sentence(shown: PosePage) -> None:
    script = """const picture = await load(given.file); const blank = document.createElement("canvas");
      return (await Promise.all([pose.suggest(blank), pose.suggest(picture, {x: 900, y: 10, width: 50, height: 90}),
        pose.suggest(picture, null, {model: "giant"}), pose.suggest({}, null)])).map((one) => one.problem);"""
    blank, outside, model, thing = shown.run(script, MAN.job)
    assert "No person was found" in blank
    assert "no part inside the picture" in outside
    assert "no model “giant”" in model
    assert thing.endswith(".")
    assert shown.faults == []
    after = shown.run("return pose.suggest(await load(given.file), given.box)", MAN.job)
    assert after["problem"] == ""
