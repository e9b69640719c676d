"""What a beat as a plain value is in the columns of its row: only what differs is written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.scripts.models import Beat
from breakdowns.scripts.script import BeatView

__all__ = ["NO_RECORDING", "ScriptError", "stored_fields", "thousandths"]

# Changed words no longer are what was recorded.
NO_RECORDING: dict[str, Any] = {"take": "", "spoken_ms": None, "word_times": []}


class ScriptError(ValueError):
    """A command that cannot be carried out; the sentence says why and what to do instead."""


_PLATE_TEXTS = (
    "plate_title",
    "plate_text",
    "plate_entry_kind",
    "plate_entry",
    "plate_said",
    "plate_source",
)


def thousandths(seconds: Fraction) -> int:
    """Exact seconds as they are stored: the nearest whole thousandth, halves up."""
    return int((2000 * seconds + 1) // 2)


def stored_fields(view: BeatView, old: BeatView | None, beat: Beat, beats: Sequence[Beat]) -> dict[str, Any]:
    """The model's fields for what differs between two views of a beat (everything without ``old``)."""

    def differs(*names: str) -> bool:
        return old is None or any(getattr(view, name) != getattr(old, name) for name in names)

    plain = ("kind", "words", "heading", "phase", "mirrored", *_PLATE_TEXTS)
    fields: dict[str, Any] = {name: getattr(view, name) for name in plain if differs(name)}
    if differs("plate_rows"):
        fields["plate_rows"] = list(view.plate_rows)
    if differs("contact"):
        fields["contact_rows"] = list(view.contact)
    if differs("tradeoffs"):
        fields["tradeoffs"] = [one.row for one in view.tradeoffs]
    if differs("original_sound") and view.kind == "excerpt":
        fields["original_sound"] = view.original_sound
    if differs("plate") and view.plate:
        fields["plate"] = view.plate
    if differs("take_seconds", "word_starts"):
        fields |= _recording_fields(view)
    if view.kind != "excerpt" and differs("seconds", "kind"):
        fields["seconds_ms"] = thousandths(view.seconds)
    if view.kind == "still" and differs("source_id", "in_frame", "kind"):
        fields |= {"source_id": _source_for(view, beats).pk, "frame": view.in_frame}
    if view.kind == "excerpt" and view.source_id:
        fields |= _excerpt_fields(view, beat, beats, differs)
    if differs("beside", "kind"):
        fields |= _beside_fields(view, beat, beats)
    return fields


_NOTHING_BESIDE: dict[str, Any] = dict.fromkeys(
    ("beside_source_id", "beside_excerpt_id", "beside_still_id", "beside_in", "beside_out")
)


def _beside_fields(view: BeatView, beat: Beat, beats: Sequence[Beat]) -> dict[str, Any]:
    """The columns of the second view: a tied one follows its beat, any other lies in an excerpt or is a kept still."""
    beside = view.beside
    if beside is None:
        return _NOTHING_BESIDE
    if beside.offset is not None:
        found = next(
            one
            for one in (beat, *beats)
            if one.beside_source and str(one.beside_source.key) == beside.source_id
        )
        return _NOTHING_BESIDE | {
            "beside_source_id": found.beside_source_id,
            "beside_mirrored": beside.mirrored,
        }
    for excerpt in (one.beside_excerpt for one in (beat, *beats) if one.beside_excerpt):
        inside = excerpt.in_frame <= beside.in_frame < beside.out_frame <= excerpt.out_frame
        if inside and str(excerpt.source.key) == beside.source_id:
            return _NOTHING_BESIDE | {
                "beside_excerpt_id": excerpt.pk,
                "beside_in": None if beside.in_frame == excerpt.in_frame else beside.in_frame,
                "beside_out": None if beside.out_frame == excerpt.out_frame else beside.out_frame,
                "beside_mirrored": beside.mirrored,
            }
    return {}


def _recording_fields(view: BeatView) -> dict[str, Any]:
    if view.take_seconds is None:
        return NO_RECORDING
    return {
        "spoken_ms": thousandths(view.take_seconds),
        "word_times": [thousandths(start) for start in view.word_starts],
    }


def _excerpt_fields(
    view: BeatView, beat: Beat, beats: Sequence[Beat], differs: Callable[..., bool]
) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    if differs("speed", "kind"):
        fields |= {"speed_num": view.speed.numerator, "speed_den": view.speed.denominator}
    if differs("hold", "kind"):
        fields["hold_ms"] = thousandths(view.hold)
    if differs("source_id", "in_frame", "out_frame", "kind"):
        excerpt = _excerpt_for(view, beat, beats)
        fields["excerpt_id"] = excerpt.pk
        fields["in_frame"] = None if view.in_frame == excerpt.in_frame else view.in_frame
        fields["out_frame"] = None if view.out_frame == excerpt.out_frame else view.out_frame
    return fields


def _excerpt_for(view: BeatView, beat: Beat, beats: Sequence[Beat]) -> Excerpt:
    """The stored excerpt that holds the view's frames: the beat's own if it does."""
    found = [each.excerpt for each in (beat, *beats) if each.excerpt]
    for excerpt in found:
        inside = excerpt.in_frame <= view.in_frame < view.out_frame <= excerpt.out_frame
        if inside and str(excerpt.source.key) == view.source_id:
            return excerpt
    raise ScriptError("That would show more than the excerpt holds: widen the excerpt first.")


def _source_for(view: BeatView, beats: Sequence[Beat]) -> Source:
    shown = [beat.source or (beat.excerpt.source if beat.excerpt else None) for beat in beats]
    shown += [beat.excerpt.source for beat in beats if beat.excerpt]
    return next(source for source in shown if source and str(source.key) == view.source_id)
