"""Single frames out of footage, exact to the frame."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import ffmpeg
from PIL import Image

from ..timebase import decimal_text
from .child import Stopped, run
from .errors import MediaFailed, MediaRefused
from .guard import ffmpeg_command, opened, still_bounds
from .locate import Tools, find_ffmpeg
from .picture import size_for_width, upright
from .probe import Probe

__all__ = ["extract_frame", "extract_in_one_pass"]

# How far before the frame to begin, seconds, one after the other until the frame is met.
_RUN_UPS = (Fraction(1), Fraction(10))
_REORDERED = 16  # frames that H.264 and HEVC may hold back (ITU-T H.264, A.3.1: MaxDpbFrames ≤ 16)
_HALF = Fraction(1, 2)


def extract_frame(
    path: Path | str,
    probe: Probe,
    frame: int,
    *,
    width: int | None = None,
    tools: Tools | None = None,
    stopped: Stopped | None = None,
) -> Image.Image:
    """Frame ``frame`` (0-based, in the order shown) as an RGB picture, upright, with square pixels.

    ``width`` in pixels, else full size. Footage at an even rate is entered near the frame and the frame
    is known by its own time; variable-rate footage, and AVI with reordered frames (whose times are not
    stored), is counted from its start. Raises MediaRefused ``no_such_frame``, MediaFailed, MediaStopped.
    """
    _must_exist(probe, [frame])
    tools, size = tools or find_ffmpeg(), size_for_width(probe, width)
    for run_up in _RUN_UPS if _can_seek(probe) else ():
        pictures = _near(path, probe, frame, size, run_up, tools, stopped)
        if pictures:
            return pictures[0]
    return next(iter(extract_in_one_pass(path, probe, [frame], size, tools=tools, stopped=stopped)))


def extract_in_one_pass(
    path: Path | str,
    probe: Probe,
    frames: list[int],
    size: tuple[int, int],
    *,
    tools: Tools,
    stopped: Stopped | None = None,
) -> list[Image.Image]:
    """The frames (rising, each once) at ``size``, counted from the start of the file in one decoding.

    Raises MediaRefused ``no_such_frame``, MediaFailed when fewer come out, MediaStopped.
    """
    _must_exist(probe, frames)
    wanted = "+".join(f"eq(n,{frame})" for frame in frames)
    node = opened(path, copyts=None)[str(probe.video_stream)].filter("select", wanted)
    pictures = _pictures(node, probe, size, len(frames), tools, stopped)
    if len(pictures) != len(frames):
        raise MediaFailed(f"Frame {frames[len(pictures)]} could not be read; the file may have been damaged.")
    return pictures


def _must_exist(probe: Probe, frames: list[int]) -> None:
    for frame in frames:
        if not 0 <= frame < probe.frame_count:
            raise MediaRefused(
                "no_such_frame",
                f"Frame {frame} does not exist: the footage has frames 0 to {probe.frame_count - 1}.",
            )


def _can_seek(probe: Probe) -> bool:
    return not probe.is_variable_rate and not (probe.container == "avi" and probe.is_reordered)


def _near(
    path: Path | str,
    probe: Probe,
    frame: int,
    size: tuple[int, int],
    run_up: Fraction,
    tools: Tools,
    stopped: Stopped | None,
) -> list[Image.Image]:
    """Enter ``run_up`` seconds earlier and take what is shown within half a frame of the frame's time.

    Empty when the file could only be entered behind it.
    """
    moment, half = probe.grid_start + frame / probe.rate, _HALF / probe.rate
    entry = max(probe.grid_start, moment - max(run_up, _REORDERED / probe.rate))
    source = opened(path, copyts=None, noaccurate_seek=None, seek_timestamp=1, ss=decimal_text(entry, 6))
    node = source[str(probe.video_stream)].filter(
        "trim", start=decimal_text(moment - half, 6), end=decimal_text(moment + half, 6)
    )
    return _pictures(node, probe, size, 1, tools, stopped)


def _pictures(
    node, probe: Probe, size: tuple[int, int], count: int, tools: Tools, stopped: Stopped | None
) -> list[Image.Image]:
    node = upright(node, probe, size)
    options = {"format": "rawvideo", "pix_fmt": "rgb24", "fps_mode": "passthrough", "frames:v": count}
    arguments = ffmpeg.get_args(node.output("pipe:1", **options))
    ended = run(ffmpeg_command(tools, arguments), still_bounds(), stopped=stopped)
    return list(_cut_up(ended.output, size))


def _cut_up(data: bytes, size: tuple[int, int]) -> Iterator[Image.Image]:
    length = size[0] * size[1] * 3
    for place in range(0, len(data) - length + 1, length):
        yield Image.frombytes("RGB", size, data[place : place + length])
