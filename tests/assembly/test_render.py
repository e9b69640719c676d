"""Rendering real footage: every frame of the finished file is read back and must carry its number."""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from breakdowns.assembly import segments
from breakdowns.assembly.cache import open_workshop, trim_cache
from breakdowns.assembly.encoder import EncoderSettings
from breakdowns.assembly.mp4_boxes import NotWhole, read_track
from breakdowns.assembly.picture_filters import RUN_UPS
from breakdowns.assembly.piece import CameraPicture, ExcerptPicture, Piece, PlatePicture, StillPicture
from breakdowns.assembly.render import RenderFailed, RenderStopped
from tests.assembly.rendering import (
    FAST,
    KINDS,
    NTSC,
    expected_numbers,
    footage,
    heard,
    numbers,
    piece_of,
    rendered,
    seen,
    source_of,
)

pytestmark = pytest.mark.media

HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)
WITH_B_FRAMES = EncoderSettings("veryfast", "high", 23, 1, 250, 96)


def assert_exact(piece: Piece, path: Path) -> None:
    """Count, times and identity of every frame."""
    found = seen(path)
    count = piece.timeline.frame_count
    assert found.stream["frames"] == count
    assert found.seconds == [n / piece.rate for n in range(count)]
    assert found.stream["rate"] == piece.rate
    assert found.stream["duration"] == count / piece.rate
    assert numbers(found.pictures) == expected_numbers(piece)


@pytest.mark.parametrize("rate", [Fraction(30), Fraction(25), NTSC], ids=str)
@pytest.mark.parametrize("source_rate", [Fraction(25), NTSC, Fraction(60)], ids=str)
def test_every_output_frame_shows_its_source_frame(tmp_path, source_rate, rate):
    source = footage(source_rate)
    piece = piece_of(
        ExcerptPicture(source, 40, 62, HALF, Fraction(2, 5)),
        ExcerptPicture(source, 60, 75, QUARTER),
        ExcerptPicture(source, 5, 41, Fraction(2), Fraction(1, 5), mirrored=True),
        StillPicture(source, 99, Fraction(1, 3)),
        StillPicture(source, 0, Fraction(1, 5), mirrored=True),
        ExcerptPicture(source, 97, 120),
        ExcerptPicture(source, 119, 120, hold=Fraction(1, 4)),
        rate=rate,
    )
    report = rendered(piece, tmp_path)
    assert report.frame_count == piece.timeline.frame_count
    assert report.seconds == piece.timeline.seconds
    assert_exact(piece, tmp_path / "out.mp4")


@pytest.mark.parametrize("way", ["near the cut", "counted"])
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "plain"])
def test_files_that_are_hard_to_enter_are_cut_exactly(tmp_path, monkeypatch, kind, way):
    """B-frames over one long group, open groups, times that start late or are rounded, no times at all.

    The first way of entering does it for all of them, and so does the last.
    """
    monkeypatch.setattr(
        segments, "RUN_UPS", RUN_UPS[-1:] if way == "counted" or kind == "avi" else RUN_UPS[:1]
    )
    source = footage(NTSC, kind)
    piece = piece_of(
        ExcerptPicture(source, 0, 7),
        ExcerptPicture(source, 61, 73, HALF, Fraction(1, 5)),
        StillPicture(source, 118, Fraction(1, 5)),
        ExcerptPicture(source, 108, 120),
        rate=NTSC,
    )
    rendered(piece, tmp_path)
    assert_exact(piece, tmp_path / "out.mp4")


def test_sixty_beats_with_b_frames_join_without_drift(tmp_path):
    """Among them beats of one frame only, at a rate that no millisecond divides."""
    source = footage(NTSC)
    # Lengths of 1, 4 and 7 frames are each a third of a microsecond off when written in microseconds.
    lengths = [1, 1, 2, 3, 1, 9, *(1 + 3 * (n % 3) for n in range(54))]
    cuts = [ExcerptPicture(source, n % 60, n % 60 + length) for n, length in enumerate(lengths)]
    piece = piece_of(*cuts, rate=NTSC)
    report = rendered(piece, tmp_path, settings=WITH_B_FRAMES)
    assert len(report.beats) == 60
    assert_exact(piece, tmp_path / "out.mp4")
    kept = [read_track(path) for path in (tmp_path / "cache").glob("*.mp4")]
    assert len({track.configuration for track in kept}) == 1  # same SPS and PPS: one avcC serves all
    assert abs(len(heard(tmp_path / "out.mp4")) - piece.timeline.seconds * 48000) <= 1024


def test_the_file_is_tagged_and_opens_at_once(tmp_path):
    piece = piece_of(ExcerptPicture(footage(), 0, 8), PlatePicture("title", "T", "", HALF), language="de-AT")
    rendered(piece, tmp_path, settings=replace(FAST, preset="superfast"))
    found = seen(tmp_path / "out.mp4").stream
    assert (found["codec"], found["profile"], found["pixels"]) == ("h264", "High", "yuv420p")
    assert found["colour"] == (1, 1, 1, 1)  # ITU-T H.273: 1 is BT.709 in all three; FFmpeg: 1 is video range
    assert found["streams"] == ["video", "audio"]
    assert found["metadata"]["title"] == "A test piece"
    boxes = (tmp_path / "out.mp4").read_bytes()
    assert boxes.index(b"moov") < boxes.index(b"mdat")


@pytest.mark.parametrize(
    ("source_size", "aspect", "output", "box"),
    [
        ((320, 180), Fraction(1), (180, 320), (0, 110, 180, 210)),
        ((320, 180), Fraction(1), (180, 180), (0, 40, 180, 140)),
        ((320, 180), Fraction(3, 4), (320, 180), (40, 0, 280, 180)),
        ((180, 240), Fraction(1), (320, 180), (92, 0, 226, 180)),
    ],
)
def test_fit_shows_the_whole_picture_on_the_house_ground(tmp_path, source_size, aspect, output, box):
    path = tmp_path / "white.mp4"
    colour = f"color=white:s={source_size[0]}x{source_size[1]}:r=30:d=0.2"
    subprocess.run(
        ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", colour, "-pix_fmt", "yuv420p", path], check=True
    )
    source = source_of(path, Fraction(30), 6, size=source_size, pixel_aspect=aspect)
    rendered(piece_of(StillPicture(source, 2, QUARTER), width=output[0], height=output[1]), tmp_path)
    picture = seen(tmp_path / "out.mp4").pictures[0].astype(int)
    white = np.argwhere(picture.min(axis=2) > 200)
    top, left = white.min(axis=0)
    bottom, right = white.max(axis=0) + 1
    assert np.abs(np.subtract((left, top, right, bottom), box)).max() <= 2
    outside = np.ones(picture.shape[:2], bool)
    outside[max(0, top - 3) : bottom + 3, max(0, left - 3) : right + 3] = False
    assert np.abs(picture[outside] - (0x26, 0x29, 0x2A)).max() <= 4


def test_fill_crops_at_the_focus_as_shown(tmp_path):
    """Left half red, right half blue; the focus on the left shows red, mirrored blue."""
    path = tmp_path / "halves.mp4"
    graph = "color=red:s=160x180:r=30:d=0.2[a];color=blue:s=160x180:r=30:d=0.2[b];[a][b]hstack"
    subprocess.run(
        ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", graph, "-pix_fmt", "yuv420p", path], check=True
    )
    source = source_of(path, Fraction(30), 6)
    left = (Fraction(0), HALF)
    piece = piece_of(
        StillPicture(source, 1, QUARTER),
        StillPicture(source, 1, QUARTER, mirrored=True),
        StillPicture(source, 1, QUARTER, focus=(Fraction(1), HALF)),
        width=72, height=128, fill="fill", focus=left,
    )  # fmt: skip
    rendered(piece, tmp_path)
    pictures = seen(tmp_path / "out.mp4").pictures
    shown = ["RGB"[pictures[n].mean(axis=(0, 1)).argmax()] for n in (2, 10, 18)]
    assert shown == ["R", "B", "B"]


def test_colours_survive_whatever_matrix_the_source_has(tmp_path):
    """The same red, coded as BT.601, BT.709 and at full range, comes out the same (ITU-R BT.601-7, BT.709-6)."""
    pictures = []
    codings = [("bt601", "smpte170m", "tv"), ("bt709", "bt709", "tv"), ("bt601", "smpte170m", "pc")]
    for matrix, name, span in codings:
        path = tmp_path / f"{matrix}-{span}.mp4"
        colours = f"scale=out_color_matrix={matrix}:out_range={span},format=yuv420p"
        graph = f"color=0xc03020:s=320x180:r=30:d=0.2,{colours}"
        tags = ["-colorspace", name, "-color_range", span, "-crf", "4"]
        subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i", graph, *tags, path], check=True)
        pictures.append(StillPicture(source_of(path, Fraction(30), 6), 1, QUARTER))
    rendered(piece_of(*pictures), tmp_path)
    found = seen(tmp_path / "out.mp4")
    with_709 = [_rgb_of(tmp_path / "out.mp4", n) for n in (2, 10, 18)]
    assert len(found.pictures) == 24
    for colour in with_709:
        assert np.abs(colour - (0xC0, 0x30, 0x20)).max() <= 6


def _rgb_of(path: Path, frame: int) -> np.ndarray:
    """Mean colour of a frame, turned to RGB by the matrix that the file names."""
    graph = f"select=eq(n\\,{frame}),scale=in_color_matrix=bt709:in_range=tv,format=rgb24"
    command = ["ffmpeg", "-v", "error", "-i", path, "-vf", graph, "-frames:v", "1", "-f", "rawvideo", "-"]
    data = subprocess.run(command, capture_output=True, check=True).stdout
    return np.frombuffer(data, np.uint8).reshape(-1, 3).mean(axis=0)


def drawing(path: Path, colour: str, size=(320, 180)) -> str:
    image = Image.new("RGBA", size, (0, 0, 0, 0))
    ImageDraw.Draw(image).rectangle((0, 0, size[0] // 4, size[1] // 4), fill=colour)
    image.save(path)
    return str(path)


def test_a_drawing_lies_over_what_stands_only(tmp_path):
    source, red = footage(), drawing(tmp_path / "red.png", "#ff0000")
    piece = piece_of(
        ExcerptPicture(source, 0, 10, hold=HALF, overlay=red), StillPicture(source, 50, HALF, overlay=red)
    )
    rendered(piece, tmp_path)
    assert_exact(piece, tmp_path / "out.mp4")  # the numbers along the bottom are not covered
    corners = [picture[5:35, 5:60].mean(axis=(0, 1)) for picture in seen(tmp_path / "out.mp4").pictures]
    marked = [bool(corner[0] > 200 and corner[1] < 60) for corner in corners]
    assert marked == [False] * 10 + [True] * 30


# ── the cache ───────────────────────────────────────────────────────────────────────────────────


def test_only_what_changed_is_made_again(tmp_path):
    source, red = footage(), drawing(tmp_path / "o.png", "#ff0000")
    excerpt = ExcerptPicture(source, 10, 20, hold=QUARTER, overlay=red)
    plate = PlatePicture("text", "Heading", "Words", HALF)
    first = piece_of(excerpt, plate, StillPicture(source, 5, HALF))
    assert rendered(first, tmp_path).cached_count == 0
    again = rendered(first, tmp_path)
    assert again.cached_count == 3
    assert again.sound_was_cached

    def cached(*pictures, **more) -> list[bool]:
        return [beat.was_cached for beat in rendered(piece_of(*pictures, **more), tmp_path).beats]

    still = StillPicture(source, 5, HALF)
    assert cached(still, plate, excerpt) == [True, True, True]
    assert cached(replace(excerpt, in_frame=11), plate, still) == [False, True, True]
    assert cached(replace(excerpt, name="other", original_sound=True), plate, still) == [True, True, True]
    assert cached(excerpt, replace(plate, text="Word"), still) == [True, False, True]
    assert cached(excerpt, plate, replace(still, mirrored=True)) == [True, True, False]
    drawing(tmp_path / "o.png", "#00ff00")
    assert cached(excerpt, plate, still) == [False, True, True]
    assert cached(excerpt, plate, still, rate=Fraction(25)) == [False, False, False]


def test_a_damaged_part_is_made_again(tmp_path):
    piece = piece_of(ExcerptPicture(footage(), 0, 20))
    rendered(piece, tmp_path)
    (part,) = (tmp_path / "cache").glob("*.mp4")
    part.write_bytes(part.read_bytes()[:-200])
    with pytest.raises(NotWhole):
        read_track(part)
    assert rendered(piece, tmp_path).cached_count == 0
    assert_exact(piece, tmp_path / "out.mp4")


def test_the_same_picture_twice_is_encoded_once(tmp_path):
    plate = PlatePicture("title", "Twice", "", HALF)
    told = []
    piece = piece_of(plate, ExcerptPicture(footage(), 0, 5), plate)
    rendered(piece, tmp_path, progress=lambda *step: told.append(step))
    assert {total for _, total, _ in told} == {20}
    assert len(list((tmp_path / "cache").glob("*.mp4"))) == 2
    assert seen(tmp_path / "out.mp4").stream["frames"] == 35


def test_trimming_takes_what_was_used_longest_ago(tmp_path):
    folder = tmp_path / "cache"
    folder.mkdir()
    for age, name in enumerate(["new", "middle", "old"]):
        (folder / name).write_bytes(b"x" * 100)
        os.utime(folder / name, (10_000 - age, 10_000 - age))
    assert trim_cache(folder, 250) == 100
    assert sorted(p.name for p in folder.iterdir() if not p.name.startswith(".")) == ["middle", "new"]
    with open_workshop(folder) as shop:
        taken = shop.take("middle", "")
        assert trim_cache(folder, 0) == 200
        assert taken.read_bytes() == b"x" * 100  # a render keeps what it has taken
    assert [p.name for p in folder.iterdir() if not p.name.startswith(".")] == []
    assert trim_cache(tmp_path / "nowhere", 0) == 0


def test_two_renders_at_once_do_not_disturb_each_other(tmp_path):
    source = footage()
    piece = piece_of(*(ExcerptPicture(source, n, n + 15, HALF) for n in range(4)))
    reports = []

    def work(name: str) -> None:
        (tmp_path / name).mkdir()
        reports.append(rendered(piece, tmp_path / name, cache_dir=tmp_path / "shared"))

    threads = [threading.Thread(target=work, args=(name,)) for name in ("a", "b")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(reports) == 2
    for name in ("a", "b"):
        assert_exact(piece, tmp_path / name / "out.mp4")
    assert not list((tmp_path / "shared").glob("work-*"))


# ── stopping and failing ────────────────────────────────────────────────────────────────────────


def leftovers(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.rglob("*") if p.name.startswith(("work-", ".out")))


def children_of(pid: int) -> list[int]:
    listing = subprocess.run(["ps", "-o", "pid=,comm=", "--ppid", str(pid)], capture_output=True, text=True)
    return [int(line.split()[0]) for line in listing.stdout.splitlines() if "ps" not in line.split()[1:2]]


def test_stopping_ends_the_encoders_and_leaves_nothing(tmp_path):
    source = footage()
    piece = piece_of(*(ExcerptPicture(source, n, n + 90, QUARTER) for n in range(6)), width=1920, height=1080)
    told = []

    def stopped() -> bool:
        return any(done for done, _, _ in told)

    with pytest.raises(RenderStopped):
        rendered(piece, tmp_path, progress=lambda *step: told.append(step), stopped=stopped)
    assert children_of(os.getpid()) == []
    assert leftovers(tmp_path) == []
    assert not (tmp_path / "out.mp4").exists()
    assert list((tmp_path / "cache").glob("*.mp4")) == []  # none was let run to its end


def test_progress_counts_the_frames_to_encode(tmp_path):
    piece = piece_of(ExcerptPicture(footage(), 0, 60, HALF), PlatePicture("text", "", "x", HALF))
    told = []
    rendered(piece, tmp_path, progress=lambda *step: told.append(step))
    done = [step[0] for step in told]
    assert done == sorted(done)
    assert told[-1] == (135, 135, "Joining")
    assert {total for _, total, _ in told} == {135}
    told.clear()
    rendered(piece, tmp_path, progress=lambda *step: told.append(step))
    assert {(done, total) for done, total, _ in told} == {(0, 0)}


def test_an_exception_in_progress_ends_the_work(tmp_path):
    def progress(done, total, text):
        raise KeyError("lost")

    with pytest.raises(KeyError):
        rendered(piece_of(ExcerptPicture(footage(), 0, 60, QUARTER)), tmp_path, progress=progress)
    assert children_of(os.getpid()) == []
    assert leftovers(tmp_path) == []


BAD = [
    (lambda t: piece_of(), "no beats"),
    (lambda t: piece_of(CameraPicture(HALF), width=321), "even number"),
    (lambda t: piece_of(CameraPicture(HALF), height=9000), "even number"),
    (lambda t: piece_of(CameraPicture(HALF), rate=Fraction(1000)), "choose one from 1 to 120"),
    (lambda t: piece_of(StillPicture(replace(footage(), path=str(t / "no.mp4")), 0, HALF)), "missing"),
    (lambda t: piece_of(StillPicture(replace(footage(), frame_count=500), 400, HALF)), "only 0 of 1 frames"),
    (
        lambda t: piece_of(ExcerptPicture(replace(footage(), frame_count=500), 110, 140)),
        "only 10 of 30 frames",
    ),
    (lambda t: piece_of(StillPicture(footage(), 0, HALF, overlay=str(t / "none.png"))), "draw it again"),
    (
        lambda t: piece_of(StillPicture(footage(), 0, HALF, overlay=drawing(t / "s.png", "#fff", (64, 64)))),
        "64 × 64",
    ),
    (lambda t: piece_of(replace_take(t)), "recording of its words is missing"),
]


def replace_take(folder: Path):
    from breakdowns.assembly.piece import PieceBeat

    return PieceBeat("b", CameraPicture(HALF), "Words", take=str(folder / "gone.wav"))


@pytest.mark.parametrize(("make", "says"), BAD, ids=[says for _, says in BAD])
def test_what_cannot_be_rendered_is_told_in_one_sentence(tmp_path, make, says):
    (tmp_path / "out.mp4").write_text("as it was")
    with pytest.raises(RenderFailed, match=says) as failure:
        rendered(make(tmp_path), tmp_path)
    assert "\n" not in str(failure.value)
    assert (tmp_path / "out.mp4").read_text() == "as it was"
    assert leftovers(tmp_path) == []


def test_footage_that_is_no_video_is_refused(tmp_path):
    path = tmp_path / "text.mp4"
    path.write_text("#EXTM3U\n#EXTINF:1,\nfile:///etc/hostname\n")
    source = replace(source_of(path, Fraction(30), 10), title="List")
    with pytest.raises(RenderFailed, match="List"):
        rendered(piece_of(StillPicture(source, 0, HALF)), tmp_path)


@pytest.fixture
def small_disk(tmp_path):
    """A file system of 1 MB in memory."""
    folder = tmp_path / "small"
    folder.mkdir()
    if (
        os.geteuid() != 0
        or subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder], capture_output=True
        ).returncode
    ):
        pytest.skip("only root may mount a small disk")
    yield folder
    subprocess.run(["umount", "-l", folder], check=True)


def test_a_full_disk_is_told_and_left_clean(tmp_path, small_disk):
    noise = tmp_path / "noise.mp4"
    graph = "color=gray:s=320x180:r=30:d=3,noise=alls=90:allf=t"
    subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i", graph, "-crf", "18", noise], check=True)
    piece = piece_of(ExcerptPicture(source_of(noise, Fraction(30), 90), 0, 90, HALF))
    with pytest.raises(RenderFailed, match="disk is full"):
        rendered(piece, tmp_path, cache_dir=small_disk)
    assert [p.name for p in small_disk.iterdir() if not p.name.startswith(".")] == []
    with pytest.raises(RenderFailed, match="disk is full"):
        rendered(piece, small_disk, cache_dir=tmp_path / "cache")
    assert [p.name for p in small_disk.iterdir() if not p.name.startswith(".")] == []


KILLED = """
import sys
from fractions import Fraction
from pathlib import Path
from breakdowns.assembly.piece import ExcerptPicture
from tests.assembly.rendering import piece_of, rendered, source_of

source = source_of(Path(sys.argv[1]), Fraction(30), 120)
cuts = [ExcerptPicture(source, n, n + 30, Fraction(1, 2)) for n in range(6)]
piece = piece_of(*cuts, width=640, height=360)
rendered(piece, Path(sys.argv[2]), workers=1, progress=lambda *step: print(*step, flush=True))
"""


def test_a_killed_render_leaves_only_whole_parts_and_the_next_one_finishes(tmp_path):
    source = footage()
    command = [sys.executable, "-c", KILLED, source.path, str(tmp_path)]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        for line in process.stdout:
            if int(line.split()[0]) > 100:  # one of six beats and a bit
                os.kill(process.pid, signal.SIGKILL)
                break
    assert process.returncode == -signal.SIGKILL
    kept = list((tmp_path / "cache").glob("*.mp4"))
    assert 1 <= len(kept) < 6
    assert {read_track(path).frame_count for path in kept} == {60}
    assert list((tmp_path / "cache").glob("work-*"))  # its folder is still there, and no longer locked
    piece = piece_of(*(ExcerptPicture(source, n, n + 30, HALF) for n in range(6)), width=640, height=360)
    report = rendered(piece, tmp_path)
    assert report.cached_count >= len(kept)
    assert_exact(piece, tmp_path / "out.mp4")
    deadline = time.monotonic() + 30  # the killed render's last encoder ends by itself
    while leftovers(tmp_path) and time.monotonic() < deadline:
        trim_cache(tmp_path / "cache", 1 << 30)
        time.sleep(0.2)
    assert leftovers(tmp_path) == []


def test_the_report_says_what_was_made(tmp_path):
    source = replace(footage(), attribution="Baseline camera, invented")
    piece = piece_of(ExcerptPicture(source, 30, 60, HALF), CameraPicture(HALF))
    report = rendered(piece, tmp_path)
    assert (report.frame_count, report.rate, report.seconds) == (75, 30, Fraction(5, 2))
    assert [(beat.id, beat.record.start, beat.record.end) for beat in report.beats] == [
        ("b0", 0, 60),
        ("b1", 60, 75),
    ]
    assert (report.loudness_lufs, report.true_peak_dbtp) == (None, None)
    assert report.warnings == ()
    assert report.plan["segments"][0]["speed"] == "1/2"
    assert report.path == tmp_path / "out.mp4"


def test_equal_input_gives_equal_files(tmp_path):
    piece = piece_of(ExcerptPicture(footage(), 30, 50, HALF), PlatePicture("text", "", "Words", HALF))
    digests = set()
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        rendered(piece, tmp_path / name)
        digests.add(hashlib.sha256((tmp_path / name / "out.mp4").read_bytes()).hexdigest())
    assert len(digests) == 1
