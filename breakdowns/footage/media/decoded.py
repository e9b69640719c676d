"""Decode a whole stream once and write down when each picture is shown, and of what kind it is.

Containers lie, so frames are counted as they come out of the decoder, in the order in which they are
shown. Times are whole ticks of an exact time base.

Each frame's time comes over standard output, where only the ``metadata`` filter writes. What kind of
picture it is comes from ``showinfo`` among ffmpeg's other words, which may share a line when several
threads speak at once; they are therefore sought anywhere in a line, but only after the header, where
anybody's tags are told, has passed.
"""

from __future__ import annotations

import re
import signal
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import ffmpeg

from .child import Ended, Progress, Stopped, run
from .errors import MediaRefused, TookTooLong
from .guard import ffmpeg_command, opened, work_bounds
from .header import refusal_from
from .limits import limits
from .locate import Tools

__all__ = ["Decoded", "decode"]

_TICK = re.compile(rb"^frame:\d+ +pts:(-?\d+|NOPTS) ")
_HEADER_PASSED = re.compile(r"^(?! {4}).*Stream mapping:$")  # tags stand further in, and none come after it
_CONFIG = re.compile(r"config in time_base: (\d+)/(\d+), frame_rate: (\d+)/(\d+)")
_PICTURE = re.compile(
    r"n: *\d+ pts: *(?:-?\d+|NOPTS) .*?"
    r"\bfmt:(\S+) .*?\bsar:(\d+)/(\d+) s:(\d+)x(\d+) i:(\w) .*?\btype:(\S)"
)
_CUT = re.compile(r"partial file|File ended prematurely|Packet corrupt|corrupt input packet", re.IGNORECASE)
_DAMAGE = re.compile(
    r"concealing|error while decoding|Decoding error|Error splitting|Error submitting", re.IGNORECASE
)


_TOO_SLOW = "The footage takes too long to decode; export it again as MP4 (H.264), or in parts."


@dataclass(slots=True)
class Decoded:
    """What came out of the decoder. ``ticks``: when each frame is shown, in ``time_base`` units."""

    time_base: Fraction = Fraction(1)
    stated_rate: Fraction | None = None
    ticks: list[int] = field(default_factory=list)
    pixel_format: str = ""
    size: tuple[int, int] = (0, 0)
    pixel_aspect: Fraction = Fraction(1)
    is_interlaced: bool = False
    is_reordered: bool = False
    looks_cut: bool = False
    damaged_places: int = 0

    @property
    def seconds(self) -> Fraction:
        """From the first frame's start to the last one's start."""
        return (self.ticks[-1] - self.ticks[0]) * self.time_base if self.ticks else Fraction(0)


def decode(
    path: Path | str,
    stream: int,
    tools: Tools,
    *,
    expected: int = 0,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> Decoded:
    """Decode video ``stream`` to its end. ``expected`` frames only serve the progress told.

    Raises MediaRefused: ``no_frames``, ``too_large``, ``too_long``, ``changing_picture``, ``too_slow``;
    MediaStopped.
    """
    arguments = ffmpeg.get_args(
        opened(path, noautorotate=None, copyts=None)[str(stream)]
        .filter("showinfo", checksum=0)
        .filter("metadata", mode="delete")
        .filter("metadata", mode="add", key="n", value="1")
        .filter("metadata", mode="print", key="n", file="-", direct=1)
        .output("-", format="null", fps_mode="passthrough", map_metadata=-1)
    )
    reader = _Reader(expected, progress)
    try:
        command = ffmpeg_command(tools, arguments, level="info")
        bounds = work_bounds(writes=False)
        ended = run(command, bounds, on_line=reader.words, on_output=reader.times, stopped=stopped)
    except TookTooLong:
        raise MediaRefused("too_slow", _TOO_SLOW) from None
    _refuse_unless_whole(ended, reader.found)
    return reader.finish()


def _refuse_unless_whole(ended: Ended, found: Decoded) -> None:
    """A decoder that gave up early has not counted the frames. ffmpeg answers 0 for mere damage."""
    if not found.ticks:
        raise refusal_from(ended.words) or MediaRefused(
            "no_frames",
            "No picture in the file can be decoded; export it again as MP4 (H.264) and upload that.",
        )
    if ended.code in (-signal.SIGXCPU, -signal.SIGKILL):
        raise MediaRefused("too_slow", _TOO_SLOW)
    if ended.code:
        raise refusal_from(ended.words) or MediaRefused(
            "unreadable",
            f"Decoding gave up after frame {len(found.ticks) - 1}; copy the file again from the camera, "
            "or export it again as MP4 (H.264).",
        )


class _Reader:
    """Takes what ffmpeg says piece by piece into ``found``."""

    def __init__(self, expected: int, progress: Progress | None) -> None:
        self.found, self.expected, self.progress = Decoded(), expected, progress
        self.rest, self.untimed, self.pictures = b"", list[int](), 0
        self.header_passed = self.clock_known = False

    def times(self, data: bytes) -> bool:
        *lines, self.rest = (self.rest + data).split(b"\n")
        for line in lines:
            if told := _TICK.match(line):
                self._tick(told[1])
                self._check_length()
                self._tell()
        return bool(lines)

    def _tick(self, told: bytes) -> None:
        ticks = self.found.ticks
        if told == b"NOPTS":
            self.untimed.append(len(ticks))
        ticks.append(int(told) if told != b"NOPTS" else ticks[-1] if ticks else 0)

    def finish(self) -> Decoded:
        """What the two pipes told only together: times can come before the clock that they are told in."""
        if not self.clock_known:
            raise MediaRefused("unreadable", "The footage tells no clock; export it again as MP4 (H.264).")
        found = self.found
        step = 1 / ((found.stated_rate or limits().lone_frame_rate) * found.time_base)
        for place in self.untimed:  # a frame without a time: one stated interval after the one before
            found.ticks[place] = found.ticks[place - 1] + max(1, round(step)) if place else 0
        self._check_length()
        return found

    def _tell(self) -> None:
        done = len(self.found.ticks)
        if self.progress and done % 25 == 0:
            self.progress(done, max(self.expected, done))

    def words(self, line: str) -> bool:
        self.header_passed = self.header_passed or bool(_HEADER_PASSED.match(line))
        if self.header_passed or line.startswith("["):
            self.found.looks_cut = self.found.looks_cut or bool(_CUT.search(line))
            self.found.damaged_places += bool(_DAMAGE.search(line))
        if not self.header_passed:
            return False
        if told := _CONFIG.search(line):
            self._config(told)
        if told := _PICTURE.search(line):
            self._picture(told)
        return bool(told)

    def _config(self, told: re.Match[str]) -> None:
        a, b, p, q = (int(n) for n in told.groups())
        if a and b:
            self.found.time_base, self.clock_known = Fraction(a, b), True
        self.found.stated_rate = Fraction(p, q) if p and q else None

    def _picture(self, told: re.Match[str]) -> None:
        found, size = self.found, (int(told[4]), int(told[5]))
        if not self.pictures:
            found.size, found.pixel_format = size, told[1]
            found.pixel_aspect = _shape(int(told[2]), int(told[3]))
        elif size != found.size:
            raise MediaRefused(
                "changing_picture",
                f"The picture changes its size part-way, from {found.size[0]} × {found.size[1]} to "
                f"{size[0]} × {size[1]} at frame {self.pictures}; export the footage at one size.",
            )
        found.is_interlaced = found.is_interlaced or told[6] in "TB"
        found.is_reordered = found.is_reordered or told[7] == "B"
        self.pictures += 1

    def _check_length(self) -> None:
        found = self.found
        seconds = abs(found.seconds) if self.clock_known else 0
        if len(found.ticks) > limits().max_frames or seconds > limits().max_seconds:
            raise too_long(None)


def _shape(width: int, height: int) -> Fraction:
    """Pixel aspect; 0 in either place means that the file states none: square."""
    return Fraction(width, height) if width and height else Fraction(1)


def too_long(seconds: Fraction | None) -> MediaRefused:
    """The refusal of footage that is too long; ``seconds`` where the length is known."""
    length = f"lasts {float(seconds) / 3600:.1f} hours" if seconds else "is longer than can be taken"
    return MediaRefused(
        "too_long",
        f"The footage {length}; at most {limits().max_seconds // 3600} hours and "
        f"{limits().max_frames} frames are taken. Cut out the part that you need and upload that.",
    )
