"""The sound of footage, brought to one even form and to the picture's own beginning.

Broadcasts change from two channels to six and back, and damaged sound breaks off. Were it decoded beside
the picture, either would start the picture's filters anew. So the sound is first written out by itself,
as plain samples that keep their own times, and only then laid under the picture.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg

from ..timebase import decimal_text
from .child import Stopped
from .convert import convert
from .errors import DiskFull, MediaFailed
from .guard import PROTOCOLS, file_name, opened
from .limits import presets
from .locate import Tools
from .probe import Probe

__all__ = ["SILENT", "even_sound"]

SILENT = "The sound of the footage can't be read; its copies are silent."
_NEXT_TO_NOTHING = 2048  # bytes: a container's head and less than a hundredth of a second


def even_sound(
    path: Path | str, probe: Probe, seconds: Fraction, beside: Path, tools: Tools, stopped: Stopped | None
) -> Any | None:
    """An ffmpeg-python node of the sound from the moment of frame 0 on, ``seconds`` long, in stereo.

    Silence stands where the footage has none. The samples are written next to ``beside``, which is in a
    folder that is thrown away. None for footage without sound, or whose sound can't be read. Raises
    DiskFull, MediaStopped.
    """
    if not probe.has_audio:
        return None
    samples = beside.with_suffix(".nut")
    try:
        convert(tools, _samples_only(path, probe, samples), samples, total=0, stopped=stopped)
    except DiskFull:
        raise
    except MediaFailed:
        return None
    return _from_frame_zero(samples, probe, seconds) if _holds_sound(samples) else None


def _samples_only(path: Path | str, probe: Probe, samples: Path) -> list[str]:
    source = opened(path, copyts=None, vn=None)
    return ffmpeg.get_args(
        source[str(probe.audio_stream)].output(
            file_name(samples),
            acodec="pcm_s16le",
            ac=2,
            ar=presets().audio_hertz,
            avoid_negative_ts="disabled",
            map_metadata=-1,
            format="nut",
        )
    )


def _holds_sound(samples: Path) -> bool:
    return samples.exists() and samples.stat().st_size > _NEXT_TO_NOTHING


def _from_frame_zero(samples: Path, probe: Probe, seconds: Fraction) -> Any:
    source = ffmpeg.input(file_name(samples), f="nut", protocol_whitelist=",".join(PROTOCOLS), copyts=None)
    return (
        source.audio.filter("asetpts", f"PTS-({decimal_text(probe.grid_start, 9)})/TB")
        .filter("atrim", start=0)
        .filter("aresample", presets().audio_hertz, **{"async": 1, "first_pts": 0})
        .filter("apad")
        .filter("atrim", end=decimal_text(seconds, 9))
    )
