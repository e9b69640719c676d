"""Masters and browser copies: every frame at its exact place, sound in step, whole files or none."""

from __future__ import annotations

import ctypes
import os
import subprocess
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from breakdowns.footage.media import child
from breakdowns.footage.media.browser_copy import make_browser_copy
from breakdowns.footage.media.errors import MediaFailed, MediaStopped
from breakdowns.footage.media.limits import presets
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.footage.media.master import make_constant_rate, master_frame_count
from breakdowns.footage.media.probe import probe
from breakdowns.footage.media.strip import make_strip
from tests.footage.media_files import (
    box,
    boxes,
    card,
    make,
    onset,
    real_clip,
    shown,
    sound,
    times,
    with_each_ffmpeg,
    words,
    write_at,
)
from tests.footage.test_media_probe import turned
from tests.numbered import write_numbered_clip

pytestmark = pytest.mark.media
NTSC = Fraction(30000, 1001)
H264 = ("-c:v", "libx264", "-preset", "ultrafast")


def reordered(path: Path, rate: Fraction, count: int = 40) -> Path:
    """A numbered clip with B-frames and open groups of pictures, and sound that begins apart from it."""
    plain = write_numbered_clip(
        path.with_name("plain.mp4"), rate=rate, frame_count=count, size=(192, 108), audio=True
    )
    return make(
        path, "-itsoffset", "0.35", "-i", plain, "-i", plain, "-map", "0:v", "-map", "1:a", "-fps_mode", "passthrough",
        "-c:v", "libx264", "-bf", "3", "-g", "12", "-x264-params", "open-gop=1", "-c:a", "aac",
    )  # fmt: skip


@with_each_ffmpeg
@pytest.mark.parametrize(
    ("rate", "suffix"),
    [(NTSC, ".mp4"), (NTSC, ".ts"), (Fraction(25), ".mkv"), (Fraction(50), ".ts"), (Fraction(60), ".mkv")],
    ids=str,
)
def test_frame_n_of_the_copy_is_frame_n_of_the_source(rate, suffix, tools, tmp_path):
    source = reordered(tmp_path / f"source{suffix}", rate)
    found = probe(source, tools)
    made = make_browser_copy(source, found, tmp_path / "copy.mp4", tools=tools)
    numbers = [number for _, number in shown(source)]
    assert shown(tmp_path / "copy.mp4") == [(n / rate, number) for n, number in enumerate(numbers)]
    assert (made.frame_count, made.rate, made.start_time, made.has_audio) == (len(numbers), rate, 0, True)
    assert len(numbers) == 40


@with_each_ffmpeg
def test_how_the_copy_is_written(tools, tmp_path):
    source = reordered(tmp_path / "source.mkv", NTSC)
    make_browser_copy(source, probe(source, tools), tmp_path / "copy.mp4", tools=tools)
    with av.open(str(tmp_path / "copy.mp4")) as container:
        video, audio = container.streams.video[0], container.streams.audio[0]
        assert (video.codec.canonical_name, video.pix_fmt, audio.codec.canonical_name) == (
            "h264",
            "yuv420p",
            "aac",
        )
        packets = [packet for packet in container.demux(video) if packet.size]
        assert all(packet.pts == packet.dts for packet in packets), "a frame waits for a later one"
        keys = [n for n, packet in enumerate(packets) if packet.is_keyframe]
        assert keys == list(range(0, len(packets), presets().copy_keyframe_every))
    assert not container.metadata.get("location")


def test_the_boxes_of_the_copy(tmp_path):
    """Read by hand: index in front, every frame equally long, no edit that shifts the picture.

    ISO/IEC 14496-12: stts 8.6.1.2, ctts 8.6.1.3, stss 8.6.2, elst 8.6.6, mdhd 8.4.2.
    """
    source = reordered(tmp_path / "source.mp4", NTSC)
    make_browser_copy(source, probe(source), tmp_path / "copy.mp4")
    data = (tmp_path / "copy.mp4").read_bytes()
    assert [kind for kind, _ in boxes(data)][:2] == ["ftyp", "moov"]
    track = next(content for kind, content in boxes(box(data, "moov") or b"") if kind == "trak")
    table = box(track, "mdia", "minf", "stbl") or b""
    (_, entries, count, length) = words(box(table, "stts") or b"")
    assert (entries, count) == (1, 40)
    timescale = words(box(track, "mdia", "mdhd") or b"")[3]
    assert Fraction(length, timescale) == 1 / NTSC
    assert box(table, "ctts") is None
    edits = box(track, "edts", "elst")
    assert edits is None or (words(edits)[1], words(edits)[3]) == (1, 0), "one edit that starts at 0"


@with_each_ffmpeg
def test_a_copy_is_small_upright_and_has_square_pixels(tools, tmp_path):
    source = turned(make(tmp_path / "clip.mp4", *card("0.12", "1920x1080"), "-vf", "setsar=4/3", *H264), 90)
    made = make_browser_copy(source, probe(source, tools), tmp_path / "copy.mp4", tools=tools)
    # Upright 1080 × 2560; the longer side comes down to 960, the other to 405, which is odd.
    assert (made.coded_width, made.coded_height) == (404, 960)
    assert (made.rotation, made.pixel_aspect, made.bit_depth, made.has_audio) == (0, 1, 8, False)


def test_upright_means_upright(tmp_path):
    """A white band at the stored top comes to the right after a quarter turn clockwise."""
    band = "color=black:s=64x32:r=25:d=0.12,drawbox=x=0:y=0:w=64:h=8:color=white:t=fill"
    source = turned(make(tmp_path / "clip.mp4", "-f", "lavfi", "-i", band, *H264), 90)
    make_browser_copy(source, probe(source), tmp_path / "copy.mp4")
    with av.open(str(tmp_path / "copy.mp4")) as container:
        picture = next(container.decode(video=0)).to_ndarray(format="gray")
    assert picture.shape == (64, 32)
    assert picture[:, -6:].mean() > 200
    assert picture[:, :20].mean() < 50


@with_each_ffmpeg
@pytest.mark.parametrize(
    "arguments",
    [
        ("-c:v", "libx265", "-x265-params", "log-level=none", "-pix_fmt", "yuv420p10le"),
        ("-c:v", "mjpeg", "-pix_fmt", "yuvj422p"),
        ("-c:v", "ffv1", "-pix_fmt", "bgra"),
        ("-c:v", "mpeg2video", "-flags", "+ildct+ilme", "-vf", "setfield=tff"),
        ("-frames:v", "1", *H264),
    ],
    ids=["ten bits", "full range", "with alpha", "interlaced", "one frame"],
)
def test_odd_pictures_are_taken(arguments, tools, tmp_path):
    source = make(tmp_path / "clip.mkv", *card("0.4", "66x50"), *arguments)
    found = probe(source, tools)
    made = make_browser_copy(source, found, tmp_path / "copy.mp4", tools=tools)
    assert (made.frame_count, made.rate, made.pixel_format) == (found.frame_count, found.rate, "yuv420p")


@pytest.mark.parametrize("clip", ["walkers", "street"])
def test_real_footage_frame_for_frame(clip, tmp_path):
    whole = real_clip(clip)
    source = make(tmp_path / f"part{whole.suffix}", "-i", whole, "-t", "10", "-c", "copy")
    found = probe(source)
    assert found.frame_count == 10 * found.rate
    make_browser_copy(source, found, tmp_path / "copy.mp4")
    assert times(tmp_path / "copy.mp4") == [n / found.rate for n in range(found.frame_count)]
    with av.open(str(source)) as first, av.open(str(tmp_path / "copy.mp4")) as second:
        pairs = zip(first.decode(video=0), second.decode(video=0), strict=True)
        for n, (a, b) in enumerate(pairs):
            if n % 50 == 7:
                small = [f.reformat(96, 54, "gray").to_ndarray().astype(float) for f in (a, b)]
                assert np.abs(small[0] - small[1]).mean() < 4, f"frame {n} shows another picture"


def test_variable_footage_needs_its_master_first(tmp_path):
    source = write_at(tmp_path / "clip.mkv", [0, 40, 80, 250, 290], Fraction(1, 1000))
    with pytest.raises(MediaFailed, match="master first"):
        make_browser_copy(source, probe(source), tmp_path / "copy.mp4")


def nearest(ticks: list[int], base: Fraction, rate: Fraction, count: int) -> list[int]:
    """Which source frame belongs at each even place: the last of those that round to it or before it."""
    places = [(tick - ticks[0]) * base * rate for tick in ticks]
    rounded = [(2 * p.numerator + p.denominator) // (2 * p.denominator) for p in places]
    return [max(n for n, place in enumerate(rounded) if place <= k) for k in range(count)]


PATTERNS = {
    "dropped": [n * 3000 for n in range(40) if n % 9 != 4],
    "phone": [n * 3000 + (n * n * 37 % 11 - 5) * 190 for n in range(1, 45) if n % 13 != 5],
    "slow start": [n * 6000 for n in range(10)] + [60000 + n * 3000 for n in range(25)],
    "late": [900000 + n * 3003 for n in range(30) if n not in (11, 12)],
    "bursts": [n // 3 * 9000 + n % 3 * 1200 for n in range(36)],
}


@with_each_ffmpeg
@pytest.mark.parametrize("name", PATTERNS)
@pytest.mark.parametrize("suffix", [".mp4", ".ts"])
def test_the_master_holds_the_nearest_frame_at_every_even_place(name, suffix, tools, tmp_path):
    ticks, base = PATTERNS[name], Fraction(1, 90000)
    source = write_at(tmp_path / f"clip{suffix}", ticks, base)
    found = probe(source, tools)
    assert found.is_variable_rate
    assert found.frame_count == len(ticks)
    made = make_constant_rate(source, found, tmp_path / "master.mp4", tools=tools)
    count = master_frame_count(found)
    assert (made.frame_count, made.rate, made.is_variable_rate, made.start_time) == (
        count,
        found.rate,
        False,
        0,
    )
    wanted = nearest(ticks, base, found.rate, count)
    assert shown(tmp_path / "master.mp4") == [(k / found.rate, n) for k, n in enumerate(wanted)]


def flash_and_tone(path: Path, *, shift: str, uneven: bool) -> Path:
    """Black that turns white at 1 s and a tone that sets in at 1 s; then the sound is shifted."""
    drop = ["-vf", "select='mod(n\\,7)'", "-fps_mode", "passthrough"] if uneven else []
    picture = "color=black:s=64x48:r=25:d=2,drawbox=color=white:t=fill:enable='gte(t,1)'"
    tone = "sine=frequency=1000:sample_rate=48000:duration=2,volume=0:enable='lt(t,1)'"
    apart = make(path.with_name("apart.mkv"), "-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", tone,
                 *drop, *H264, "-bf", "0", "-c:a", "pcm_s16le")  # fmt: skip
    return make(path, "-i", apart, "-itsoffset", shift, "-i", apart, "-map", "0:v", "-map", "1:a",
                "-c", "copy", "-copyts")  # fmt: skip


def white_from(path: Path) -> Fraction:
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            if frame.to_ndarray(format="gray").mean() > 128:
                return frame.pts * frame.time_base
    raise AssertionError("the picture never turns white")


@with_each_ffmpeg
@pytest.mark.parametrize("shift", ["0", "0.5", "-0.4"])
@pytest.mark.parametrize("uneven", [False, True], ids=["copy", "master"])
def test_sound_keeps_its_place_beside_the_picture(shift, uneven, tools, tmp_path):
    source = flash_and_tone(tmp_path / "source.mkv", shift=shift, uneven=uneven)
    found = probe(source, tools)
    assert found.is_variable_rate == uneven
    convert = make_constant_rate if uneven else make_browser_copy
    made = convert(source, found, tmp_path / "out.mp4", tools=tools)
    before = onset(source) - float(white_from(source))
    after = onset(tmp_path / "out.mp4") - float(white_from(tmp_path / "out.mp4"))
    # The picture itself can move by half a frame in a master; the sound by the AAC block's smear of a few ms.
    assert abs(after - before) < (0.02 if uneven else 0) + 0.008
    samples, rate = sound(tmp_path / "out.mp4")
    assert abs(len(samples) / rate - float(made.duration)) < 1024 / rate * 2


@with_each_ffmpeg
def test_a_broadcast_that_changes_from_two_channels_to_six(tools, tmp_path):
    """As a recording across a programme's border does; the tone sets in with the second part."""
    parts = []
    for n, (layout, volume) in enumerate((("stereo", 0), ("5.1", 1))):
        clip = write_numbered_clip(
            tmp_path / f"{n}.mp4", rate=Fraction(25), frame_count=25, size=(192, 108), first=25 * n
        )
        tone = f"sine=frequency=1000:sample_rate=48000:duration=1,volume={volume},pan={layout}|c0=c0|c1=c0"
        part = make(
            tmp_path / f"{n}.ts", "-i", clip, "-f", "lavfi", "-i", tone, "-c:v", "libx264", "-bf", "0", "-c:a", "ac3",
            "-output_ts_offset", str(n), "-muxdelay", "0",
        )  # fmt: skip
        parts.append(part.read_bytes())
    source = tmp_path / "source.ts"
    source.write_bytes(b"".join(parts))
    found = probe(source, tools)
    made = make_browser_copy(source, found, tmp_path / "copy.mp4", tools=tools)
    assert shown(tmp_path / "copy.mp4") == [(Fraction(n, 25), n) for n in range(50)]
    assert made.audio_channels == 2
    assert (
        abs(onset(tmp_path / "copy.mp4") - 1) < 0.04
    )  # the encoder's own delay at each border is 256 samples


@with_each_ffmpeg
def test_sound_that_can_not_be_read_leaves_a_silent_copy_and_says_so(tools, tmp_path):
    source = make(
        tmp_path / "clip.mkv", *card("0.4"), "-f", "lavfi", "-i", "sine=d=0.4", *H264, "-c:a", "flac"
    )
    found = probe(source, tools)
    data = bytearray(source.read_bytes())
    with av.open(str(source)) as container:
        for packet in container.demux(audio=0):
            if packet.size:
                place = data.index(bytes(packet))
                data[place : place + packet.size] = bytes(packet.size)
    source.write_bytes(data)
    made = make_browser_copy(source, found, tmp_path / "copy.mp4", tools=tools)
    assert (made.frame_count, made.has_audio) == (found.frame_count, False)
    assert "silent" in made.warnings[-1]


def test_private_tags_of_a_phone_are_not_passed_on(tmp_path):
    source = make(
        tmp_path / "clip.mov",
        *card(),
        *H264,
        "-metadata",
        "location=+48.2082+016.3738/",
        "-metadata",
        "title=x",
    )
    make_browser_copy(source, probe(source), tmp_path / "copy.mp4")
    assert b"+48.2082" in source.read_bytes()
    assert b"+48.2082" not in (tmp_path / "copy.mp4").read_bytes()


# ── whole files or none ─────────────────────────────────────────────────────────────────────────

LONG = ("8", "320x240")
MAKERS = [make_browser_copy, make_constant_rate]


@pytest.fixture
def long_clip(tmp_path) -> Path:
    """Long enough to be stopped on the way, noisy enough to fill a small disk."""
    noise = ["-vf", "noise=alls=60:allf=t"]
    return make(tmp_path / "long.mp4", *card(*LONG), *noise, *H264, "-crf", "40")


@with_each_ffmpeg
@pytest.mark.parametrize("maker", MAKERS)
def test_progress_rises_to_the_end(maker, tools, long_clip, tmp_path):
    told: list[tuple[int, int]] = []
    maker(long_clip, probe(long_clip), tmp_path / "out.mp4", tools=tools, progress=lambda *p: told.append(p))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (200, 200)


@with_each_ffmpeg
@pytest.mark.parametrize("maker", MAKERS)
@pytest.mark.parametrize("polls", [0, 3])
def test_a_stop_leaves_nothing_and_no_child(maker, polls, tools, long_clip, tmp_path, monkeypatch):
    started: list[subprocess.Popen] = []

    class Watched(subprocess.Popen):
        def __init__(self, *arguments, **named):
            super().__init__(*arguments, **named)
            started.append(self)

    found, asked = probe(long_clip), iter(range(10_000))
    (tmp_path / "there").mkdir()
    out = tmp_path / "there" / "out.mp4"
    out.write_bytes(b"what was there before")
    monkeypatch.setattr(child.subprocess, "Popen", Watched)
    with pytest.raises(MediaStopped):
        maker(long_clip, found, out, tools=tools, stopped=lambda: next(asked) >= polls)
    assert os.listdir(out.parent) == ["out.mp4"]
    assert out.read_bytes() == b"what was there before"
    assert started
    for process in started:
        assert process.returncode is not None
        with pytest.raises(ProcessLookupError):
            os.kill(process.pid, 0)


@pytest.mark.parametrize("maker", MAKERS)
def test_a_source_that_went_away(maker, long_clip, tmp_path):
    found = probe(long_clip)
    long_clip.unlink()
    with pytest.raises(MediaFailed, match=r"could not be converted"):
        maker(long_clip, found, tmp_path / "out.mp4")
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("maker", MAKERS)
def test_a_source_that_is_not_what_was_probed(maker, long_clip, tmp_path):
    """Never a copy whose frames are counted differently from what is stored."""
    found = probe(long_clip)
    make(long_clip, *card("2"), *H264)
    with pytest.raises(MediaFailed, match=r"came out with|could not be converted"):
        make_browser_copy(long_clip, found, tmp_path / "out.mp4")
    assert os.listdir(tmp_path) == ["long.mp4"]


def test_a_folder_that_is_not_there(long_clip, tmp_path):
    with pytest.raises(MediaFailed, match="can't be written"):
        make_browser_copy(long_clip, probe(long_clip), tmp_path / "nowhere" / "out.mp4")


@pytest.fixture
def small_disk(tmp_path) -> Iterator[Path]:
    """A disk of 256 kB, where this may be had."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if os.name != "posix" or os.geteuid() != 0:
        pytest.skip("a small disk can be mounted by root only")
    libc = ctypes.CDLL(None, use_errno=True)
    if not hasattr(libc, "mount") or libc.mount(b"tmpfs", bytes(folder), b"tmpfs", 0, b"size=256k"):
        pytest.skip("no small disk can be mounted here")
    yield folder
    assert libc.umount(bytes(folder)) == 0


@with_each_ffmpeg
@pytest.mark.parametrize("maker", MAKERS)
def test_a_full_disk_says_so_and_leaves_nothing(maker, tools, long_clip, small_disk):
    (small_disk / "out.mp4").write_bytes(b"before")
    with pytest.raises(MediaFailed, match="disk is full"):
        maker(long_clip, probe(long_clip), small_disk / "out.mp4", tools=tools)
    assert os.listdir(small_disk) == ["out.mp4"]
    assert (small_disk / "out.mp4").read_bytes() == b"before"


def test_a_disk_too_full_for_the_strip(long_clip, small_disk):
    (small_disk / "ballast").write_bytes(bytes(250_000))
    with pytest.raises(MediaFailed, match="disk is full"):
        make_strip(long_clip, probe(long_clip), small_disk / "strip.jpg")
    assert os.listdir(small_disk) == ["ballast"]


def test_an_ffmpeg_without_the_encoder_says_so(long_clip, tmp_path, monkeypatch):
    wrapper = tmp_path / "ffmpeg-poor"
    wrapper.write_text(
        f'#!/bin/sh\nfor a; do case "$a" in libx264) echo "Unknown encoder \'libx264\'" >&2; exit 1;; esac; done\n'
        f'exec {find_ffmpeg().ffmpeg} "$@"\n'
    )
    wrapper.chmod(0o755)
    monkeypatch.setenv("STANCEWRIGHT_FFMPEG", str(wrapper))
    with pytest.raises(MediaFailed, match=r"can't write H\.264"):
        make_browser_copy(long_clip, probe(long_clip), tmp_path / "out.mp4")
