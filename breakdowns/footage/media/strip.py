"""The strip under the player: small stills along the whole length, in one picture."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from fractions import Fraction
from pathlib import Path

from PIL import Image

from .child import Progress, Stopped
from .errors import MediaStopped
from .frames import extract_frame, extract_in_one_pass
from .limits import presets
from .locate import Tools, find_ffmpeg
from .output import made_whole
from .probe import Probe

__all__ = ["Strip", "make_strip", "strip_frames"]

_FORMATS = {".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}
_WIDEST = 16383  # WebP: 14 bits of width (RFC 9649, 2.5)


@dataclass(frozen=True, slots=True)
class Strip:
    """One row of stills, left to right, each ``width`` × ``height`` pixels; ``frames`` says which."""

    width: int
    height: int
    frames: tuple[int, ...]


def strip_frames(frame_count: int, count: int) -> list[int]:
    """The middle frame of each of ``count`` equal parts; all frames where there are fewer. Exact."""
    count = min(count, frame_count)
    return [(2 * part + 1) * frame_count // (2 * count) for part in range(count)]


def make_strip(
    path: Path | str,
    probe: Probe,
    out: Path | str,
    *,
    count: int = 60,
    height: int = 54,
    tools: Tools | None = None,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> Strip:
    """Write ``out`` (.jpg or .webp) and, beside it with the suffix .json, which frame each still is.

    Give it the browser copy of long footage: the frames are the same and come quicker. Raises
    ValueError for another suffix or sizes below 1; MediaFailed, MediaStopped, MediaToolMissing, and then
    both files are as they were before.
    """
    out = Path(out)
    kind = _FORMATS.get(out.suffix.lower())
    if kind is None or count < 1 or height < 1:
        raise ValueError(f"A strip is a .jpg or .webp of at least one still, not {out.name!r}.")
    width = max(1, round(Fraction(height * probe.display_width, probe.display_height)))
    if width * min(count, probe.frame_count) > _WIDEST:
        raise ValueError(f"{count} stills of {width} pixels do not fit in one row of {_WIDEST} pixels.")
    strip = Strip(width, height, tuple(strip_frames(probe.frame_count, count)))
    stills = _stills(path, probe, strip, tools or find_ffmpeg(), progress, stopped)
    with made_whole(out, out.with_suffix(".json")) as (sheet, listing):
        _pasted(stills, strip).save(sheet, kind, quality=presets().strip_quality)
        listing.write_text(json.dumps(asdict(strip)), encoding="utf-8")
    return strip


def _stills(
    path: Path | str,
    probe: Probe,
    strip: Strip,
    tools: Tools,
    progress: Progress | None,
    stopped: Stopped | None,
) -> list[Image.Image]:
    """Short footage is decoded once from end to end; in long footage each still is sought."""
    size, wanted = (strip.width, strip.height), list(strip.frames)
    if probe.is_variable_rate or probe.frame_count < presets().strip_seek_from * len(wanted):
        return extract_in_one_pass(path, probe, wanted, size, tools=tools, stopped=stopped)
    stills = []
    for frame in wanted:
        if stopped and stopped():
            raise MediaStopped
        still = extract_frame(path, probe, frame, width=strip.width, tools=tools, stopped=stopped)
        stills.append(still.resize(size))
        if progress:
            progress(len(stills), len(wanted))
    return stills


def _pasted(stills: list[Image.Image], strip: Strip) -> Image.Image:
    sheet = Image.new("RGB", (strip.width * len(stills), strip.height))
    for place, still in enumerate(stills):
        sheet.paste(still, (place * strip.width, 0))
    return sheet
