"""Reads: what pages and later stages ask about tracks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.db.models import QuerySet

from anatomy.motion.curves import Smoothing
from breakdowns.footage.file_names import NotInFolder
from breakdowns.footage.models import Source
from breakdowns.footage.selectors import master_path

from .models import Track, TrackRevision
from .plot import Plot, speed_plot
from .reckoning import Reckoned, TrackFacts


def picture_size(source: Source) -> tuple[int, int]:
    """Source pixels as shown upright, before the pixel aspect."""
    size = source.width or 1, source.height or 1
    return (size[1], size[0]) if source.rotation in (90, 270) else size


def upright_aspect(source: Source) -> float:
    """Width of a pixel over its height, as shown upright."""
    aspect = source.pixel_aspect
    return float(1 / aspect if source.rotation in (90, 270) else aspect)


def track_facts(track: Track) -> TrackFacts:
    """What the track is computed from."""
    return TrackFacts(
        track.source.rate,
        picture_size(track.source),
        upright_aspect(track.source),
        track.landmarks,
        track.chain,
        track.side,
        tuple(track.key_frames),
        Smoothing(track.smoothing, track.cutoff_hz if track.smoothing == "given" else None),
        track.click_sd_px,
    )


@lru_cache(maxsize=16)
def _kept(key: str, version: int, facts: _ByKey) -> Reckoned:
    return Reckoned(facts.facts)


@dataclass(frozen=True)
class _ByKey:
    """Facts that count as equal, since key and version tell them apart already."""

    facts: TrackFacts

    def __hash__(self) -> int:
        return 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ByKey)


def reckoned(track: Track) -> Reckoned:
    """Curves, peaks and lags of a track as it stands; kept for its version. Raises nothing for a track without points."""
    return _kept(f"{track.key} {track.source.rate}", track.version, _ByKey(track_facts(track)))


def track_plot(track: Track) -> Plot:
    """The curves of angular velocity, to be drawn with ``plot.plot_svg``; seconds are those of the source's clock."""
    return speed_plot(reckoned(track))


def tracks_listed() -> QuerySet[Track]:
    """Every track, the latest changed first."""
    return (
        Track.objects.select_related("source__event", "excerpt")
        .defer("landmarks")
        .order_by("-changed_at", "-pk")
    )


def picture_is_there(source: Source) -> bool:
    """Whether frames of the source can still be read."""
    try:
        return source.is_ready and master_path(source).is_file()
    except (NotInFolder, OSError):
        return False


def next_steps(track: Track) -> tuple[TrackRevision | None, TrackRevision | None]:
    """The change that undo takes back, and the one that redo has back."""
    rows = track.revisions.defer("change")
    return (
        rows.filter(undone=False).order_by("-number").first(),
        rows.filter(undone=True).order_by("number").first(),
    )
