"""Single frames and strips: exactly the frame that was asked for."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from breakdowns.footage.media import frames as frames_module
from breakdowns.footage.media.errors import MediaFailed, MediaRefused, MediaStopped
from breakdowns.footage.media.frames import extract_frame
from breakdowns.footage.media.probe import probe
from breakdowns.footage.media.strip import make_strip, strip_frames
from tests.footage.media_files import card, make, real_clip, shown, with_each_ffmpeg, write_at
from tests.footage.test_media_probe import turned
from tests.numbered import read_frame_number, write_numbered_clip

pytestmark = pytest.mark.media
NTSC = Fraction(30000, 1001)
OPEN = ("-c:v", "libx264", "-bf", "3", "-g", "20", "-x264-params", "open-gop=1")
H264 = ("-c:v", "libx264", "-preset", "ultrafast")

KINDS: dict[str, tuple[Fraction, tuple[str, ...]]] = {
    "29.97 open.mp4": (NTSC, OPEN),
    "29.97 open.ts": (NTSC, OPEN),
    "25 open.mkv": (Fraction(25), OPEN),
    "50 open.mp4": (Fraction(50), OPEN),
    "60 open.mkv": (Fraction(60), OPEN),
    "59.94 open.ts": (Fraction(60000, 1001), OPEN),
    "one keyframe.mp4": (Fraction(25), ("-c:v", "libx264", "-bf", "2", "-g", "9999")),
    "late start.mp4": (Fraction(25), (*OPEN, "-output_ts_offset", "7.3")),
    "late start.ts": (NTSC, (*OPEN, "-output_ts_offset", "7.3")),
    "hevc.mp4": (Fraction(25), ("-c:v", "libx265", "-x265-params", "log-level=none:keyint=20:open-gop=1")),
    "program.mpg": (Fraction(25), ("-c:v", "mpeg2video", "-bf", "2", "-g", "15", "-q:v", "2")),
    "reordered.avi": (Fraction(25), ("-c:v", "mpeg4", "-bf", "2", "-g", "15", "-q:v", "2")),
    "h264.avi": (Fraction(25), ("-c:v", "libx264", "-bf", "3", "-g", "20")),
    "motion.avi": (Fraction(25), ("-c:v", "mjpeg", "-q:v", "2")),
    "web.webm": (Fraction(30), ("-c:v", "libvpx", "-g", "20", "-b:v", "900k", "-auto-alt-ref", "1", "-lag-in-frames", "9")),
}  # fmt: skip
COUNT = 70


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> dict[str, Path]:
    folder, made = tmp_path_factory.mktemp("frames"), {}
    for name, (rate, arguments) in KINDS.items():
        plain = write_numbered_clip(folder / "plain.mp4", rate=rate, frame_count=COUNT, size=(192, 108))
        made[name] = make(folder / name, "-i", plain, "-fps_mode", "passthrough", *arguments)
    return made


def number(picture: Image.Image) -> int:
    return read_frame_number(np.asarray(picture))


@with_each_ffmpeg
@pytest.mark.parametrize("name", KINDS)
def test_the_frame_is_the_one_asked_for(name, tools, files):
    found = probe(files[name], tools)
    order = [carried for _, carried in shown(files[name])]
    assert found.frame_count == len(order) == COUNT
    for n in (0, 19, 20, 41, COUNT - 1):
        assert number(extract_frame(files[name], found, n, tools=tools)) == order[n] == n


def test_every_single_frame_through_a_seek(files, monkeypatch):
    """Each frame across two borders of open groups, with counting from the start forbidden."""

    def no_counting(*arguments, **named):
        raise AssertionError("counted from the start instead of seeking")

    monkeypatch.setattr(frames_module, "extract_in_one_pass", no_counting)
    path = files["29.97 open.ts"]
    found = probe(path)
    assert [number(extract_frame(path, found, n)) for n in range(16, 44)] == list(range(16, 44))


def test_a_stream_cut_inside_an_open_group(files, tmp_path):
    """The first pictures refer to some that are gone; numbering starts with what decodes."""
    data = files["29.97 open.ts"].read_bytes()
    packets = len(data) // 188  # ISO/IEC 13818-1: transport packets of 188 bytes
    cut = tmp_path / "cut.ts"
    cut.write_bytes(data[packets // 3 * 188 :])
    found = probe(cut)
    assert 20 < found.frame_count < COUNT
    first = number(extract_frame(cut, found, 0))
    assert first > 0
    for n in (1, 5, 12, found.frame_count - 1):
        assert number(extract_frame(cut, found, n)) == first + n


@with_each_ffmpeg
def test_variable_rate_is_counted(tools, tmp_path):
    ticks = [n * 3000 for n in range(40) if n % 9 != 4]
    path = write_at(tmp_path / "clip.mp4", ticks, Fraction(1, 90000))
    found = probe(path, tools)
    assert found.is_variable_rate
    assert [number(extract_frame(path, found, n, tools=tools)) for n in (0, 4, 20, len(ticks) - 1)] == [
        0, 4, 20, len(ticks) - 1,
    ]  # fmt: skip


def test_jittering_times_do_not_move_a_frame(tmp_path):
    ticks = [n * 3000 + (n * 7 % 5 - 2) * 330 for n in range(1, 60)]
    path = write_at(tmp_path / "clip.mkv", ticks, Fraction(1, 90000))
    found = probe(path)
    assert not found.is_variable_rate
    assert [number(extract_frame(path, found, n)) for n in range(0, 59, 4)] == list(range(0, 59, 4))


@pytest.mark.parametrize("clip", ["walkers", "street"])
def test_real_footage(clip):
    path = real_clip(clip)
    found = probe(path)
    wanted = {0, 1, found.frame_count // 2, found.frame_count - 1}
    with av.open(str(path)) as container:
        truth = {
            n: f.to_ndarray(format="rgb24") for n, f in enumerate(container.decode(video=0)) if n in wanted
        }
    for n in wanted:
        picture = np.asarray(extract_frame(path, found, n)).astype(float)
        assert np.abs(picture - truth[n]).mean() < 1.5, f"frame {n} shows another picture"


@pytest.mark.parametrize(
    ("degrees", "size"), [(0, (85, 32)), (90, (32, 85)), (180, (85, 32)), (270, (32, 85))]
)
def test_upright_with_square_pixels(degrees, size, tmp_path):
    band = "color=black:s=64x32:r=25:d=0.2,drawbox=x=0:y=0:w=64:h=8:color=white:t=fill,setsar=4/3"
    path = turned(make(tmp_path / "clip.mp4", "-f", "lavfi", "-i", band, *H264), degrees)
    picture = extract_frame(path, probe(path), 2)
    assert (picture.mode, picture.size) == ("RGB", size)
    grey = np.asarray(picture.convert("L"))
    side = {0: grey[:5], 90: grey[:, -5:], 180: grey[-5:], 270: grey[:, :5]}[degrees]
    assert side.mean() > 200
    assert grey.mean() < 100


def test_a_wanted_width_keeps_the_shape(tmp_path):
    path = make(tmp_path / "clip.mp4", *card("0.2", "320x180"), *H264)
    assert extract_frame(path, probe(path), 1, width=96).size == (96, 54)


@pytest.mark.parametrize("frame", [-1, 5, 10**9])
def test_a_frame_that_does_not_exist(frame, tmp_path):
    path = make(tmp_path / "clip.mp4", *card("0.2"), *H264)
    with pytest.raises(MediaRefused, match="frames 0 to 4") as refused:
        extract_frame(path, probe(path), frame)
    assert refused.value.code == "no_such_frame"


def test_a_file_that_went_away(tmp_path):
    path = make(tmp_path / "clip.mp4", *card("0.2"), *H264)
    found = probe(path)
    path.unlink()
    with pytest.raises(MediaFailed, match="could not be read"):
        extract_frame(path, found, 3)


def test_a_stop(tmp_path):
    path = make(tmp_path / "clip.mp4", *card("0.2"), *H264)
    with pytest.raises(MediaStopped):
        extract_frame(path, probe(path), 3, stopped=lambda: True)


# ── the strip ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("frames", "count"), [(1, 60), (59, 60), (60, 60), (61, 60), (100000, 60), (7, 3)])
def test_strip_frames_lie_evenly(frames, count):
    chosen = strip_frames(frames, count)
    assert len(chosen) == min(frames, count)
    assert len(set(chosen)) == len(chosen)
    assert 0 <= chosen[0] <= chosen[-1] < frames
    steps = {b - a for a, b in pairwise(chosen)}
    assert not steps or max(steps) - min(steps) <= 1


@with_each_ffmpeg
@pytest.mark.parametrize("way", ["one pass", "seeking"])
@pytest.mark.parametrize("suffix", [".jpg", ".webp"])
def test_each_still_of_the_strip_is_the_frame_it_says(way, suffix, tools, files, tmp_path):
    path = files["29.97 open.mp4"]
    # Seven stills of 70 frames: one pass. One still for every 50 frames or more is sought.
    count = 7 if way == "one pass" else 1
    strip = make_strip(
        path, probe(path, tools), tmp_path / f"strip{suffix}", count=count, height=108, tools=tools
    )
    assert (strip.width, strip.height, len(strip.frames)) == (192, 108, count)
    with Image.open(tmp_path / f"strip{suffix}") as sheet:
        assert sheet.size == (192 * count, 108)
        stills = [sheet.crop((192 * k, 0, 192 * (k + 1), 108)).convert("RGB") for k in range(count)]
    assert [number(still) for still in stills] == list(strip.frames)
    listing = json.loads((tmp_path / "strip.json").read_text())
    assert listing == {"width": 192, "height": 108, "frames": list(strip.frames)}


def test_a_strip_of_a_single_frame(tmp_path):
    path = make(tmp_path / "clip.mp4", *card("0.04"), *H264)
    assert make_strip(path, probe(path), tmp_path / "strip.jpg").frames == (0,)


def test_a_strip_of_variable_footage(tmp_path):
    ticks = [n * 3000 for n in range(40) if n % 9 != 4]
    path = write_at(tmp_path / "clip.mp4", ticks, Fraction(1, 90000))
    strip = make_strip(path, probe(path), tmp_path / "strip.webp", count=5, height=108)
    with Image.open(tmp_path / "strip.webp") as sheet:
        stills = [sheet.crop((192 * k, 0, 192 * (k + 1), 108)).convert("RGB") for k in range(5)]
    assert [number(still) for still in stills] == list(strip.frames)


@pytest.mark.parametrize(
    ("name", "count", "height"), [("s.gif", 5, 54), ("s.jpg", 0, 54), ("s.jpg", 5, 0), ("s.jpg", 5, 9000)]
)
def test_a_strip_that_can_not_be_is_said_at_once(name, count, height, tmp_path):
    path = make(tmp_path / "clip.mp4", *card(), *H264)
    with pytest.raises(ValueError, match=r"strip|stills"):
        make_strip(path, probe(path), tmp_path / name, count=count, height=height)


def test_a_stop_leaves_no_strip(tmp_path):
    path = make(tmp_path / "clip.mp4", *card(), *H264)
    found = probe(path)
    with pytest.raises(MediaStopped):
        make_strip(path, found, tmp_path / "strip.jpg", stopped=lambda: True)
    assert [entry.name for entry in tmp_path.iterdir()] == ["clip.mp4"]
