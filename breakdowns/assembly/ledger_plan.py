"""What the laid-out timeline uses of each source, as the plan that the ledger reads. Pure.

Every figure is the timeline's own, in whole output frames: where a beat's length was rounded to frames,
the speed told is the true one, so that screen times add up to the piece exactly.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from breakdowns.footage.timebase import rational_text

from .original_sound import can_sound
from .piece import ExcerptPicture, Piece, PieceSource, PlacedBeat, StillPicture

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
    pictures = (one.beat.picture for one in placed)
    used = (picture.source for picture in pictures if isinstance(picture, ExcerptPicture | StillPicture))
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
    taken = (picture.out_frame - picture.in_frame) / picture.source.rate
    standing = placed.record.frame_count - placed.moving_frames
    return {
        "kind": "excerpt",
        "source": picture.source.id,
        "in": {"frames": picture.in_frame},
        "out": {"frames": picture.out_frame},
        "speed": rational_text(taken * rate / placed.moving_frames),
        "hold": rational_text(standing / rate),
        "muted": not can_sound(picture),
        "annotated": "hold" if (picture.overlay or picture.marks) and standing else "none",
        "mirrored": picture.mirrored,
    }


def _still(picture: StillPicture, placed: PlacedBeat) -> dict[str, Any]:
    return {
        "kind": "excerpt",
        "source": picture.source.id,
        "in": {"frames": picture.frame},
        "out": {"frames": picture.frame},
        "hold": rational_text(placed.record.seconds),
        "muted": True,
        "annotated": "hold" if picture.overlay or picture.marks else "none",
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
