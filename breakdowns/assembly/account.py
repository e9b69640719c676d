"""What an assembly shows and says, beat by beat, kept with it: later edits never reach it."""

from __future__ import annotations

from typing import Any

from breakdowns.contacts.plate import ContactPlate
from breakdowns.footage.timebase import rational_text

from .chapters import chapters_of
from .piece import ExcerptPicture, Piece, PieceSource, PlacedBeat, PlatePicture, StillPicture, views_of


def account_of(piece: Piece) -> dict[str, Any]:
    """JSON: title, exact length, chapters, beats with words and the frame that stands for each, credits."""
    return {
        "title": piece.title,
        "frame_count": piece.timeline.frame_count,
        "rate": rational_text(piece.rate),
        "width": piece.width,
        "height": piece.height,
        "chapters": [{"title": chapter.title, "frame": chapter.span.start} for chapter in chapters_of(piece)],
        "beats": [_beat(placed) for placed in piece.timeline.placed],
        "credits": [_credit(source) for source in sources_of(piece)],
    }


def sources_of(piece: Piece) -> list[PieceSource]:
    """Each source once, in the order of first use."""
    views = (view for beat in piece.beats for view in views_of(beat.picture))
    return list({view.source.id: view.source for view in views}.values())


def telling_frame(placed: PlacedBeat) -> int:
    """The output frame that stands for a beat on a page: in its hold if it has one, else its middle."""
    still = placed.record.frame_count - placed.moving_frames
    if placed.moving_frames and still:
        return placed.record.start + placed.moving_frames + still // 2
    return placed.record.start + placed.record.frame_count // 2


def _beat(placed: PlacedBeat) -> dict[str, Any]:
    picture = placed.beat.picture
    row: dict[str, Any] = {
        "heading": placed.beat.heading,
        "phase": placed.beat.phase,
        "words": placed.beat.words,
        "start_frame": placed.record.start,
        "frame_count": placed.record.frame_count,
        "still_frame": telling_frame(placed),
        "kind": "camera",
    }
    if isinstance(picture, ExcerptPicture | StillPicture):
        sources = list({view.source.id: view.source for view in views_of(picture)}.values())
        lines = dict.fromkeys(source.attribution for source in sources if source.attribution)
        row.update(kind="footage", source=" beside ".join(source.title for source in sources))
        row.update(attribution="; ".join(lines))
    elif isinstance(picture, PlatePicture):
        row.update(kind="plate", plate=picture.kind, plate_title=picture.title, plate_text=picture.text)
    shown = picture.content if isinstance(picture, PlatePicture) else None
    if isinstance(shown, ContactPlate):
        row["plate_sources"] = list(shown.sources)
    owed = (*placed.beat.owed, *(shown.owed if isinstance(shown, ContactPlate) else ()))
    if owed:
        row["owed"] = list(dict.fromkeys(owed))
    if placed.beat.tradeoffs:
        row["tradeoffs"] = [one.row for one in placed.beat.tradeoffs]
    return row


def _credit(source: PieceSource) -> dict[str, Any]:
    return {
        "title": source.title,
        "event": source.event,
        "rights_holder": source.rights_holder,
        "attribution": source.attribution,
        "own_terms": source.own_terms,
    }
