"""A piece as an OpenTimelineIO timeline.

OpenTimelineIO keeps a time as a floating point value and rate, so lengths are written in whole frames
at the piece's rate and in points in whole frames at the source's, and the exact rational numbers
stand as text in the metadata under ``stancewright``. A clip's length is its length on the timeline;
time effects say how its media is played and do not change it (OpenTimelineIO documentation, "Time
effects"). Media is referred to by file name, relative to the timeline file: never by where it is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any
from urllib.parse import quote

import opentimelineio as otio

from breakdowns.assembly.chapters import chapters_of
from breakdowns.assembly.events import (
    PictureEvent,
    SoundEvent,
    beside_events,
    narration_events,
    picture_events,
)
from breakdowns.assembly.piece import Piece, PieceSource, PlatePicture, views_of
from breakdowns.assembly.plain_text import file_name, one_line
from breakdowns.footage.timebase import Span, rational_text

__all__ = ["METADATA_KEY", "otio_text", "otio_timeline"]

METADATA_KEY = "stancewright"


def otio_text(piece: Piece) -> str:
    """The timeline as OpenTimelineIO JSON."""
    return str(otio.adapters.write_to_string(otio_timeline(piece), "otio_json"))


def otio_timeline(piece: Piece) -> otio.schema.Timeline:
    """One video track without gaps, a second one above it for views beside those, audio tracks for takes and original sound where there are any,
    and the chapters as markers on the whole."""
    timeline = otio.schema.Timeline(
        name=one_line(piece.title),
        global_start_time=_moment(0, piece.rate),
        metadata={METADATA_KEY: _piece_facts(piece)},
    )
    events = picture_events(piece.timeline)
    timeline.tracks.append(_track("Picture", otio.schema.TrackKind.Video, map(_picture_clip, events)))
    if second := [(event.record, _picture_clip(event)) for event in beside_events(piece.timeline)]:
        timeline.tracks.append(_track("Beside", otio.schema.TrackKind.Video, _with_gaps(second)))
    takes = narration_events(piece.timeline)
    heard = [event for event in events if event.has_original_sound]
    for name, clips in (
        ("Narration", [(event.record, _take_clip(event)) for event in takes]),
        ("Original sound", [(event.record, _original_sound_clip(event)) for event in heard]),
    ):
        if clips:
            timeline.tracks.append(_track(name, otio.schema.TrackKind.Audio, _with_gaps(clips)))
    timeline.tracks.markers.extend(_markers(piece))
    return timeline


def _moment(frame: int, rate: Fraction) -> otio.opentime.RationalTime:
    return otio.opentime.RationalTime(frame, float(rate))


def _range(span: Span) -> otio.opentime.TimeRange:
    return otio.opentime.TimeRange(_moment(span.start, span.rate), _moment(span.frame_count, span.rate))


def _track(name: str, kind: str, items: Iterable[otio.core.Item]) -> otio.schema.Track:
    track = otio.schema.Track(name=name, kind=kind)
    track.extend(list(items))
    return track


def _with_gaps(clips: Iterable[tuple[Span, otio.schema.Clip]]) -> Iterator[otio.core.Item]:
    """The clips with silence before each, so that each starts at its record in point."""
    at = 0
    for record, clip in clips:
        if record.start > at:
            yield otio.schema.Gap(source_range=_range(Span(0, record.start - at, record.rate)))
        yield clip
        at = record.end


def _picture_clip(event: PictureEvent) -> otio.schema.Clip:
    return otio.schema.Clip(
        name=_name(event),
        media_reference=_media(event.footage.source) if event.footage else _own_picture(event),
        source_range=_source_range(event),
        effects=_effects(event),
        metadata={METADATA_KEY: _event_facts(event)},
    )


def _original_sound_clip(event: PictureEvent) -> otio.schema.Clip:
    """The same media and speed as the picture, without what only a picture can have."""
    clip = _picture_clip(event)
    clip.effects[:] = _speed_effects(event)
    return clip


def _take_clip(event: SoundEvent) -> otio.schema.Clip:
    played = Span(0, event.record.frame_count, event.record.rate)
    facts = {
        "beat": one_line(event.beat.id),
        "kind": "take",
        "words_seconds": rational_text(event.beat.words_seconds),
        "missing_seconds": rational_text(event.missing),
    }
    return otio.schema.Clip(
        name=one_line(event.beat.heading) or f"Take {one_line(event.beat.id)}",
        media_reference=otio.schema.ExternalReference(target_url=quote(file_name(event.take))),
        source_range=_range(played),
        metadata={METADATA_KEY: facts},
    )


def _source_range(event: PictureEvent) -> otio.opentime.TimeRange:
    """From the in point, exact on the source's clock, for the record length, exact on the piece's."""
    first = event.footage.span if event.footage else Span(0, 0, event.record.rate)
    length = _moment(event.record.frame_count, event.record.rate)
    return otio.opentime.TimeRange(_moment(first.start, first.rate), length)


def _media(source: PieceSource) -> otio.schema.ExternalReference:
    facts = {
        "source": one_line(source.id),
        "title": one_line(source.title),
        "digest": one_line(source.digest),
        "rate": rational_text(source.rate),
        "frame_count": str(source.frame_count),
        "pixel_aspect": rational_text(source.pixel_aspect),
        "event": one_line(source.event),
        "view": one_line(source.view),
        "rights_holder": one_line(source.rights_holder),
        "attribution": one_line(source.attribution),
    }
    return otio.schema.ExternalReference(
        target_url=quote(file_name(source.path)),
        available_range=_range(Span(0, source.frame_count, source.rate)),
        metadata={METADATA_KEY: facts},
    )


def _own_picture(event: PictureEvent) -> otio.core.MediaReference:
    """Plates are made by the assembly; a to-camera picture has no recording to refer to."""
    picture = event.picture
    if not isinstance(picture, PlatePicture):
        return otio.schema.MissingReference(name="To camera")
    return otio.schema.GeneratorReference(
        name=one_line(picture.title),
        generator_kind=f"{METADATA_KEY}.plate.{picture.kind}",
        available_range=_range(Span(0, event.record.frame_count, event.record.rate)),
        parameters={
            "title": one_line(picture.title),
            "text": picture.text.replace("\0", ""),
            "disclosure": one_line(picture.disclosure),
        },
    )


def _effects(event: PictureEvent) -> list[otio.schema.Effect]:
    mirror = [otio.schema.Effect(name="Mirrored left to right", effect_name=f"{METADATA_KEY}.mirror")]
    return _speed_effects(event) + (mirror if event.mirrored else [])


def _speed_effects(event: PictureEvent) -> list[otio.schema.Effect]:
    if event.stands:
        return [otio.schema.FreezeFrame()]
    if event.speed == 1:
        return []
    return [otio.schema.LinearTimeWarp(name="Speed", time_scalar=float(event.speed))]


def _name(event: PictureEvent) -> str:
    named = event.footage.name if event.footage else ""
    if isinstance(event.picture, PlatePicture):
        named = event.picture.title or event.picture.kind
    return one_line(named) or one_line(event.beat.heading) or "To camera"


def _event_facts(event: PictureEvent) -> dict[str, Any]:
    """Everything exact about an event, numbers as text of a rational number."""
    facts: dict[str, Any] = {
        "beat": one_line(event.beat.id),
        "kind": type(event.picture).__name__.removesuffix("Picture").lower(),
        "phase": one_line(event.beat.phase),
        "record": _span_facts(event.record),
        "speed": rational_text(event.speed),
        "mirrored": event.mirrored,
    }
    if half := _half(event):
        facts["half"] = half
    if event.footage:
        facts |= {"source": one_line(event.footage.source.id), "taken": _span_facts(event.footage.span)}
    return facts


def _half(event: PictureEvent) -> str:
    """Which of two views beside each other it is; "" where there is one."""
    if event.is_beside:
        return "second"
    return "first" if len(views_of(event.beat.picture)) > 1 else ""


def _span_facts(span: Span) -> dict[str, str]:
    return {"in": str(span.start), "out": str(span.end), "rate": rational_text(span.rate)}


def _piece_facts(piece: Piece) -> dict[str, Any]:
    return {
        "slug": one_line(piece.slug),
        "language": one_line(piece.language),
        "rate": rational_text(piece.rate),
        "frame_count": str(piece.timeline.frame_count),
        "seconds": rational_text(piece.timeline.seconds),
        "size": [piece.width, piece.height],
        "scratch_voice": piece.scratch_voice,
    }


def _markers(piece: Piece) -> list[otio.schema.Marker]:
    return [
        otio.schema.Marker(
            name=chapter.title,
            marked_range=_range(chapter.span),
            color=otio.schema.MarkerColor.WHITE,
            metadata={METADATA_KEY: {"kind": "chapter", "span": _span_facts(chapter.span)}},
        )
        for chapter in chapters_of(piece)
    ]
