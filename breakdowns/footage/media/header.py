"""What a file says about itself: container, streams, rotation, sound. Nothing here is counted.

With ffprobe the facts come as JSON; without it they are read out of the lines that ``ffmpeg -i``
prints. Both give the same ``Header``.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import ffmpeg

from ..timebase import parse_rational
from .child import Ended, run
from .errors import MediaRefused, TookTooLong
from .guard import ffmpeg_command, ffprobe_command, header_bounds, opened
from .limits import limits
from .locate import Tools

__all__ = ["Header", "Stream", "read_header", "refusal_from"]


@dataclass(frozen=True, slots=True)
class Stream:
    """One stream: ``rotation`` is clockwise degrees to turn the picture upright (0, 90, 180, 270)."""

    index: int
    kind: str
    codec: str
    is_cover: bool = False
    rotation: int = 0
    channels: int = 0
    sample_rate: int = 0


@dataclass(frozen=True, slots=True)
class Header:
    """``seconds`` is what the container states, None where it states nothing."""

    container: str
    seconds: Fraction | None
    streams: tuple[Stream, ...]

    @property
    def video(self) -> Stream | None:
        """The first moving picture; cover art is none."""
        return next((s for s in self.streams if s.kind == "video" and not s.is_cover), None)

    @property
    def audio(self) -> Stream | None:
        """The first sound that has a decoder and channels."""
        sounds = (s for s in self.streams if s.kind == "audio")
        return next((s for s in sounds if s.channels and s.sample_rate and s.codec != "none"), None)


def read_header(path: Path | str, tools: Tools) -> Header:
    """Open the file just far enough to know its streams. Raises MediaRefused with one sentence."""
    try:
        if tools.ffprobe:
            return _by_ffprobe(path, tools.ffprobe)
        return _by_banner(path, tools)
    except TookTooLong:
        raise MediaRefused(
            "too_slow", "The file could not be opened in reasonable time; export it again as MP4 (H.264)."
        ) from None


# ── with ffprobe ────────────────────────────────────────────────────────────────────────────────

_ENTRIES = (
    "format=format_name,duration:stream=index,codec_type,codec_name,channels,sample_rate"
    ":stream_disposition=attached_pic,timed_thumbnails:stream_side_data=rotation"
)


def _by_ffprobe(path: Path | str, ffprobe: str) -> Header:
    command = ffprobe_command(ffprobe, path, ["-show_entries", _ENTRIES, "-of", "json"])
    ended = run(command, header_bounds())
    try:
        facts = json.loads(ended.output.decode("utf-8", "replace") or "{}")
    except ValueError:
        facts = {}
    if ended.code or not facts.get("format"):
        raise _cannot_open(ended)
    seconds = facts["format"].get("duration")
    header = Header(
        facts["format"].get("format_name", ""),
        parse_rational(seconds) if seconds and seconds != "N/A" else None,
        tuple(_stream_of(entry) for entry in facts.get("streams", [])),
    )
    return _within_limits(header, ended)


def _stream_of(entry: dict) -> Stream:
    shown = entry.get("disposition", {})
    return Stream(
        index=entry["index"],
        kind=entry.get("codec_type", "unknown"),
        codec=entry.get("codec_name", "none"),
        is_cover=bool(shown.get("attached_pic") or shown.get("timed_thumbnails")),
        rotation=_clockwise(
            next((s["rotation"] for s in entry.get("side_data_list", []) if "rotation" in s), 0)
        ),
        channels=int(entry.get("channels", 0)),
        sample_rate=int(entry.get("sample_rate", 0)),
    )


def _clockwise(counter_clockwise: float | int | str) -> int:
    """Display matrices are told counter-clockwise; quarter turns only, as ffmpeg itself turns."""
    degrees = float(counter_clockwise)
    quarter = round(degrees / 90) * 90
    return -quarter % 360 if abs(degrees - quarter) <= 1 else 0


# ── with ffmpeg alone ───────────────────────────────────────────────────────────────────────────
# Lines are known by their indentation as well: tags, which anybody can write, stand further in.

_INPUT = re.compile(r"^Input #0, (\S+), from ")
_DURATION = re.compile(r"^  Duration: (\d+):(\d\d):(\d\d\.\d+)")
_STREAM = re.compile(
    r"^  Stream #0:(\d+)(?:\[0x[0-9a-f]+\])?(?:\(.*?\))?: (Video|Audio|Data|Subtitle|Attachment|Unknown): (\S+?),? "
)
_TURN = re.compile(r"^      (?:displaymatrix|Display Matrix): rotation of (-?[\d.]+) degrees")
_SOUND = re.compile(r", (\d+) Hz, ([^,]+)")
_LAYOUTS = {"mono": 1, "stereo": 2, "downmix": 2, "quad": 4, "hexagonal": 6, "octagonal": 8, "cube": 8}


def _by_banner(path: Path | str, tools: Tools) -> Header:
    arguments = ffmpeg.get_args(opened(path).output("-", format="null"))
    question = arguments[: arguments.index("-i") + 2]
    lines: list[str] = []

    def keep(line: str) -> bool:
        lines.append(line)
        return False  # kept for the words of a refusal as well

    ended = run(ffmpeg_command(tools, question, level="info"), header_bounds(), on_line=keep)
    header = parse_banner(lines)
    if header is None:
        raise _cannot_open(ended)
    return _within_limits(header, ended)


def parse_banner(lines: Iterable[str]) -> Header | None:
    """The header out of the lines of ``ffmpeg -i``; None when no input was opened."""
    container, seconds, streams = "", None, []
    for line in lines:
        if found := _INPUT.match(line):
            container = found[1]
        elif found := _DURATION.match(line):
            seconds = int(found[1]) * 3600 + int(found[2]) * 60 + parse_rational(found[3])
        elif found := _STREAM.match(line):
            streams.append(_stream_in(found, line))
        elif (found := _TURN.match(line)) and streams:
            streams[-1] = replace(streams[-1], rotation=_clockwise(found[1]))
    return Header(container, seconds, tuple(streams)) if container else None


def _stream_in(found: re.Match[str], line: str) -> Stream:
    sound = _SOUND.search(line)
    return Stream(
        index=int(found[1]),
        kind=found[2].lower(),
        codec=found[3],
        is_cover=line.endswith(("(attached pic)", "(timed thumbnails)")),
        channels=_channels(sound[2]) if sound else 0,
        sample_rate=int(sound[1]) if sound else 0,
    )


def _channels(layout: str) -> int:
    """Channels of a layout's name: ``5.1(side)`` → 6, ``4 channels (FL+FR…)`` → 4."""
    name = layout.split("(")[0].strip()
    if name in _LAYOUTS:
        return _LAYOUTS[name]
    numbers = re.match(r"^(\d+)(?:\.(\d+))?(?:\.(\d+))?", name)
    return sum(int(n) for n in numbers.groups() if n) if numbers else 0


# ── refusals out of what the tools say ──────────────────────────────────────────────────────────

_TOO_LARGE = re.compile(r"Picture size (\d+)x(\d+) exceeds specified max pixel count")
_KNOWN = (
    (
        re.compile(r"exceeds max_streams"),
        "too_many_streams",
        "The file holds more tracks than footage has (at most {streams}); export picture and sound only.",
    ),
    (
        re.compile(r"not on (?:\w+ )?whitelist|not in (?:\w+ )?whitelist", re.IGNORECASE),
        "unknown_container",
        "This kind of file is not taken, because it can point to other files or is not a video container; "
        "export the footage as MP4, MOV, MKV, WebM, AVI or MPEG-TS.",
    ),
)
_UNREADABLE = "The file can't be read as video; export it again as MP4 (H.264) and upload that."


def refusal_from(words: str) -> MediaRefused | None:
    """The refusal that the tool's own words call for, or None."""
    if found := _TOO_LARGE.search(words):
        return MediaRefused(
            "too_large",
            f"The picture is {found[1]} × {found[2]} pixels; the most that is taken is 4K "
            f"({limits().max_pixels // 1_000_000} million pixels, such as 3840 × 2160). Export it at 4K or smaller.",
        )
    for pattern, code, sentence in _KNOWN:
        if pattern.search(words):
            return MediaRefused(code, sentence.format(streams=limits().max_streams))
    return None


def _within_limits(header: Header, ended: Ended) -> Header:
    """Newer tools open a file with too many tracks, and only leave the rest of them out."""
    if (refused := refusal_from(ended.words)) and refused.code == "too_many_streams":
        raise refused
    return header


def _cannot_open(ended: Ended) -> MediaRefused:
    return refusal_from(ended.words) or MediaRefused("unreadable", _UNREADABLE)
