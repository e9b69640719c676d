"""Putting segments and sound together into one MP4, without encoding anything again."""

from __future__ import annotations

import math
import os
import shutil
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from breakdowns.footage.media.guard import file_name
from breakdowns.footage.timebase import decimal_text

from .cache import Workshop
from .encoder import REORDER
from .faults import RenderFailed, disk_fault
from .mp4_boxes import NotWhole, read_track
from .piece import Piece
from .runs import Runs
from .sound_parts import HERTZ
from .tables import rows

__all__ = ["SCRATCH_NOTE", "deliver", "join"]

SCRATCH_NOTE = "Scratch voice: synthetic speech stands in for words that are not recorded yet."
_LARGEST_TIMESCALE = 2**31 - 1


def join(
    piece: Piece,
    segments: Sequence[tuple[Path, int]],
    sound: Path,
    shop: Workshop,
    runs: Runs,
    *,
    has_scratch: bool,
) -> Path:
    """One MP4 of the ``segments`` (path, frames) in order and the ``sound``. Raises RenderFailed,
    RenderStopped.

    The times of the list are rounded to microseconds, so each picture is put on its own whole frame
    again: shown at frame n, decoded in the order it is stored, ``REORDER`` frames ahead.
    """
    script, joined = shop.new("list.ffconcat"), shop.new("joined.mp4")
    script.write_text("\n".join(_script(segments, piece.rate)) + "\n", encoding="ascii")
    tick, ticks = piece.rate.numerator, piece.rate.denominator
    arguments = [
        *("-protocol_whitelist", "file", "-f", "concat", "-safe", "0", "-i", file_name(script)),
        *("-protocol_whitelist", "file", "-f", "mov", "-i", file_name(sound)),
        *("-map", "0:v:0", "-map", "1:a:0", "-c", "copy"),
        *("-bsf:v", f"setts=pts=round(PTS/{ticks})*{ticks}:dts=(N-{REORDER})*{ticks}:duration={ticks}"),
        *("-video_track_timescale", str(tick), "-movie_timescale", str(_movie_timescale(piece.rate))),
        *("-map_metadata", "-1", "-map_chapters", "-1", *_metadata(piece, has_scratch=has_scratch)),
        *("-movflags", "+faststart", "-f", "mp4", "-y", file_name(joined)),
    ]
    runs.ffmpeg(arguments, what="The video")
    _check(joined, piece.timeline.frame_count)
    return joined


def _script(segments: Sequence[tuple[Path, int]], rate: Fraction) -> list[str]:
    lines = ["ffconcat version 1.0"]
    for path, frames in segments:
        lines += [f"file {path.name}", f"duration {decimal_text(frames / rate, 6)}"]
    return lines


def _movie_timescale(rate: Fraction) -> int:
    """A scale on which both a frame's and a sample's length are whole, so that edit lists cut nothing."""
    scale = math.lcm(rate.numerator, HERTZ)
    return scale if scale <= _LARGEST_TIMESCALE else rate.numerator


def _metadata(piece: Piece, *, has_scratch: bool) -> list[str]:
    told = {"title": piece.title, "comment": SCRATCH_NOTE if has_scratch else ""}
    arguments = [
        part for name, text in told.items() if text for part in ("-metadata", f"{name}={_line(text)}")
    ]
    codes = {row["tag"]: row["code"] for row in rows("languages")}
    code = codes.get(piece.language.split("-")[0].lower())
    return [*arguments, *(("-metadata:s:a:0", f"language={code}") if code else ())]


def _line(text: str) -> str:
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())[:500]


def _check(joined: Path, frames: int) -> None:
    try:
        found = read_track(joined).frame_count
    except NotWhole:
        found = 0
    if found != frames:
        raise RenderFailed(
            f"The video came out with {found} of {frames} frames; see whether the disk is full, then render again."
        )


def deliver(joined: Path, out: Path) -> None:
    """Put the finished file in its place at once, replacing what was there. Raises RenderFailed."""
    half = out.with_name(f".{out.name}.{joined.parent.name}")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with open(joined, "rb+") as file:
            os.fsync(file.fileno())
        try:
            os.replace(joined, out)
        except OSError:  # another disk: copy beside it first
            shutil.copyfile(joined, half)
            os.replace(half, out)
    except OSError as error:
        raise disk_fault(error, out.parent) from error
    finally:
        half.unlink(missing_ok=True)
