"""A whole script as plain values, so that any earlier state can be put back. Imports no Django.

A snapshot is JSON: ``{"whole": {field: value}, "beats": [{field: value}, …]}`` with the beats in
order. Foreign keys travel as ids. Versions travel too but are never put back: a version only rises.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

__all__ = [
    "BEAT_FIELDS",
    "PICTURE_FIELDS",
    "WHOLE_FIELDS",
    "changed_fields",
    "picture_digest",
    "row_of",
    "snapshot",
]

WHOLE_FIELDS = (
    "title",
    "standfirst",
    "policy",
    "voice_id",
    "shape",
    "rate_num",
    "rate_den",
    "focus_x",
    "focus_y",
    "fill",
    "wished_seconds",
    "cautions",
    "references",
)
PICTURE_FIELDS = (
    "kind",
    "excerpt_id",
    "in_frame",
    "out_frame",
    "speed_num",
    "speed_den",
    "hold_ms",
    "mirrored",
    "original_sound",
    "source_id",
    "frame",
    "still_id",
    "marks_way",
    "marks_at",
    "beside_source_id",
    "beside_excerpt_id",
    "beside_still_id",
    "beside_in",
    "beside_out",
    "beside_mirrored",
    "halves",
    "half_focus",
    "beside_focus",
    "curve_track_id",
    "curve_quantity",
    "curve_names",
    "curve_place",
    "seconds_ms",
    "plate",
    "plate_title",
    "plate_text",
    "plate_entry_kind",
    "plate_entry",
    "plate_rows",
    "plate_said",
    "plate_source",
)
BEAT_FIELDS = (
    "heading",
    "phase",
    "words",
    *PICTURE_FIELDS,
    "take",
    "spoken_ms",
    "word_times",
    "gone",
    "contact_rows",
    "tradeoffs",
)


def row_of(beat: Any) -> dict[str, Any]:
    """One beat's stored values, with its key (text) and its version."""
    row = {name: getattr(beat, name) for name in BEAT_FIELDS}
    return {"key": str(beat.key), "version": beat.version, **row}


def snapshot(breakdown: Any, beats: Iterable[Any]) -> dict[str, Any]:
    """The whole script: ``beats`` in their order."""
    return {
        "whole": {name: getattr(breakdown, name) for name in WHOLE_FIELDS},
        "beats": [row_of(beat) for beat in beats],
    }


def changed_fields(row: Mapping[str, Any], beat: Any) -> list[str]:
    """Names of the fields in which a stored row differs from a beat."""
    return [name for name in BEAT_FIELDS if name in row and row[name] != getattr(beat, name)]


def picture_digest(beat: Any) -> str:
    """Text that changes exactly when the picture side does; a late picture save is compared by it."""
    return "|".join(str(getattr(beat, name)) for name in PICTURE_FIELDS)
