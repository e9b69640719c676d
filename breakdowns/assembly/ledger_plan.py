"""What the laid-out timeline uses of each source, as the plan that the ledger reads. Pure.

Every figure is the timeline's own, in whole output frames: where a beat's length was rounded to frames,
the speed told is the true one, so that screen times add up to the piece exactly.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from breakdowns.footage.timebase import rational_text

from .original_sound import can_sound
from .piece import ExcerptPicture, Piece, PieceSource, PlacedBeat, StillPicture, views_of

__all__ = ["plan_from_piece"]


def plan_from_piece(piece: Piece) -> dict[str, Any]:
    """The plan (``excerpts.plan`` reads it): sources, segments in order, and narration where its length
    is known. A still is an excerpt of no length (in = out) that is held.
    """
    placed = piece.timeline.placed
    plan: dict[str, Any] = {
        "sources": [_source(source) for source in _sources(placed)],
        "segments": [_segment(one, piece.rate) for one in placed],
    }
    if intervals := _narration(placed):
        plan["narration"] = {"intervals": intervals}
    return plan


def _sources(placed: tuple[PlacedBeat, ...]) -> list[PieceSource]:
    """Each source once, in the order of first use."""
    used = (view.source for one in placed for view in views_of(one.beat.picture))
    return list({source.id: source for source in used}.values())


def _source(source: PieceSource) -> dict[str, Any]:
    made: dict[str, Any] = {
        "id": source.id,
        "duration": rational_text(source.duration),
        "rate": {"num": source.rate.numerator, "den": source.rate.denominator},
        "attributed": bool(source.attribution.strip()),
        "terms": "own" if source.own_terms else "third_party",
    }
    return {**made, "event": source.event} if source.event else made


def _segment(placed: PlacedBeat, rate: Fraction) -> dict[str, Any]:
    picture = placed.beat.picture
    if isinstance(picture, ExcerptPicture):
        return _excerpt(picture, placed, rate)
    if isinstance(picture, StillPicture):
        return _still(picture, placed)
    return {"kind": "own", "duration": rational_text(placed.record.seconds)}


def _excerpt(picture: ExcerptPicture, placed: PlacedBeat, rate: Fraction) -> dict[str, Any]:
    standing = placed.record.frame_count - placed.moving_frames
    made = {
        "kind": "excerpt",
        **_moving_view(picture, placed.moving_frames, rate),
        "hold": rational_text(standing / rate),
        "muted": not can_sound(picture),
        "annotated": _annotated(picture, standing),
    }
    if picture.beside:
        made["beside"] = {**_moving_view(picture.beside, placed.moving_beside, rate), "muted": True}
    return made


def _moving_view(picture: ExcerptPicture, moving: int, rate: Fraction) -> dict[str, Any]:
    taken = (picture.out_frame - picture.in_frame) / picture.source.rate
    return {
        "source": picture.source.id,
        "in": {"frames": picture.in_frame},
        "out": {"frames": picture.out_frame},
        "speed": rational_text(taken * rate / moving),
        "mirrored": picture.mirrored,
    }


def _annotated(picture: ExcerptPicture, standing: int) -> str:
    """A curve lies over all of it, marks over what stands."""
    if picture.curve:
        return "all"
    drawn = any(view.overlay or view.marks for view in views_of(picture))
    return "hold" if drawn and standing else "none"


def _still(picture: StillPicture, placed: PlacedBeat) -> dict[str, Any]:
    made = {
        "kind": "excerpt",
        **_standing_view(picture, placed),
        "annotated": "hold" if any(view.overlay or view.marks for view in views_of(picture)) else "none",
    }
    if picture.beside:
        made["beside"] = _standing_view(picture.beside, placed)
    return made


def _standing_view(picture: StillPicture, placed: PlacedBeat) -> dict[str, Any]:
    return {
        "source": picture.source.id,
        "in": {"frames": picture.frame},
        "out": {"frames": picture.frame},
        "hold": rational_text(placed.record.seconds),
        "muted": True,
        "mirrored": picture.mirrored,
    }


def _narration(placed: tuple[PlacedBeat, ...]) -> list[list[str]]:
    """[start, end) of the words of each beat, seconds of the piece; words end with their beat."""
    found = []
    for one in placed:
        spoken = min(one.beat.words_seconds, one.record.seconds)
        if spoken > 0:
            start = one.record.start_seconds
            found.append([rational_text(start), rational_text(start + spoken)])
    return found
