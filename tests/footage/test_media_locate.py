"""Which ffmpeg is used, and what is said when there is none."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from breakdowns.footage.media.errors import MediaToolMissing
from breakdowns.footage.media.locate import VARIABLE, find_ffmpeg

pytestmark = pytest.mark.media


def script(path: Path, says: str) -> Path:
    path.write_text(f"#!/bin/sh\necho '{says}'\n")
    path.chmod(0o755)
    return path


@pytest.fixture
def no_ffmpeg(tmp_path, monkeypatch):
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    return monkeypatch


def test_the_variable_comes_first(tmp_path, monkeypatch):
    named = script(tmp_path / "ffmpeg-mine", "ffmpeg version 99.1-mine Copyright")
    beside = script(tmp_path / "ffprobe-mine", "ffprobe version 99.1-mine")
    monkeypatch.setenv(VARIABLE, str(named))
    tools = find_ffmpeg()
    assert (tools.ffmpeg, tools.ffprobe, tools.version) == (str(named), str(beside), "99.1-mine")


def test_then_the_search_path_with_ffprobe_from_the_same_folder_only(tmp_path, no_ffmpeg):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    found = script(tmp_path / "a" / "ffmpeg", "ffmpeg version 7.0 Copyright")
    script(tmp_path / "b" / "ffprobe", "ffprobe version 4.0")
    no_ffmpeg.setenv("PATH", f"{tmp_path}/a:{tmp_path}/b")
    tools = find_ffmpeg()
    assert (tools.ffmpeg, tools.ffprobe, tools.version) == (str(found), None, "7.0")


def test_then_the_packaged_one(no_ffmpeg):
    packaged = pytest.importorskip("imageio_ffmpeg")
    assert find_ffmpeg().ffmpeg == packaged.get_ffmpeg_exe()
    assert find_ffmpeg().ffprobe is None


def test_none_at_all_says_how_to_mend_it(no_ffmpeg):
    no_ffmpeg.setitem(sys.modules, "imageio_ffmpeg", None)
    no_ffmpeg.setenv("PATH", "/nowhere/at/all")
    with pytest.raises(MediaToolMissing, match=rf"No ffmpeg .*Install ffmpeg.*{VARIABLE}"):
        find_ffmpeg()


def test_a_variable_that_names_nothing_is_told(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(tmp_path / "missing"))
    with pytest.raises(MediaToolMissing, match=VARIABLE):
        find_ffmpeg()


def test_another_program_is_not_taken_for_ffmpeg(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(script(tmp_path / "other", "hello")))
    with pytest.raises(MediaToolMissing, match="does not answer as ffmpeg"):
        find_ffmpeg()
