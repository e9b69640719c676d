"""The files beside a video: all of them, complete, readable, and nothing left over."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pysubs2
import pytest
import webvtt

from breakdowns.assembly.beside import write_all
from breakdowns.assembly.captions import CaptionError
from breakdowns.assembly.piece import CameraPicture, PieceBeat
from breakdowns.footage.timebase import TimeError

from .invented import jump_throw


def test_every_file_stands_beside_the_video_and_opens(tmp_path):
    piece = jump_throw()
    paths = write_all(piece, tmp_path / "jump.throw.mp4", summary="Short.", cautions=["Care."])
    assert [path.name for path in paths] == [
        "jump.throw.vtt",
        "jump.throw.srt",
        "jump.throw.chapters.vtt",
        "jump.throw.otio",
        "jump.throw.edl",
        "jump.throw.md",
    ]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(path.name for path in paths)
    vtt, srt, chapters, timeline, edl, notes = paths
    assert len(webvtt.read(str(vtt))) == len(pysubs2.load(str(srt)))
    assert len(webvtt.read(str(chapters))) == 5
    assert otio.adapters.read_from_file(str(timeline)).duration().value == piece.timeline.frame_count
    assert edl.read_bytes().endswith(b"\r\n")
    assert notes.read_text("utf-8").startswith("# Jump throw of number 9\n\nShort.\n")


def test_no_file_is_written_where_one_cannot_be_made(tmp_path):
    with pytest.raises(TimeError, match="two digits"):
        write_all(replace(jump_throw(), rate=Fraction(120)), tmp_path / "x.mp4")
    with pytest.raises(CaptionError):
        write_all(jump_throw(), tmp_path / "x.mp4", profile="loud")
    assert list(tmp_path.iterdir()) == []


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path, monkeypatch):
    out = tmp_path / "x.mp4"
    write_all(jump_throw(), out)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    def full_disk(self: Path, target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full_disk)
    with pytest.raises(OSError, match="No space"):
        write_all(replace(jump_throw(), title="Changed"), out)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_long_edit_list_goes_on_in_parts(tmp_path):
    beats = tuple(PieceBeat(f"b{n}", CameraPicture(Fraction(1, 5))) for n in range(1200))
    paths = write_all(replace(jump_throw(), beats=beats), tmp_path / "x.mp4")
    assert [path.name for path in paths][4:] == ["x.edl", "x.part2.edl", "x.md"]


def test_the_same_piece_is_written_the_same_way_again(tmp_path):
    first = {path.name: path.read_bytes() for path in write_all(jump_throw(), tmp_path / "x.mp4")}
    again = {path.name: path.read_bytes() for path in write_all(jump_throw(), tmp_path / "x.mp4")}
    assert first == again
