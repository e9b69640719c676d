"""What a piece's timeline holds as edit events: one for every unbroken way of playing one thing.

An excerpt with a hold makes two events (it moves, then it stands), everything else makes one.
Interchange files are written from these events, so they all tell the same story.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from breakdowns.assembly.original_sound import can_sound
from breakdowns.assembly.piece import (
    ExcerptPicture,
    FootagePicture,
    Picture,
    PieceBeat,
    PieceSource,
    PlacedBeat,
    StillPicture,
    Timeline,
    views_of,
)
from breakdowns.footage.timebase import Span, frames_nearest

__all__ = ["Footage", "PictureEvent", "SoundEvent", "beside_events", "narration_events", "picture_events"]


@dataclass(frozen=True)
class Footage:
    """What an event takes of a source, on the source's clock: [in, out) of what moves, the one frame
    of what stands. ``name`` is the excerpt's or still's, else the source's title."""

    source: PieceSource
    span: Span
    name: str


@dataclass(frozen=True)
class PictureEvent:
    """One stretch of picture. ``record`` is on the piece's clock; ``footage`` is None for pictures of
    our own. ``speed`` is 0 for what stands and 1 for pictures of our own. ``is_beside``: it is the second view."""

    beat: PieceBeat
    record: Span
    footage: Footage | None
    speed: Fraction
    is_beside: bool = False

    @property
    def picture(self) -> Picture:
        return views_of(self.beat.picture)[1] if self.is_beside else self.beat.picture

    @property
    def stands(self) -> bool:
        return self.speed == 0

    @property
    def mirrored(self) -> bool:
        return isinstance(self.picture, ExcerptPicture | StillPicture) and self.picture.mirrored

    @property
    def has_original_sound(self) -> bool:
        """True where the source's own sound is heard: while it moves, and not too slowly or too fast."""
        return not self.stands and isinstance(self.picture, ExcerptPicture) and can_sound(self.picture)


@dataclass(frozen=True)
class SoundEvent:
    """A take of a beat's words on the piece's clock, from the first frame of its beat.

    ``take`` is its path; ``missing`` the seconds of it that its beat has no time for (0 where all of
    it is heard).
    """

    beat: PieceBeat
    record: Span
    take: str
    missing: Fraction


def picture_events(timeline: Timeline) -> tuple[PictureEvent, ...]:
    """All picture events in order, without gaps: their lengths add up to the timeline's."""
    return tuple(event for placed in timeline.placed for event in _events_of(placed))


def beside_events(timeline: Timeline) -> tuple[PictureEvent, ...]:
    """The events of second views, in order; between them there is nothing beside."""
    return tuple(
        replace(event, is_beside=True)
        for placed in timeline.placed
        for view in views_of(placed.beat.picture)[1:]
        for event in _view_events(placed, view, placed.moving_beside)
    )


def _events_of(placed: PlacedBeat) -> Iterator[PictureEvent]:
    picture = placed.beat.picture
    if isinstance(picture, ExcerptPicture | StillPicture):
        yield from _view_events(placed, picture, placed.moving_frames)
    else:
        yield PictureEvent(placed.beat, placed.record, None, Fraction(1))


def _view_events(placed: PlacedBeat, view: FootagePicture, moving: int) -> Iterator[PictureEvent]:
    beat, record = placed.beat, placed.record
    if isinstance(view, StillPicture):
        yield PictureEvent(beat, record, _footage(view, view.frame), Fraction(0))
        return
    moves, stands = record.split_at(record.start + moving)
    yield PictureEvent(beat, moves, _footage(view, view.in_frame, view.out_frame), view.speed)
    if stands.frame_count:
        yield PictureEvent(beat, stands, _footage(view, view.out_frame - 1), Fraction(0))


def _footage(picture: FootagePicture, start: int, end: int | None = None) -> Footage:
    span = Span(start, start + 1 if end is None else end, picture.source.rate)
    return Footage(picture.source, span, picture.name or picture.source.title)


def narration_events(timeline: Timeline) -> tuple[SoundEvent, ...]:
    """The takes in order, each from the first frame of its beat and cut where its beat ends.

    A take whose length is not known (``words_seconds`` 0) is given its beat's length.
    """
    return tuple(_take_event(placed, placed.beat.take) for placed in timeline.placed if placed.beat.take)


def _take_event(placed: PlacedBeat, take: str) -> SoundEvent:
    record = placed.record
    seconds = placed.beat.words_seconds or record.seconds
    length = min(max(1, frames_nearest(seconds, record.rate).count), record.frame_count)
    is_cut = length == record.frame_count
    missing = max(Fraction(0), seconds - record.seconds) if is_cut else Fraction(0)
    return SoundEvent(placed.beat, Span(record.start, record.start + length, record.rate), take, missing)
