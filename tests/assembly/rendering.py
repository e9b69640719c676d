"""What the render tests share: small numbered footage of many kinds, and a reader of finished files."""

from __future__ import annotations

import atexit
import hashlib
import shutil
import struct
import subprocess
import tempfile
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import av
import numpy as np

from breakdowns.assembly.encoder import EncoderSettings
from breakdowns.assembly.piece import Piece, PieceBeat, PieceSource, frame_shown_at
from breakdowns.assembly.render import RenderReport, render
from breakdowns.footage.media.locate import find_ffmpeg
from tests.numbered import NumberNotReadable, read_frame_number, write_numbered_clip

FAST = EncoderSettings("ultrafast", "high", 20, 1, 250, 96)
NTSC = Fraction(30000, 1001)
SIZE = (320, 180)

_REORDERED = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "16", "-bf", "3", "-pix_fmt", "yuv420p"]
# Files of the same frames that are hard to enter exactly. Key: suffix and encoder arguments.
KINDS: dict[str, tuple[str, list[str]]] = {
    "plain": (".mp4", []),
    "b-frames, one keyframe": (".mp4", [*_REORDERED, "-g", "9999"]),
    "open groups": (".mp4", [*_REORDERED, "-x264-params", "open-gop=1:keyint=12:min-keyint=12:scenecut=0"]),
    "transport stream": (".ts", [*_REORDERED, "-g", "24", "-output_ts_offset", "37.25"]),
    "matroska": (".mkv", [*_REORDERED, "-g", "24"]),
    "avi": (".avi", [*_REORDERED, "-g", "24"]),
    "interlaced": (".mp4", [*_REORDERED, "-g", "24", "-flags", "+ilme+ildct", "-field_order", "tt"]),
    "ten bits, 4:2:2": (".mkv", [*_REORDERED[:-1], "yuv422p10le", "-g", "24"]),
    "lying on its side": (".mov", []),
}


@cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="numbered-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def footage(
    rate: Fraction = Fraction(30), kind: str = "plain", frame_count: int = 120, *, audio: bool = False
) -> PieceSource:
    """Numbered footage of 320x180, frame n carrying n."""
    name = f"{rate.numerator}-{rate.denominator}-{kind.replace(' ', '_')}-{frame_count}-{audio}"
    path = _folder() / f"{name}.mp4"
    write_numbered_clip(
        path, rate=rate, frame_count=frame_count, size=SIZE, ffmpeg=find_ffmpeg().ffmpeg, audio=audio
    )
    suffix, encoder = KINDS[kind]
    if kind == "lying on its side":
        path = _turned(path, path.with_name(f"{name}-turned{suffix}"))
    elif encoder:
        plain, path = path, path.with_name(f"{name}-again{suffix}")
        again = [find_ffmpeg().ffmpeg, "-v", "error", "-y", "-i", str(plain), *encoder]
        subprocess.run([*again, str(path)], check=True)
    return source_of(path, rate, frame_count, has_audio=audio)


def _turned(path: Path, out: Path) -> Path:
    """The same pictures stored turned, with the display matrix that turns them upright again."""
    stored = out.with_name(f"stored-{out.name}")
    command = [
        find_ffmpeg().ffmpeg,
        "-v",
        "error",
        "-y",
        "-i",
        str(path),
        "-vf",
        "transpose=clock",
        "-crf",
        "16",
    ]
    subprocess.run([*command, "-metadata:s:v:0", "rotate=", str(stored)], check=True)
    # ISO/IEC 14496-12, 8.3.2: matrix {a b u c d v x y w}, 16.16 but for the last column; here 90° back.
    upright, quarter = (
        (65536, 0, 0, 0, 65536, 0, 0, 0, 1 << 30),
        (0, -65536, 0, 65536, 0, 0, 0, 320 << 16, 1 << 30),
    )
    content = stored.read_bytes()
    place = content.index(struct.pack(">9i", *upright), content.index(b"tkhd"))
    out.write_bytes(content[:place] + struct.pack(">9i", *quarter) + content[place + 36 :])
    return out


def source_of(path: Path, rate: Fraction, frame_count: int, **more: Any) -> PieceSource:
    width, height = more.pop("size", SIZE)
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return PieceSource(digest[:8], path.stem, str(path), digest, rate, frame_count, width, height, **more)


def piece_of(*pictures: Any, rate: Fraction = Fraction(30), **more: Any) -> Piece:
    """A piece of one beat for each picture, or of beats as they are."""
    beats = [p if isinstance(p, PieceBeat) else PieceBeat(f"b{n}", p) for n, p in enumerate(pictures)]
    return Piece("A test piece", "test", tuple(beats), **{"rate": rate, "width": 320, "height": 180, **more})


def rendered(piece: Piece, folder: Path, **more: Any) -> RenderReport:
    """Render to ``folder/out.mp4`` with a cache beside it."""
    how: dict[str, Any] = {
        "cache_dir": folder / "cache",
        "tools": find_ffmpeg(),
        "progress": lambda done, total, text: None,
        "stopped": lambda: False,
        "settings": FAST,
    }
    return render(piece, folder / "out.mp4", **{**how, **more})


@dataclass(frozen=True)
class Seen:
    """A decoded file: exact seconds and RGB picture of each frame, in the order shown."""

    seconds: list[Fraction]
    pictures: list[np.ndarray]
    stream: dict[str, Any]


def seen(path: Path) -> Seen:
    """Decode with PyAV (its own FFmpeg libraries, not the program that encoded)."""
    with av.open(str(path)) as file:
        video = file.streams.video[0]
        frames = [
            (frame.pts * frame.time_base, frame.to_ndarray(format="rgb24")) for frame in file.decode(video)
        ]
        facts = {
            "rate": video.average_rate, "frames": video.frames, "start": video.start_time,
            "duration": video.duration * video.time_base, "codec": video.codec_context.name,
            "profile": video.codec_context.profile, "pixels": video.codec_context.pix_fmt,
            "size": (video.codec_context.width, video.codec_context.height),
            "colour": (
                int(video.codec_context.color_primaries), int(video.codec_context.color_trc),
                int(video.codec_context.colorspace), int(video.codec_context.color_range),
            ),
            "metadata": dict(file.metadata), "streams": [stream.type for stream in file.streams],
        }  # fmt: skip
    return Seen([Fraction(seconds) for seconds, _ in frames], [picture for _, picture in frames], facts)


def heard(path: Path) -> np.ndarray:
    """The sound as float32 (samples, channels), without the encoder's lead-in."""
    with av.open(str(path)) as file:
        blocks = [frame.to_ndarray() for frame in file.decode(audio=0)]
    return np.concatenate(blocks, axis=1).T if blocks else np.zeros((0, 2), np.float32)


def number_in(picture: np.ndarray) -> int | str:
    """The burnt-in number; of a mirrored picture ``"mirrored 17"``; "none" of any other."""
    try:
        return read_frame_number(picture)
    except NumberNotReadable:
        pass
    try:
        return f"mirrored {read_frame_number(picture[:, ::-1])}"
    except NumberNotReadable:
        return "none"


def numbers(pictures: list[np.ndarray]) -> list[int | str]:
    return [number_in(picture) for picture in pictures]


def expected_numbers(piece: Piece) -> list[int | str]:
    """The number on every output frame, out of the piece's own definition."""
    found: list[int | str] = []
    for placed in piece.timeline.placed:
        for k in range(placed.record.frame_count):
            frame = frame_shown_at(placed, k, piece.rate)
            mirrored = getattr(placed.beat.picture, "mirrored", False)
            found.append("none" if frame is None else f"mirrored {frame}" if mirrored else frame)
    return found
