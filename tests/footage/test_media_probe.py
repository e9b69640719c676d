"""What a file is, exactly, whichever tools are there; held against independent readers."""

from __future__ import annotations

import json
import subprocess
from fractions import Fraction
from pathlib import Path

import av
import pytest

from breakdowns.footage.media.header import parse_banner
from breakdowns.footage.media.locate import Tools, find_ffmpeg
from breakdowns.footage.media.probe import Probe, bit_depth, probe
from tests.footage.media_files import WITH_FFPROBE, card, make, real_clip, times, with_each_tool, write_at
from tests.numbered import write_numbered_clip

pytestmark = pytest.mark.media
NTSC = Fraction(30000, 1001)
H264 = ("-c:v", "libx264", "-preset", "ultrafast")
TONE = ("-f", "lavfi", "-i", "sine=d=0.4:sample_rate=48000")

# name → (arguments after the card, frames a second). Small files of many kinds.
KINDS: dict[str, tuple[tuple[str, ...], str]] = {
    "plain.mp4": (H264, "25"),
    "reordered.mp4": (("-c:v", "libx264", "-bf", "3", "-g", "8"), "30000/1001"),
    "open.ts": (("-c:v", "libx264", "-bf", "3", "-g", "6", "-x264-params", "open-gop=1"), "60000/1001"),
    "milliseconds.mkv": (H264, "60000/1001"),
    "sound.mov": ((*TONE, *H264, "-c:a", "aac", "-ac", "2"), "50"),
    "surround.mkv": ((*TONE, *H264, "-c:a", "ac3", "-af", "pan=5.1|c0=c0|c1=c0"), "24"),
    "ten.mp4": (("-c:v", "libx265", "-x265-params", "log-level=none", "-pix_fmt", "yuv420p10le"), "24000/1001"),
    "program.mpg": (("-c:v", "mpeg2video", "-bf", "2"), "25"),
    "motion.avi": (("-c:v", "mjpeg"), "10"),
    "web.webm": (("-c:v", "libvpx", "-b:v", "200k", *TONE[:0]), "30"),
    "wide.mp4": ((*H264, "-vf", "setsar=16/11"), "25"),
    "fields.ts": (("-c:v", "mpeg2video", "-flags", "+ildct+ilme", "-vf", "setfield=tff"), "25"),
}  # fmt: skip


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("kinds")
    return {
        name: make(folder / name, *card("0.4", "64x48", rate), *arguments)
        for name, (arguments, rate) in KINDS.items()
    }


@with_each_tool
@pytest.mark.parametrize("name", KINDS)
def test_frames_rate_and_shape_agree_with_an_independent_reader(name, tools, files):
    found, shown = probe(files[name], tools), times(files[name])
    rate = Fraction(KINDS[name][1])
    assert (found.rate, found.is_variable_rate) == (rate, False)
    assert found.frame_count == len(shown)
    assert found.duration == found.frame_count / rate
    tick = found.time_base
    assert abs(found.start_time - shown[0]) <= tick
    assert all(abs(found.grid_start + n / rate - moment) <= tick for n, moment in enumerate(shown))
    with av.open(str(files[name])) as container:
        stream = container.streams.video[0]
        frame = next(container.decode(stream))
        assert (found.coded_width, found.coded_height) == (frame.width, frame.height)
        assert (found.video_codec, found.pixel_format) == (stream.codec.canonical_name, frame.format.name)
        assert found.bit_depth == frame.format.components[0].bits
        assert found.pixel_aspect == (stream.sample_aspect_ratio or 1)
        assert found.is_interlaced == frame.interlaced_frame
        sounds = container.streams.audio
        assert found.has_audio == bool(sounds)
        if sounds:
            assert (found.audio_channels, found.audio_sample_rate) == (sounds[0].channels, sounds[0].rate)
            assert (found.audio_codec, found.audio_stream) == (
                sounds[0].codec.canonical_name,
                sounds[0].index,
            )


@pytest.mark.parametrize("name", KINDS)
def test_with_and_without_ffprobe_the_answer_is_the_same(name, files):
    if not WITH_FFPROBE:
        pytest.skip("no ffprobe beside ffmpeg on this machine")
    alone = type(WITH_FFPROBE)(WITH_FFPROBE.ffmpeg, None, WITH_FFPROBE.version)
    assert probe(files[name], WITH_FFPROBE) == probe(files[name], alone)


@pytest.mark.parametrize("name", KINDS)
def test_what_is_stored_reads_back_the_same(name, files):
    found = probe(files[name])
    assert Probe.from_json(json.loads(json.dumps(found.to_json()))) == found


@with_each_tool
@pytest.mark.parametrize(
    ("clip", "count", "rate", "size"),
    [("walkers", 795, Fraction(10), (768, 576)), ("street", 250, Fraction(25), (640, 272))],
)
def test_real_footage(clip, count, rate, size, tools):
    path = real_clip(clip)
    found = probe(path, tools)
    assert (found.frame_count, found.rate, found.is_variable_rate) == (count, rate, False)
    assert (found.display_width, found.display_height) == size
    assert found.duration == count / rate
    assert found.warnings == ()


@pytest.mark.parametrize("clip", ["walkers", "street"])
def test_real_footage_counted_by_ffprobe_itself(clip):
    if not WITH_FFPROBE:
        pytest.skip("no ffprobe beside ffmpeg on this machine")
    path = real_clip(clip)
    asked = [
        "-v",
        "error",
        "-count_frames",
        "-select_streams",
        "v:0",
        "-show_entries",
        "stream=nb_read_frames",
    ]
    told = subprocess.run(
        [WITH_FFPROBE.ffprobe, *asked, "-of", "csv=p=0", path], capture_output=True, text=True
    )
    assert probe(path).frame_count == int(told.stdout.strip().strip(","))


@with_each_tool
def test_one_frame(tools, tmp_path):
    clip = make(tmp_path / "clip.mp4", *card("0.04"), "-frames:v", "1", *H264)
    found = probe(clip, tools)
    assert (found.frame_count, found.rate, found.is_variable_rate) == (1, 25, False)
    assert found.duration == Fraction(1, 25)


# The matrix of tkhd by clockwise degrees: ISO/IEC 14496-12, 8.3.2 (a b u c d v x y w, 16.16 and 2.30).
_ONE, _MINUS, _W = 0x00010000, 0xFFFF0000, 0x40000000
MATRIX = {
    0: (_ONE, 0, 0, 0, _ONE, 0, 0, 0, _W),
    90: (0, _ONE, 0, _MINUS, 0, 0, 0, 0, _W),
    180: (_MINUS, 0, 0, 0, _MINUS, 0, 0, 0, _W),
    270: (0, _MINUS, 0, _ONE, 0, 0, 0, 0, _W),
}


def turned(path: Path, degrees: int) -> Path:
    """``path`` with the display matrix of a phone held another way, written by hand."""
    data = bytearray(path.read_bytes())
    place = data.index(b"tkhd") + 4 + 40  # version 0: the matrix stands 40 bytes into the box's content
    data[place : place + 36] = b"".join(value.to_bytes(4, "big") for value in MATRIX[degrees])
    out = path.with_name(f"turned{degrees}{path.suffix}")
    out.write_bytes(data)
    return out


@with_each_tool
@pytest.mark.parametrize("degrees", [0, 90, 180, 270])
def test_a_phone_held_any_way(degrees, tools, tmp_path):
    clip = turned(make(tmp_path / "clip.mp4", *card("0.12", "64x32"), "-vf", "setsar=4/3", *H264), degrees)
    found = probe(clip, tools)
    assert found.rotation == degrees
    assert (found.coded_width, found.coded_height, found.pixel_aspect) == (64, 32, Fraction(4, 3))
    upright = (85, 32) if degrees in (0, 180) else (32, 85)
    assert (found.display_width, found.display_height) == upright


@pytest.mark.parametrize(
    ("shape", "display", "told"),
    [("2/1", (128, 48), False), ("1/2", (64, 96), False), ("1/90", (64, 48), True), ("90/1", (64, 48), True)],
)
def test_pixels_that_are_not_square(shape, display, told, tmp_path):
    clip = make(tmp_path / "clip.mkv", *card("0.12"), "-vf", f"setsar={shape}:max=1000", *H264)
    found = probe(clip)
    assert (found.display_width, found.display_height) == display
    assert any("pixel shape" in warning for warning in found.warnings) == told


@with_each_tool
def test_variable_rate_is_seen_and_given_a_standard_rate(tools, tmp_path):
    ticks = [n * 3000 for n in range(40) if n % 9 != 4]
    found = probe(write_at(tmp_path / "clip.mp4", ticks, Fraction(1, 90000)), tools)
    assert (found.is_variable_rate, found.rate) == (True, 30)
    assert found.frame_count == len(ticks)
    assert found.duration == Fraction(ticks[-1], 90000) + Fraction(1, 30)
    assert found.grid_deviation > Fraction(1, 120)


@with_each_tool
def test_jitter_of_a_few_milliseconds_is_an_even_rate(tools, tmp_path):
    ticks = [n * 3000 + (n * 7 % 5 - 2) * 300 for n in range(1, 40)]
    found = probe(write_at(tmp_path / "clip.mp4", ticks, Fraction(1, 90000)), tools)
    assert (found.is_variable_rate, found.rate) == (False, 30)
    assert Fraction(1, 1000) < found.grid_deviation <= Fraction(1, 120)


@with_each_tool
def test_footage_that_does_not_start_at_zero(tools, tmp_path):
    ticks = [n * 3003 + 450000 for n in range(20)]
    found = probe(write_at(tmp_path / "clip.mp4", ticks, Fraction(1, 90000)), tools)
    assert (found.rate, found.is_variable_rate, found.frame_count) == (NTSC, False, 20)
    assert (found.start_time, found.grid_start) == (5, 5)


@with_each_tool
def test_damage_inside_is_told_but_counted_through(tools, tmp_path):
    data = bytearray(make(tmp_path / "whole.mp4", *card("2", "128x96"), *H264, "-g", "10").read_bytes())
    start = data.index(b"mdat") + 4
    for place in range(start + 6000, start + 6400):
        data[place] ^= 0x5A
    clip = tmp_path / "clip.mp4"
    clip.write_bytes(data)
    found = probe(clip, tools)
    assert 30 <= found.frame_count <= 50
    assert any("damaged" in warning for warning in found.warnings)


def test_progress_is_told_and_never_passes_its_total(tmp_path):
    clip = write_numbered_clip(tmp_path / "clip.mp4", rate=NTSC, frame_count=120, size=(96, 54))
    told: list[tuple[int, int]] = []
    probe(clip, progress=lambda done, total: told.append((done, total)))
    assert [done for done, _ in told] == sorted({done for done, _ in told})
    assert told
    assert all(0 < done <= total for done, total in told)


def test_times_that_come_before_their_clock(tmp_path):
    """The two pipes of ffmpeg run apart: here everything it says is held back until the times are out."""
    slow = tmp_path / "slow-ffmpeg"
    slow.write_text(f'#!/bin/bash\n{find_ffmpeg().ffmpeg} "$@" 2> >(sleep 0.5; exec cat >&2)\n')
    slow.chmod(0o755)
    clip = write_at(tmp_path / "clip.mp4", [n * 3003 for n in range(20)], Fraction(1, 90000))
    found = probe(clip, Tools(str(slow), None, "slow"))
    assert (found.rate, found.frame_count, found.time_base) == (NTSC, 20, Fraction(1, 90000))


def test_tags_cannot_pass_for_streams():
    """Anybody can write tags; they stand further in than the lines that are believed."""
    header = parse_banner(
        [
            "Input #0, mov,mp4,m4a,3gp,3g2,mj2, from 'file:/x.mp4':",
            "  Metadata:",
            "    Stream #0:7(eng): Video: h264 (High), yuv420p, 9999x9999, 25 fps",
            "      Display Matrix: rotation of 90.00 degrees",
            "  Duration: 01:02:03.45, start: 0.000000, bitrate: 400 kb/s",
            "  Stream #0:0[0x1](und): Video: h264 (High) (avc1 / 0x31637661), yuv420p, 320x240, 25 fps (default)",
            "    Side data:",
            "      displaymatrix: rotation of -90.00 degrees",
            "  Stream #0:1[0x2](und): Audio: aac (LC) (mp4a / 0x6134706D), 48000 Hz, 5.1(side), fltp, 70 kb/s",
        ]
    )
    assert header is not None
    assert [(s.index, s.kind, s.codec) for s in header.streams] == [(0, "video", "h264"), (1, "audio", "aac")]
    assert header.seconds == Fraction("3723.45")
    assert header.video is not None
    assert header.video.rotation == 90
    assert header.audio is not None
    assert (header.audio.channels, header.audio.sample_rate) == (6, 48000)


@with_each_tool
def test_tags_cannot_pass_for_what_the_decoder_says(tools, tmp_path):
    """Tags that read like the decoder's own lines, about the frames, their clock and their damage."""
    lies = [
        "config in time_base: 1/7, frame_rate: 7/1",
        "n: 0 pts: 0 pts_time:0 fmt:gray sar:5/1 s:9x9 i:T iskey:1 type:B ",
        "concealing 99 errors; partial file",
        "x\n[Parsed_showinfo_0 @ 0x1] n: 0 pts: 0 pts_time:0 fmt:gray sar:5/1 s:9x9 i:T iskey:1 type:B ",
        "x\nStream mapping:\nframe:0 pts:77 pts_time:1",
    ]
    tags = [part for n, lie in enumerate(lies) for part in ("-metadata", f"tag{n}={lie}")]
    plain = probe(make(tmp_path / "plain.mkv", *card(), *H264), tools)
    found = probe(
        make(tmp_path / "clip.mkv", *card(), *H264, *tags, "-metadata:s:v", f"title={lies[1]}"), tools
    )
    assert found.to_json() == {**plain.to_json(), "byte_size": found.byte_size}
    assert found.warnings == ()


@pytest.mark.parametrize(
    "name",
    ["yuv420p", "yuv420p10le", "yuv422p12be", "yuvj420p", "nv12", "p010le", "p216be", "gray", "gray16le", "gray10le",
     "rgb24", "rgb48le", "rgba64be", "gbrp", "gbrp14le", "gbrap10le", "x2rgb10le", "ya8", "yuva444p16le"],
)  # fmt: skip
def test_bit_depth_by_name_agrees_with_the_format_itself(name):
    assert bit_depth(name) == av.VideoFormat(name).components[0].bits
