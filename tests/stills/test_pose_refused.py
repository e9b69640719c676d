"""Where the model can't run, the page is told why in one sentence and goes on by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from .pose_page import lay_out_pictures, marked_people, opened

pytestmark = pytest.mark.browser
MAN = next(one for one in marked_people() if one.name == "b2")


def test_a_missing_file_is_told_and_by_hand_goes_on(tmp_path: Path) -> None:
    lay_out_pictures(tmp_path)
    with opened(tmp_path, missing=("pose_landmark_full.tflite",)) as page:
        assert "pose_landmark_full.tflite did not arrive" in page.run("return pose.ready()")
        answer = page.run("return pose.suggest(await load(given.file), given.box)", MAN.job)
        assert answer["landmarks"] == {}
        assert "set by hand" in answer["problem"]
        assert page.run("return pose.ready({model: 'lite'})") == ""
        assert page.faults == []


def test_without_webgl_or_permission_it_says_why(tmp_path: Path) -> None:
    lay_out_pictures(tmp_path)
    with opened(tmp_path, flags=("--disable-3d-apis",)) as page:
        assert "WebGL" in page.run("return pose.available()")
        assert "WebGL" in page.run("return (await pose.suggest(await load(given.file))).problem", MAN.job)
    with opened(tmp_path, path="/plain") as page:
        assert "policy" in page.run("return pose.available()")
        assert page.faults == []
