"""Footage that can't be used is refused with a code and one sentence that says how to mend it."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from breakdowns.footage.media import decoded, guard, header
from breakdowns.footage.media import probe as probe_module
from breakdowns.footage.media.errors import MediaRefused, MediaStopped
from breakdowns.footage.media.limits import limits
from breakdowns.footage.media.probe import probe
from tests.footage.media_files import box, boxes, card, make, with_each_tool

pytestmark = pytest.mark.media
H264 = ("-c:v", "libx264", "-preset", "ultrafast")
MP4_FRONT = ("-movflags", "+faststart")


def refused(path: Path, tools) -> MediaRefused:
    with pytest.raises(MediaRefused) as caught:
        probe(path, tools)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert str(path.parent) not in sentence
    return caught.value


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


@with_each_tool
class TestNoVideo:
    def test_empty(self, tools, tmp_path):
        assert refused(written(tmp_path / "clip.mp4", b""), tools).code == "empty"

    def test_missing(self, tools, tmp_path):
        assert refused(tmp_path / "clip.mp4", tools).code == "missing"

    def test_a_folder(self, tools, tmp_path):
        assert refused(tmp_path, tools).code == "missing"

    def test_a_named_pipe_is_not_waited_for(self, tools, tmp_path):
        os.mkfifo(tmp_path / "clip.mp4")
        assert refused(tmp_path / "clip.mp4", tools).code == "missing"

    def test_text(self, tools, tmp_path):
        words = "Jump throw, view from the baseline.\n" * 200
        found = refused(written(tmp_path / "clip.mp4", words.encode()), tools)
        assert found.code == "not_video"
        assert "plain text" in str(found)

    def test_text_cut_inside_a_letter(self, tools, tmp_path):
        data = b"x" + "ü".encode() * 4000
        assert refused(written(tmp_path / "clip.mp4", data), tools).code == "not_video"

    @pytest.mark.parametrize("head", [b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"%PDF-1.7", b"PK\x03\x04"])
    def test_other_kinds_of_file(self, head, tools, tmp_path):
        assert refused(written(tmp_path / "clip.mp4", head + bytes(999)), tools).code == "not_video"

    def test_noise(self, tools, tmp_path):
        noise = bytes((n * n * 31 + n // 7) % 251 for n in range(9000))
        found = refused(written(tmp_path / "clip.mp4", noise), tools)
        assert found.code in ("unreadable", "unknown_container")

    def test_sound_only(self, tools, tmp_path):
        clip = make(tmp_path / "clip.mp4", "-f", "lavfi", "-i", "sine=d=0.3", "-c:a", "aac")
        found = refused(clip, tools)
        assert found.code == "no_picture"
        assert "sound only" in str(found)

    def test_sound_with_a_cover_is_sound_only(self, tools, tmp_path):
        cover = make(tmp_path / "cover.png", *card("0.04"), "-frames:v", "1")
        clip = make(
            tmp_path / "clip.m4a", "-f", "lavfi", "-i", "sine=d=0.3", "-i", cover,
            "-map", "0", "-map", "1", "-c:v", "copy", "-c:a", "aac", "-disposition:v", "attached_pic",
        )  # fmt: skip
        assert refused(clip, tools).code == "no_picture"


@with_each_tool
class TestCutOff:
    def test_mp4_without_its_index(self, tools, tmp_path):
        whole = make(tmp_path / "whole.mp4", *card("1"), *H264).read_bytes()
        clip = written(tmp_path / "clip.mp4", whole[: len(whole) * 2 // 3])
        found = refused(clip, tools)
        assert found.code == "cut_off"
        assert "moov" in str(found)

    def test_mp4_whose_index_is_cut(self, tools, tmp_path):
        whole = make(tmp_path / "whole.mp4", *card("1"), *H264, *MP4_FRONT).read_bytes()
        clip = written(tmp_path / "clip.mp4", whole[: whole.index(b"mdat") // 2])
        assert refused(clip, tools).code == "cut_off"

    def test_mp4_with_little_of_its_data(self, tools, tmp_path):
        whole = make(tmp_path / "whole.mp4", *card("2"), *H264, *MP4_FRONT, "-g", "5").read_bytes()
        start = whole.index(b"mdat")
        clip = written(tmp_path / "clip.mp4", whole[: start + (len(whole) - start) // 5])
        found = refused(clip, tools)
        assert found.code == "cut_off"
        assert "of 2.0 seconds can be read" in str(found)

    def test_mp4_with_most_of_its_data_is_taken_with_a_warning(self, tools, tmp_path):
        whole = make(tmp_path / "whole.mp4", *card("2"), *H264, *MP4_FRONT, "-g", "5").read_bytes()
        clip = written(tmp_path / "clip.mp4", whole[: len(whole) * 9 // 10])
        found = probe(clip, tools)
        assert 40 <= found.frame_count < 50
        assert "cut off" in found.warnings[0]
        assert "of 2.0 seconds" in found.warnings[0]

    @pytest.mark.parametrize(("name", "codec"), [("clip.avi", "mjpeg"), ("clip.mkv", "mpeg4")])
    def test_other_containers_too(self, name, codec, tools, tmp_path):
        whole = make(tmp_path / f"whole{name[4:]}", *card("2"), "-c:v", codec).read_bytes()
        assert probe(written(tmp_path / f"two{name}", whole), tools).warnings == ()
        found = probe(written(tmp_path / name, whole[: len(whole) * 8 // 10]), tools)
        assert 25 <= found.frame_count < 50
        assert "cut off" in found.warnings[0]


@with_each_tool
class TestTooMuch:
    def test_eight_k(self, tools, tmp_path):
        clip = make(tmp_path / "clip.mp4", *card("0.04", "7680x4320"), *H264)
        found = refused(clip, tools)
        assert found.code == "too_large"
        assert "7680 × 4320" in str(found)
        assert "3840 × 2160" in str(found)

    def test_an_eight_k_still_as_a_video(self, tools, tmp_path):
        clip = make(
            tmp_path / "clip.mkv", *card("0.04", "7680x4320"), "-frames:v", "1", "-c:v", "mjpeg", "-q:v", "31",
        )  # fmt: skip
        assert refused(clip, tools).code == "too_large"

    def test_a_picture_bomb(self, tools, tmp_path):
        bomb = ["-f", "lavfi", "-i", "color=black:s=9000x9000:d=0.04:r=25"]
        clip = make(tmp_path / "clip.mkv", *bomb, "-frames:v", "1", "-c:v", "png")
        assert refused(clip, tools).code == "too_large"

    def test_ultra_high_definition_is_taken(self, tools, tmp_path):
        clip = make(tmp_path / "clip.mp4", *card("0.04", "3840x2160"), *H264)
        found = probe(clip, tools)
        assert (found.display_width, found.display_height, found.frame_count) == (3840, 2160, 1)

    def test_too_many_streams(self, tools, tmp_path):
        maps = ["-map", "0:v", *["-map", "1:a"] * 30]
        clip = make(
            tmp_path / "clip.mkv", *card("0.2"), "-f", "lavfi", "-i", "sine=d=0.1", *maps, "-c:a", "pcm_s16le",
        )  # fmt: skip
        assert refused(clip, tools).code == "too_many_streams"

    def test_too_long_by_its_own_word(self, tools, tmp_path):
        hours = ["-f", "lavfi", "-i", f"color=black:s=16x16:r=1/600:d={limits().max_seconds + 3000}"]
        clip = make(tmp_path / "clip.mp4", *hours, *H264)
        found = refused(clip, tools)
        assert found.code == "too_long"
        assert "4 hours" in str(found)

    def test_too_long_against_its_word(self, tools, tmp_path, monkeypatch):
        """What a header says is not believed: the decoder's own count ends it."""
        low = replace(limits(), max_frames=20)
        monkeypatch.setattr(decoded, "limits", lambda: low)
        clip = make(tmp_path / "clip.mp4", *card("2"), *H264)
        assert refused(clip, tools).code == "too_long"

    def test_sparse_frames_that_would_fill_a_long_master(self, tools, tmp_path, monkeypatch):
        low = replace(limits(), max_frames=20)
        monkeypatch.setattr(probe_module, "limits", lambda: low)
        uneven = ["-vf", "setpts=(N+20*gt(N\\,3))/25/TB", "-fps_mode", "passthrough"]
        clip = make(tmp_path / "clip.mkv", *card("0.4"), *uneven, *H264)
        assert refused(clip, tools).code == "too_long"

    def test_too_slow(self, tools, tmp_path, monkeypatch):
        monkeypatch.setattr(decoded, "work_bounds", lambda *, writes: guard.Bounds(60, 0, 0, 2**32, 0))
        clip = make(tmp_path / "clip.mp4", *card(), *H264)
        assert refused(clip, tools).code == "too_slow"

    def test_a_header_that_takes_too_long(self, tools, tmp_path, monkeypatch):
        monkeypatch.setattr(header, "header_bounds", lambda: guard.Bounds(60, 0, 0, 2**32, 0))
        clip = make(tmp_path / "clip.mp4", *card(), *H264)
        assert refused(clip, tools).code == "too_slow"


@with_each_tool
class TestNoPicture:
    def test_no_size(self, tools, tmp_path):
        """A header that says 0 × 0: AVI stream format, BITMAPINFOHEADER (width and height at 4 and 8)."""
        data = bytearray(
            make(tmp_path / "whole.avi", *card(), "-c:v", "rawvideo", "-pix_fmt", "yuv420p").read_bytes()
        )
        place = data.index(b"strf") + 8
        assert int.from_bytes(data[place + 4 : place + 8], "little") == 64
        data[place + 4 : place + 12] = bytes(8)
        found = refused(written(tmp_path / "clip.avi", bytes(data)), tools)
        assert found.code in ("no_size", "no_frames")

    def test_no_frame_that_decodes(self, tools, tmp_path):
        data = bytearray(make(tmp_path / "whole.mp4", *card(), *H264, *MP4_FRONT).read_bytes())
        start = data.index(b"mdat") + 4
        data[start:] = bytes((7 * n) % 256 for n in range(len(data) - start))
        found = refused(written(tmp_path / "clip.mp4", bytes(data)), tools)
        assert found.code in ("no_frames", "unreadable")

    def test_no_frame_at_all(self, tools, tmp_path):
        """The index lists no sample: stsz count 0 and empty tables, ISO/IEC 14496-12, 8.7.3."""
        data = bytearray(make(tmp_path / "whole.mp4", *card("0.04"), *H264, *MP4_FRONT).read_bytes())
        for name, count_at in ((b"stsz", 12), (b"stts", 8), (b"stsc", 8), (b"stco", 8)):
            place = data.index(name) + count_at
            data[place : place + 4] = bytes(4)
        found = refused(written(tmp_path / "clip.mp4", bytes(data)), tools)
        assert found.code in ("no_frames", "unreadable", "no_picture")

    def test_a_picture_that_changes_its_size(self, tools, tmp_path):
        parts = [
            make(tmp_path / f"{size}.ts", *card("0.4", size), "-c:v", "mpeg2video").read_bytes()
            for size in ("64x48", "96x64")
        ]
        found = refused(written(tmp_path / "clip.ts", b"".join(parts)), tools)
        assert found.code == "changing_picture"
        assert "64 × 48" in str(found)


@with_each_tool
def test_a_stop_while_reading(tools, tmp_path):
    clip = make(tmp_path / "clip.mp4", *card("2"), *H264)
    with pytest.raises(MediaStopped):
        probe(clip, tools, stopped=lambda: True)


def test_the_box_reader_of_these_tests_reads_what_it_should(tmp_path):
    data = make(tmp_path / "clip.mp4", *card(), *H264, *MP4_FRONT).read_bytes()
    assert [kind for kind, _ in boxes(data)][:2] == ["ftyp", "moov"]
    assert box(data, "moov", "trak", "mdia", "minf", "stbl", "stsz") is not None
    assert box(data, "moov", "nope") is None
