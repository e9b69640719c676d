"""How the finished file is encoded: settings as data, and the arguments that they become."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from .tables import rows

__all__ = ["REORDER", "EncoderSettings", "house_settings", "picture_options"]

# x264 holds back two frames at most (B-frames that are referred to once: its default pyramid).
REORDER = 2

# Whatever the source was, the output is BT.709 at video range (ITU-R BT.709-6).
_COLOUR = {"colorspace": "bt709", "color_primaries": "bt709", "color_trc": "bt709", "color_range": "tv"}


@dataclass(frozen=True)
class EncoderSettings:
    """H.264 and AAC settings; every one of them is part of a segment's identity."""

    preset: str
    profile: str
    crf: int
    threads: int
    keyframe_every: int
    audio_kbps: int


@cache
def house_settings() -> EncoderSettings:
    """The settings of ``encoder.csv``; TypeError when table and fields do not match."""
    values = {row["name"]: row["value"] for row in rows("encoder")}
    return EncoderSettings(**{k: int(v) if v.isdigit() else v for k, v in values.items()})  # type: ignore[arg-type]


def picture_options(settings: EncoderSettings, rate: Fraction) -> dict[str, Any]:
    """Output options for one segment: H.264 4:2:0 8 bit at exactly ``rate``, one tick = 1/numerator s.

    ``stitchable`` keeps x264 from fitting the headers to the content, so that all segments share them.
    """
    return {
        "format": "mp4",
        "vcodec": "libx264",
        "preset": settings.preset,
        "profile:v": settings.profile,
        "crf": settings.crf,
        "threads": settings.threads,
        "g": settings.keyframe_every,
        "x264-params": "stitchable=1",
        "pix_fmt": "yuv420p",
        "r": f"{rate.numerator}/{rate.denominator}",
        "fps_mode": "cfr",
        "video_track_timescale": rate.numerator,
        "map_metadata": -1,
        **_COLOUR,
    }
