"""A CMX 3600 edit decision list of a piece, written from the published column layout.

One list has one rate, the piece's; source times are converted to it and a comment gives the exact
source frames. Record and source out points are exclusive. Time zero of a source is its first frame.

Layout (76 characters): event 3 · 2 blanks · reel 8 · 1 · channels 4 · 2 · transition 4 · 1 · length 3
· 1 · source in 11 · 1 · source out 11 · 1 · record in 11 · 1 · record out 11. Sources: column widths
as in open readers of the format; ``M2 reel speed timecode``, speed in frames per second at the list's
rate, 000.0 for a freeze, timecode the in point of the effect: appendix on edit lists in a vendor's
user guide for a conforming suite, and the samples in open readers. 999 events a list, 8 letters or
digits a reel, CRLF line ends: common practice, no source.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from breakdowns.assembly.events import (
    Footage,
    PictureEvent,
    SoundEvent,
    beside_events,
    narration_events,
    picture_events,
)
from breakdowns.assembly.piece import Piece, PlatePicture
from breakdowns.assembly.plain_text import file_name, one_line
from breakdowns.footage.timebase import (
    Span,
    TimeError,
    decimal_text,
    frames_nearest,
    is_drop_frame_rate,
    parse_timecode,
    rational_text,
    timecode,
)

__all__ = ["MOST_EVENTS", "edl_lists", "reel_names"]

MOST_EVENTS = 999
OWN_PICTURE = "AX"


@dataclass(frozen=True)
class _Entry:
    """One event to be written: places in frames at the list's rate, out points exclusive."""

    reel: str
    channels: str
    source: Span
    record: Span
    speed: Fraction = Fraction(1)
    comments: Sequence[str] = field(default_factory=tuple)


def edl_lists(piece: Piece) -> tuple[str, ...]:
    """The piece as one list, or as several of at most 999 events whose record times go on.

    Channels: V picture; A narration on channel 1; A2/V picture with the source's own sound on
    channel 2. Raises TimeError, with what to do, where the rate needs three-digit frames, a time
    lies beyond 24 hours or a speed cannot be written.
    """
    if piece.rate > 100:
        raise TimeError(
            f"An edit list has two digits for frames; {rational_text(piece.rate)} frames a second do not fit. "
            "Assemble the piece at 60 or less."
        )
    entries = _entries(piece)
    parts = [entries[at : at + MOST_EVENTS] for at in range(0, len(entries), MOST_EVENTS)] or [[]]
    titles = _titles(piece.title, len(parts))
    return tuple(_list_text(title, part, piece.rate) for title, part in zip(titles, parts, strict=True))


def reel_names(piece: Piece) -> dict[str, str]:
    """Reel name of each source id and each take path: 8 letters or digits, unique in the piece.

    Up to four letters of the title and four hexadecimal digits drawn from the content's digest, so
    the same source keeps its name in every piece; where two would be called alike, the later one
    moves on to the next digits.
    """
    names: dict[str, str] = {}
    for key, title, seed in _recordings(piece):
        if key in names:
            continue
        stem = (re.sub(r"[^A-Z0-9]", "", _ascii(title).upper())[:4] or "REEL").ljust(4, "X")
        digits = hashlib.sha256(seed.encode("utf-8", "replace")).hexdigest().upper()
        candidates = (stem + digits[at : at + 4] for at in range(len(digits) - 3))
        names[key] = next(name for name in candidates if name not in names.values())
    return names


def _recordings(piece: Piece) -> Iterable[tuple[str, str, str]]:
    """(key, title, seed of the digits) of every recording used, in order of use."""
    for event in picture_events(piece.timeline):
        if event.footage:
            source = event.footage.source
            yield source.id, source.title, source.digest or source.id
    for take in narration_events(piece.timeline):
        yield take.take, "TAKE", f"{take.beat.id}\n{file_name(take.take)}"


def _entries(piece: Piece) -> list[_Entry]:
    """Picture and narration entries by record in point, picture first."""
    reels = reel_names(piece)
    beside = beside_events(piece.timeline)
    entries = [_picture_entry(event, reels, piece.rate, beside) for event in picture_events(piece.timeline)]
    entries += [_take_entry(event, reels) for event in narration_events(piece.timeline)]
    return sorted(entries, key=lambda entry: (entry.record.start, entry.channels == "A"))


def _picture_entry(
    event: PictureEvent, reels: dict[str, str], rate: Fraction, beside: Sequence[PictureEvent]
) -> _Entry:
    if event.footage is None:
        played = Span(0, event.record.frame_count, rate)
        return _Entry(OWN_PICTURE, "V", played, event.record, comments=_own_comments(event))
    return _Entry(
        reel=reels[event.footage.source.id],
        channels="A2/V" if event.has_original_sound else "V",
        source=_source_span(event, event.footage),
        record=event.record,
        speed=event.speed,
        comments=[*_source_comments(event, event.footage), *_beside_comments(event, beside)],
    )


def _source_span(event: PictureEvent, footage: Footage) -> Span:
    """What is taken of the source, in frames at the list's rate.

    At full speed exactly as long as the record span (only an M2 line makes another length legal);
    a freeze is one frame long.
    """
    rate = event.record.rate
    start = frames_nearest(footage.span.start_seconds, rate).count
    if event.stands:
        return Span(start, start + 1, rate)
    if event.speed != 1:
        end = frames_nearest(footage.span.end_seconds_exclusive, rate).count
        return Span(start, max(end, start + 1), rate)
    length = event.record.frame_count
    there = frames_nearest(footage.source.duration, rate).count
    start = max(0, min(start, there - length))
    return Span(start, start + length, rate)


def _take_entry(event: SoundEvent, reels: dict[str, str]) -> _Entry:
    comments = [f"FROM CLIP NAME: NARRATION {event.beat.id}", f"SOURCE FILE: {file_name(event.take)}"]
    if event.missing:
        comments.append(f"THE LAST {decimal_text(event.missing, 2)} S OF THIS TAKE DO NOT FIT")
    played = Span(0, event.record.frame_count, event.record.rate)
    return _Entry(reels[event.take], "A", played, event.record, comments=comments)


def _own_comments(event: PictureEvent) -> list[str]:
    picture = event.picture
    if isinstance(picture, PlatePicture):
        name = one_line(picture.title) or picture.kind
        return [f"FROM CLIP NAME: {name}", f"OWN PLATE: {picture.kind.upper()}"]
    name = one_line(event.beat.heading) or "To camera"
    return [f"FROM CLIP NAME: {name}", "TO CAMERA"]


def _source_comments(event: PictureEvent, footage: Footage) -> list[str]:
    source, span, rate = footage.source, footage.span, event.record.rate
    theirs = rational_text(source.rate)
    comments = [f"FROM CLIP NAME: {footage.name}", f"SOURCE FILE: {file_name(source.path)}"]
    if event.stands:
        comments.append(f"SOURCE FRAME {span.start} AT {theirs} FRAMES/S, FROZEN")
    else:
        comments.append(f"SOURCE FRAMES {span.start} TO {span.end} (EXCLUSIVE) AT {theirs} FRAMES/S")
    if source.rate != rate:
        comments.append(f"SOURCE TIMES CONVERTED FROM {theirs} TO {rational_text(rate)} FRAMES/S")
    if event.speed not in (0, 1):
        comments.append(f"SPEED {rational_text(event.speed)} OF FULL SPEED EXACTLY")
    if event.mirrored:
        comments.append("MIRRORED LEFT TO RIGHT")
    return comments


def _beside_comments(event: PictureEvent, beside: Sequence[PictureEvent]) -> list[str]:
    """What stands in the other half during an event. The list has one picture track, so it can only be told."""
    comments = []
    for other in beside:
        start, end = max(other.record.start, event.record.start), min(other.record.end, event.record.end)
        if other.footage is None or start >= end:
            continue
        told = f"IN THE OTHER HALF FOR {end - start} FRAMES FROM {_time(start, event.record.rate)}"
        comments += [told, *(f"BESIDE: {line}" for line in _source_comments(other, other.footage))]
    return comments


def _list_text(title: str, entries: Sequence[_Entry], rate: Fraction) -> str:
    drop = is_drop_frame_rate(rate)
    lines = [f"TITLE: {title}", "FCM: DROP FRAME" if drop else "FCM: NON-DROP FRAME"]
    for number, entry in enumerate(entries, start=1):
        lines.append(_event_line(number, entry))
        if entry.speed != 1:
            lines.append(_motion_line(entry))
        lines += [f"* {one_line(comment)}" for comment in entry.comments]
    return "".join(f"{line}\r\n" for line in lines)


def _event_line(number: int, entry: _Entry) -> str:
    places = (entry.source.start, entry.source.end, entry.record.start, entry.record.end)
    times = " ".join(_time(frame, entry.record.rate) for frame in places)
    return f"{number:03d}  {entry.reel:<8} {entry.channels:<4}  {'C':<4} {'':<3} {times}"


def _motion_line(entry: _Entry) -> str:
    """Speed to a tenth of a frame a second; 000.0 is kept for freezes, the exact speed is a comment."""
    tenths = frames_nearest(entry.speed * entry.record.rate, Fraction(10)).count
    tenths = max(tenths, 1) if entry.speed else 0
    if tenths > 9999:
        raise TimeError(f"{rational_text(entry.speed)} times full speed is more than an edit list can say.")
    speed = f"{tenths // 10:03d}.{tenths % 10}"
    return f"M2   {entry.reel:<8}       {speed}                {_time(entry.source.start, entry.record.rate)}"


def _time(frame: int, rate: Fraction) -> str:
    label = timecode(frame, rate)
    if parse_timecode(label, rate) != frame:
        raise TimeError(f"Frame {frame} lies beyond the 24 hours that a timecode can name.")
    return label


def _titles(title: str, count: int) -> list[str]:
    name = _ascii(one_line(title))[:60].strip() or "UNTITLED"
    return [name] if count == 1 else [f"{name} PART {number}" for number in range(1, count + 1)]


def _ascii(text: str) -> str:
    """Plain ASCII of a title: accents off, whatever is left over as a blank."""
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    kept = (char if char.isascii() else " " for char in plain if not unicodedata.combining(char))
    return " ".join("".join(kept).split())
