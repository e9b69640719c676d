"""Read a piece of footage: refuse it with one sentence, or say exactly what it is."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, fields
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..timebase import Frames, frames_nearest, parse_rational, rational_text
from .child import Progress, Stopped
from .decoded import Decoded, decode, too_long
from .errors import MediaRefused
from .grid import Grid, find_grid
from .header import Header, Stream, read_header
from .limits import limits
from .locate import Tools, find_ffmpeg
from .sniff import FirstLook, first_look

__all__ = ["Probe", "bit_depth", "probe"]


@dataclass(frozen=True, slots=True)
class Probe:
    """Everything that later steps need to know of a file, exact.

    Frames are numbered 0 to ``frame_count`` − 1 as they come out of the decoder, in the order shown.
    ``start_time`` is frame 0's own time in the file, seconds, and ``grid_start`` where the even grid puts
    frame 0 (the same but for rounding); ``duration`` the seconds from the start of
    the first frame to the end of the last. ``coded_width`` and ``coded_height`` are as stored,
    ``rotation`` the clockwise degrees that turn the picture upright, ``pixel_aspect`` the width of a
    stored pixel over its height. ``rate`` is exact frames per second; of footage that
    ``is_variable_rate`` it is the rate to resample to. ``grid_deviation``: furthest that a frame lies
    from the even grid, seconds. ``warnings`` are sentences for the person.
    """

    container: str
    byte_size: int
    video_codec: str
    pixel_format: str
    bit_depth: int
    coded_width: int
    coded_height: int
    rotation: int
    pixel_aspect: Fraction
    is_interlaced: bool
    is_reordered: bool
    rate: Fraction
    is_variable_rate: bool
    grid_deviation: Fraction
    frame_count: int
    duration: Fraction
    start_time: Fraction
    grid_start: Fraction
    time_base: Fraction
    video_stream: int
    has_audio: bool
    audio_stream: int
    audio_codec: str
    audio_channels: int
    audio_sample_rate: int
    warnings: tuple[str, ...] = ()

    @property
    def upright_pixel_aspect(self) -> Fraction:
        """Width over height of a pixel after the picture was turned upright."""
        return 1 / self.pixel_aspect if self.rotation in (90, 270) else self.pixel_aspect

    @property
    def display_width(self) -> int:
        """Pixels across, upright and with square pixels; every copy and still has this shape."""
        return self._display()[0]

    @property
    def display_height(self) -> int:
        """Pixels down, upright and with square pixels."""
        return self._display()[1]

    def _display(self) -> tuple[int, int]:
        turned = self.rotation in (90, 270)
        width, height = (
            (self.coded_height, self.coded_width) if turned else (self.coded_width, self.coded_height)
        )
        shape = self.upright_pixel_aspect
        if shape >= 1:  # never throw lines or columns away: the longer side of a pixel is spread
            return max(1, round(width * shape)), height
        return width, max(1, round(height / shape))

    @property
    def length(self) -> Frames:
        """All of it, as whole frames at its rate."""
        return Frames(self.frame_count, self.rate)

    def to_json(self) -> dict[str, Any]:
        """Plain values for storing; exact numbers as ``"30000/1001"``. ``from_json`` reads them back."""
        return {
            name: rational_text(value)
            if isinstance(value, Fraction)
            else list(value)
            if isinstance(value, tuple)
            else value
            for name, value in asdict(self).items()
        }

    @classmethod
    def from_json(cls, stored: dict[str, Any]) -> Probe:
        """The probe that ``to_json`` wrote. Raises KeyError where a value is missing."""
        values = {field.name: stored[field.name] for field in fields(cls)}
        exact = {f.name: parse_rational(values[f.name]) for f in fields(cls) if f.type == "Fraction"}
        return cls(**{**values, **exact, "warnings": tuple(values["warnings"])})


def probe(
    path: Path | str,
    tools: Tools | None = None,
    *,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> Probe:
    """Read ``path`` from end to end and say exactly what it is.

    The whole picture is decoded once, because only that tells the true number of frames. ``progress``
    gets (frames done, frames expected), ``stopped`` is asked now and then. Raises MediaRefused (``code``
    one of missing, empty, not_video, points_elsewhere, unknown_container, unreadable, cut_off,
    no_picture, no_frames, no_size, too_large, too_long, too_slow, too_many_streams, changing_picture),
    MediaStopped, MediaToolMissing.
    """
    tools = tools or find_ffmpeg()
    look = first_look(path)
    header = read_header(path, tools)
    video = _moving_picture(header)
    if header.seconds and header.seconds > limits().max_seconds:
        raise too_long(header.seconds)
    expected = int((header.seconds or 0) * limits().lone_frame_rate)
    found = decode(path, video.index, tools, expected=expected, progress=progress, stopped=stopped)
    if not all(found.size):
        raise MediaRefused("no_size", "The picture has no size (0 × 0 pixels); export the footage again.")
    grid = find_grid(found.ticks, found.time_base, found.stated_rate)
    return _assembled(look, header, video, found, grid)


def _moving_picture(header: Header) -> Stream:
    if header.video:
        return header.video
    what = "sound only" if header.audio else "no picture and no sound"
    raise MediaRefused("no_picture", f"The file holds {what}; upload footage that has a moving picture.")


def _assembled(look: FirstLook, header: Header, video: Stream, found: Decoded, grid: Grid) -> Probe:
    warnings = [*_cut_warning(look, header, found, grid), *_damage_warning(found)]
    shape, bad_shape = _believed(found.pixel_aspect)
    audio = header.audio
    return Probe(
        container=header.container,
        byte_size=look.byte_size,
        video_codec=video.codec,
        pixel_format=found.pixel_format,
        bit_depth=bit_depth(found.pixel_format),
        coded_width=found.size[0],
        coded_height=found.size[1],
        rotation=video.rotation,
        pixel_aspect=shape,
        is_interlaced=found.is_interlaced,
        is_reordered=found.is_reordered,
        rate=grid.rate,
        is_variable_rate=grid.is_variable,
        grid_deviation=grid.deviation,
        frame_count=len(found.ticks),
        duration=_duration(found, grid),
        start_time=found.ticks[0] * found.time_base,
        grid_start=grid.start,
        time_base=found.time_base,
        video_stream=video.index,
        has_audio=audio is not None,
        audio_stream=audio.index if audio else -1,
        audio_codec=audio.codec if audio else "",
        audio_channels=audio.channels if audio else 0,
        audio_sample_rate=audio.sample_rate if audio else 0,
        warnings=(*warnings, *bad_shape),
    )


def _duration(found: Decoded, grid: Grid) -> Fraction:
    """Even rate: frames over rate. Variable: first start to last start, and one interval more."""
    if not grid.is_variable:
        return len(found.ticks) / grid.rate
    seconds = max(found.ticks) - found.ticks[0]
    duration = seconds * found.time_base + 1 / grid.rate
    if frames_nearest(duration, grid.rate).count > limits().max_frames:
        raise too_long(duration)
    return duration


def _cut_warning(look: FirstLook, header: Header, found: Decoded, grid: Grid) -> list[str]:
    """A file without its end is taken while enough of it can be read; what is missing is said."""
    if not (look.is_cut_off or found.looks_cut) or not header.seconds:
        return []
    read = min(_duration(found, grid), header.seconds)
    told = f"{float(read):.1f} of {float(header.seconds):.1f} seconds can be read"
    if read < limits().least_readable_share * header.seconds:
        raise MediaRefused(
            "cut_off", f"The file is cut off: only {told}. Copy it again from the camera and upload that."
        )
    return [f"The file is cut off or damaged: {told}. If the original is whole, upload it again."]


def _damage_warning(found: Decoded) -> list[str]:
    if not found.damaged_places:
        return []
    return ["Parts of the picture are damaged and may show blocks; look before you choose an excerpt there."]


def _believed(shape: Fraction) -> tuple[Fraction, list[str]]:
    most = limits().max_pixel_aspect
    if Fraction(1, most) <= shape <= most:
        return shape, []
    return Fraction(1), [f"The stated pixel shape {shape} can't be; square pixels are assumed."]


_DEPTH = re.compile(r"(?:p|gray|gbrap?|x2rgb|x2bgr|bayer_\w+?)(9|10|12|14|16)(?:le|be|msble|msbbe)?$")
_DEEP = {"rgb48": 16, "bgr48": 16, "rgba64": 16, "bgra64": 16, "ya16": 16}
_SEMI_PLANAR = re.compile(r"^p[024](10|12|16)(?:le|be)$")


def bit_depth(pixel_format: str) -> int:
    """Bits of one component, from ffmpeg's name of the format: ``yuv420p10le`` → 10, ``nv12`` → 8."""
    for name, depth in _DEEP.items():
        if pixel_format.startswith(name):
            return depth
    found = _SEMI_PLANAR.match(pixel_format) or _DEPTH.search(pixel_format)
    return int(found[1]) if found else 8
