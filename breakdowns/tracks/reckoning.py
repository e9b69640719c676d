"""A track measured: curves of its chain with their errors, peaks in order of time, lags and their sentences.

Everything is computed by ``anatomy.motion``; here its parts are put together for one chain of segments.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

import numpy as np

from anatomy.motion.catalogue import segment_direction
from anatomy.motion.curves import SegmentCurve, Smoothing, segment_curve
from anatomy.motion.cutoff import ResidualAnalysis, residual_analysis
from anatomy.motion.document import FrameRow, Request
from anatomy.motion.measure import Measured
from anatomy.motion.points import Floats, Picture
from anatomy.motion.sequence import Lag, LeftOut, Peak, find_peak, lags_between
from anatomy.motion.tracks import Grid
from anatomy.motion.wording import lag_sentence

from .bands import curve_spread
from .document import Points

__all__ = ["CHAINS", "Reckoned", "TrackFacts", "segment_words", "sentence_of"]

CHAINS = {
    "arm": ("pelvis", "trunk", "upper_arm", "forearm"),
    "leg": ("pelvis", "thigh", "shank", "foot"),
}


def segment_words(segment: str) -> str:
    """``upper_arm`` → upper arm."""
    return segment.replace("_", " ")


def sentence_of(lag: Lag) -> str:
    """The lag as a whole sentence: ``"Pelvis leads trunk by 46 ± 12 ms."``"""
    said = lag_sentence(lag)
    return f"{said[0].upper()}{said[1:]}."


class _Gridded(Measured):
    """Measured on every frame of the track where key frames ask for what lies between them."""

    @cached_property
    def grid(self) -> Grid:
        if not self.request.key_frames:
            return super().grid
        numbers = [row.frame for row in self.request.frames]
        return Grid(min(numbers), 1, max(numbers) - min(numbers) + 1, self.request.rate)


@dataclass(frozen=True)
class TrackFacts:
    """What a track is computed from. ``size`` in source pixels upright, ``key_frames`` as named."""

    rate: Fraction
    size: tuple[int, int]
    pixel_aspect: float
    points: Points
    chain: str = "arm"
    side: str = "right"
    key_frames: tuple[int, ...] = ()
    smoothing: Smoothing = field(default_factory=lambda: Smoothing("automatic"))
    click_sd_px: float = 1.5


@dataclass(frozen=True)
class Reckoned:
    """A track's curves and what follows from them, computed when asked for. Arrays run over ``grid``."""

    facts: TrackFacts

    @cached_property
    def measured(self) -> Measured | None:
        """The landmarks on the plane; None where nothing is marked."""
        facts = self.facts
        rows = tuple(
            FrameRow(int(frame), {name: (point[0], point[1]) for name, point in row.items()})
            for frame, row in facts.points.items()
            if row
        )
        if not rows:
            return None
        marked = {row.frame for row in rows}
        request = Request(
            facts.rate, facts.size, Picture(facts.pixel_aspect), facts.click_sd_px, rows, (), facts.side, facts.smoothing,
            tuple(sorted(marked & set(facts.key_frames))), {}, False, (),
        )  # fmt: skip
        return _Gridded(request, None)

    @cached_property
    def grid(self) -> Grid | None:
        return self.measured.grid if self.measured else None

    @cached_property
    def smoothing_asked(self) -> tuple[Smoothing, str]:
        """The smoothing that can be carried out, and why it is not the one asked for."""
        asked, grid = self.facts.smoothing, self.grid
        if asked.cutoff_hz is None or grid is None:
            return asked, ""
        half = grid.hertz / 2
        if half / 1000 <= asked.cutoff_hz < half:
            return asked, ""
        why = (
            f"A cut-off of {asked.cutoff_hz:g} Hz can't be used at {grid.hertz:g} values per second: it must lie between "
            f"{half / 1000:g} and {half:g} Hz. Until you change it, the cut-off is chosen automatically."
        )
        return Smoothing("automatic"), why

    @cached_property
    def curves(self) -> dict[str, SegmentCurve]:
        """The curve of each segment of the chain whose landmarks are together somewhere."""
        if self.measured is None or self.grid is None:
            return {}
        found, tracks = {}, self.measured.tracks
        for segment in CHAINS[self.facts.chain]:
            direction = segment_direction(segment, self.facts.side)
            if all(name in tracks for name in direction.landmarks):
                own = {name: tracks[name] for name in direction.landmarks}
                found[segment] = segment_curve(segment, direction, own, self.grid, self.smoothing_asked[0])
        return found

    @cached_property
    def spreads(self) -> dict[str, tuple[Floats, Floats]]:
        """Standard deviations (T,) of angle and velocity by segment."""
        return {name: curve_spread(curve, self.facts.click_sd_px) for name, curve in self.curves.items()}

    @cached_property
    def found(self) -> list[Peak | LeftOut]:
        return [find_peak(curve, self.facts.click_sd_px) for curve in self.curves.values()]

    @cached_property
    def peaks(self) -> list[Peak]:
        """In order of time."""
        return sorted((one for one in self.found if isinstance(one, Peak)), key=lambda peak: peak.time_s)

    @cached_property
    def left_out(self) -> list[tuple[str, str]]:
        """Segments without a peak, and why."""
        rows = [(one.segment, one.why) for one in self.found if isinstance(one, LeftOut)]
        for segment in CHAINS[self.facts.chain]:
            if segment not in self.curves:
                missing = [
                    n for n in segment_direction(segment, self.facts.side).landmarks if not self._marked(n)
                ]
                said = " and ".join(name.replace("_", " ") for name in missing)
                rows.append((segment, f"{said} {'is' if len(missing) == 1 else 'are'} marked nowhere"))
        return rows

    def _marked(self, name: str) -> bool:
        return self.measured is not None and name in self.measured.tracks

    @cached_property
    def lags(self) -> list[Lag]:
        return lags_between(self.peaks, self.facts.click_sd_px, 1 / self.grid.hertz) if self.grid else []

    @cached_property
    def residuals(self) -> dict[str, ResidualAnalysis]:
        """What the automatic cut-off is read off, by segment; segments too short for it are not there."""
        rows = {name: residual_analysis(curve.raw, curve.grid.hertz) for name, curve in self.curves.items()}
        return {name: one for name, one in rows.items() if one}

    def made(self, names: Sequence[str]) -> Mapping[str, set[int]]:
        """The frames on which each landmark was interpolated."""
        if self.measured is None or self.grid is None:
            return {name: set() for name in names}
        tracks, grid = self.measured.tracks, self.grid
        return {
            name: {grid.frame(int(n)) for n in np.flatnonzero(tracks[name].made)} if name in tracks else set()
            for name in names
        }
