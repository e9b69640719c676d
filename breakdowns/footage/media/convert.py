"""Run one conversion: from an ffmpeg-python graph to a file, with progress, stop and plain failures."""

from __future__ import annotations

import errno
import re
import signal
from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg

from .child import Ended, Progress, Stopped, run
from .errors import MediaFailed, MediaRefused, TookTooLong
from .guard import ffmpeg_command, file_name, opened, thread_count, work_bounds
from .limits import presets
from .locate import Tools
from .output import disk_full
from .probe import Probe, probe

__all__ = ["Conversion", "convert", "picture_input", "read_back"]


def picture_input(path: Path | str) -> Any:
    """The picture of the untrusted file, with its own times kept; no packet of its sound is touched."""
    return opened(path, copyts=None, an=None)


def read_back(part: Path, tools: Tools, stopped: Stopped | None) -> Probe:
    """What was really written. Raises MediaFailed where it can't be read, MediaStopped."""
    try:
        return probe(part, tools, stopped=stopped)
    except MediaRefused as refused:
        raise MediaFailed(f"The copy of the footage came out unusable: {refused}") from refused


_NO_MEMORY = re.compile(r"Cannot allocate memory|malloc of size \d+ failed|out of memory", re.IGNORECASE)


class Conversion:
    """The options that every working copy shares: one exact rate, no private data, quick to open."""

    def __init__(
        self, rate: Fraction, *, crf: int, preset: str, keyframe_every: int, audio_kbps: int
    ) -> None:
        self.options: dict[str, Any] = {
            "vcodec": "libx264",
            "pix_fmt": "yuv420p",
            "threads": thread_count(),
            "crf": crf,
            "preset": preset,
            "profile:v": "high",
            "g": keyframe_every,
            "keyint_min": keyframe_every,
            "sc_threshold": 0,
            "bf": 0,
            "flags": "+cgop",
            "r": f"{rate.numerator}/{rate.denominator}",
            "fps_mode": "cfr",
            "map_metadata": -1,
            "map_chapters": -1,
            "movflags": "+faststart",
            "format": "mp4",
        }
        self.sound = {"acodec": "aac", "b:a": f"{audio_kbps}k", "ar": presets().audio_hertz}

    def arguments(self, picture: Any, sound: Any | None, part: Path) -> list[str]:
        """The whole argument list that writes ``part``."""
        # Cameras' full-range levels are brought to those of video, which every browser shows alike.
        picture = picture.filter("scale", out_range="tv").filter("format", "yuv420p")
        streams = [picture] if sound is None else [picture, sound]
        options = {**self.options, **(self.sound if sound is not None else {})}
        return ffmpeg.get_args(ffmpeg.output(*streams, file_name(part), **options))


def convert(
    tools: Tools,
    arguments: list[str],
    part: Path,
    *,
    total: int,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> None:
    """Run ffmpeg on ``arguments``, which write ``part``. Raises MediaFailed, MediaStopped."""
    # Damage alone must not end the work: what comes out is counted, whatever was left out.
    tolerant = ["-max_error_rate", "1", "-progress", "pipe:1"]
    command = ffmpeg_command(tools, [*tolerant, *arguments])
    reader = _ProgressReader(total, progress)
    ended = run(command, work_bounds(writes=True), on_output=reader.take, stopped=stopped)
    if ended.code:
        raise _failure(ended, part)


def _failure(ended: Ended, part: Path) -> MediaFailed:
    """What to tell of a run that ended badly. ffmpeg 6 and newer exit with the system's error number."""
    if "No space left on device" in ended.words or ended.code == 256 - errno.ENOSPC:
        return disk_full(part.parent.parent)
    if "Unknown encoder" in ended.words or "Encoder not found" in ended.words:
        return MediaFailed("This ffmpeg can't write H.264 or AAC; install one that has libx264.")
    if ended.code == -signal.SIGXFSZ or "File too large" in ended.words:
        return MediaFailed("The converted file grew past the size allowed; cut the footage into parts.")
    if ended.code in (-signal.SIGXCPU, -signal.SIGKILL):
        return TookTooLong("The conversion used up its time or memory; cut the footage into parts.")
    if _NO_MEMORY.search(ended.words):
        return MediaFailed("The conversion needs more memory than it may use; export the footage smaller.")
    last = next((line for line in reversed(ended.words.splitlines()) if line.strip()), "no reason given")
    return MediaFailed(f"The footage could not be converted (ffmpeg says: {last.strip()[:160]}).")


class _ProgressReader:
    """Reads ``-progress`` output, ``key=value`` lines, for ``frame=``."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self.total, self.progress, self.done, self.rest = total, progress, 0, b""

    def take(self, data: bytes) -> bool:
        *lines, self.rest = (self.rest + data).split(b"\n")
        before = self.done
        for line in lines:
            if line.startswith(b"frame=") and line[6:].strip().isdigit():
                self.done = int(line[6:])
        if self.progress and self.done != before:
            self.progress(min(self.done, self.total), self.total)
        return self.done != before
