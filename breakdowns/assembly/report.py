"""What a render tells afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from breakdowns.footage.timebase import Span

__all__ = ["BeatReport", "RenderReport"]


@dataclass(frozen=True)
class BeatReport:
    """One beat: its place on the piece's clock, and whether its pictures came out of the cache."""

    id: str
    record: Span
    was_cached: bool
    scratch_voice: bool


@dataclass(frozen=True)
class RenderReport:
    """The finished file and how it came about.

    ``seconds`` is the exact length; ``loudness_lufs`` and ``true_peak_dbtp`` were measured on the file's
    own sound (None: silence); ``gain_db`` was applied to reach the target. ``warnings`` are sentences for
    the person. ``plan`` is what was used of each source, as the ledger reads it.
    """

    path: Path
    frame_count: int
    rate: Fraction
    seconds: Fraction
    width: int
    height: int
    beats: tuple[BeatReport, ...]
    loudness_lufs: float | None
    true_peak_dbtp: float | None
    gain_db: float
    sound_was_cached: bool
    scratch_voice: bool
    warnings: tuple[str, ...]
    plan: dict[str, Any]

    @property
    def cached_count(self) -> int:
        """Beats whose pictures did not have to be encoded."""
        return sum(beat.was_cached for beat in self.beats)
