"""Loudness and true peak of a sound, measured as ITU-R BS.1770 and EBU R 128 say, by ffmpeg's ebur128."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import ffmpeg

from .faults import RenderFailed
from .runs import Runs
from .tables import exact

__all__ = ["Loudness", "measure"]

_INTEGRATED = re.compile(r"^\s+I:\s+(-?[\d.]+|nan|-inf) LUFS", re.MULTILINE)
_PEAK = re.compile(r"^\s+Peak:\s+(-?[\d.]+|-?inf|nan) dBFS", re.MULTILINE)


@dataclass(frozen=True)
class Loudness:
    """``integrated`` LUFS and ``true_peak`` dBTP, to a tenth; None where there is nothing above the gate."""

    integrated: float | None
    true_peak: float | None


def measure(node: Any, what: str, runs: Runs) -> Loudness:
    """Measure the sound of an ffmpeg-python audio node. Raises RenderFailed, RenderStopped.

    Silence, and sound shorter than one block of 400 ms, has no loudness: None.
    """
    heard = node.filter("ebur128", peak="true", framelog="verbose")
    arguments = ffmpeg.get_args(heard.output("-", format="null"))
    words = runs.ffmpeg(arguments, what=what, on_line=lambda line: False)
    summary = words[words.rfind("Summary:") :]
    integrated, peak = _INTEGRATED.search(summary), _PEAK.search(summary)
    if not integrated or not peak:
        raise RenderFailed(f"{what} could not be measured; this ffmpeg's ebur128 filter answers differently.")
    return Loudness(
        _level(integrated[1], float(exact("loudness", "silence"))), _level(peak[1], float("-inf"))
    )


def _level(text: str, floor: float) -> float | None:
    value = float(text)
    return value if value > floor and value < float("inf") else None
