"""What was measured on the pictures of a script: by the marks of their stills, and by the tracks of their footage."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from django.db.models import Q

from anatomy.motion.catalogue import MEASURES
from anatomy.motion.facts import (
    Measured,
    MeasuredAngle,
    MeasuredOrder,
    MeasuredSpeed,
    order_fact,
    speed_fact,
)
from breakdowns.footage.models import Source
from breakdowns.scripts.models import Beat
from breakdowns.stills.marks import MarksError
from breakdowns.stills.models import Still
from breakdowns.stills.selectors import still_measures
from breakdowns.tracks.models import Track
from breakdowns.tracks.selectors import reckoned

__all__ = ["measured_of"]


def measured_of(shown: Mapping[int, tuple[Beat, Source, int, int]]) -> dict[int, Measured]:
    """By beat's id, what is known of its picture. ``shown``: the beat with source, first frame and frame after the last.

    A beat has the marks of the very frame that it stands on, and the tracks that run through what it shows.
    """
    tracks = _tracks_over(shown)
    found = {}
    for pk, (beat, source, start, end) in shown.items():
        angles = _angles(beat.marked) if beat.marked is not None else ()
        orders: list[MeasuredOrder] = []
        speeds: list[MeasuredSpeed] = []
        for track in tracks[source.pk]:
            if track.in_frame < end and start < track.out_frame:
                facts = _track_facts(track)
                orders += facts[0]
                speeds += facts[1]
        one = Measured(angles, _agreeing(orders), tuple(speeds), source.rate, end - start > 1, beat.mirrored)
        if one:
            found[pk] = one
    return found


def _tracks_over(shown: Mapping[int, tuple[Beat, Source, int, int]]) -> dict[int, list[Track]]:
    by_source: dict[int, list[Track]] = defaultdict(list)
    wanted = Q()
    for _, source, start, end in shown.values():
        wanted |= Q(source_id=source.pk, in_frame__lt=end, out_frame__gt=start)
    if shown:
        for track in Track.objects.filter(wanted).select_related("source").defer("landmarks"):
            by_source[track.source_id].append(track)
    return by_source


def _agreeing(orders: list[MeasuredOrder]) -> tuple[MeasuredOrder, ...]:
    """Orders of several tracks, without those that another track has the other way round."""
    settled = {(one.first, one.second) for one in orders if one.order == "settled"}
    return tuple(replace(one, order="open") if (one.second, one.first) in settled else one for one in orders)


def _angles(still: Still) -> tuple[MeasuredAngle, ...]:
    return _kept_angles(str(still.key), still.version, _Held(still))


def _track_facts(track: Track) -> tuple[tuple[MeasuredOrder, ...], tuple[MeasuredSpeed, ...]]:
    return _kept_facts(f"{track.key} {track.source.rate} {track.name}", track.version, _Held(track))


class _Held:
    """A record that counts as equal, since key and version tell it apart already."""

    def __init__(self, record: Still | Track) -> None:
        self.record = record

    def __hash__(self) -> int:
        return 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held)


@lru_cache(maxsize=256)
def _kept_angles(key: str, version: int, held: _Held) -> tuple[MeasuredAngle, ...]:
    still = held.record
    assert isinstance(still, Still)
    try:
        rows = still_measures(still)
    except MarksError:
        return ()
    return tuple(
        MeasuredAngle(
            row.key,
            row.name,
            row.value,
            row.sd,
            row.unit,
            still.frame,
            row.caution,
            row.suggested,
            "the still",
        )
        for row in rows
        if row.key in MEASURES and row.value is not None and row.sd is not None
    )


@lru_cache(maxsize=256)
def _kept_facts(
    key: str, version: int, held: _Held
) -> tuple[tuple[MeasuredOrder, ...], tuple[MeasuredSpeed, ...]]:
    track = held.record
    assert isinstance(track, Track)
    done, where = reckoned(track), f"the track “{track.name}”"
    orders = tuple(order_fact(lag, track.side, where) for lag in done.lags)
    return orders, tuple(speed_fact(peak, track.side, where) for peak in done.peaks)
