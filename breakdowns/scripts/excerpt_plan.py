"""A script as the excerpt ledger reads it: one segment for each beat, in order."""

from __future__ import annotations

from fractions import Fraction

from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.plan import ExcerptSegment, Narration, OwnSegment, Plan, PlanSource, View
from breakdowns.scripts.script import BeatView, ScriptView, SourceView, words_seconds

__all__ = ["narration_of", "plan_of"]


def plan_of(script: ScriptView, *, with_narration: bool = False) -> Plan:
    """The script's pictures as a plan; segment n is beat n, both counted from 0.

    ``with_narration`` adds when words are spoken: each beat's from the start of its picture, as recorded
    or as estimated.
    """
    return Plan(
        sources=tuple(_source(source) for source in script.sources),
        segments=tuple(_segment(beat) for beat in script.beats),
        narration=narration_of(script) if with_narration else Narration(),
    )


def narration_of(script: ScriptView) -> Narration:
    """Times at which words are spoken, on the piece's clock."""
    spoken = (
        (start, start + words_seconds(beat.words, script.voice, beat.take_seconds))
        for beat, start in script.starts()
    )
    return Narration(intervals=IntervalSet(span for span in spoken if span[0] < span[1]))


def _source(source: SourceView) -> PlanSource:
    return PlanSource(
        id=source.id,
        duration=source.duration,
        rate=source.rate,
        event=source.event or None,
        attributed=source.attributed,
        terms=source.terms,
        event_age_hours=source.event_age_hours,
    )


def _segment(beat: BeatView) -> ExcerptSegment | OwnSegment:
    """A still is a view with in = out that is held; footage not chosen yet is no footage."""
    if not beat.shows_footage or not beat.source_id or beat.source_rate <= 0:
        return OwnSegment(beat.picture_seconds)
    start = beat.in_frame / beat.source_rate
    still = beat.kind == "still"
    view = View(
        source=beat.source_id,
        start=start,
        end=start if still else beat.out_frame / beat.source_rate,
        speed=Fraction(1) if still else beat.speed,
        hold=beat.seconds if still else beat.hold,
        muted=still or not beat.original_sound,
        mirrored=beat.mirrored,
    )
    return ExcerptSegment(view, _beside(beat), annotated=beat.marked, purpose=beat.purpose)


def _beside(beat: BeatView) -> View | None:
    """The second view: it begins with the first, at the same speed, and never sounds."""
    if beat.beside is None:
        return None
    first, end = beat.beside_span
    start, still = first / beat.beside.rate, beat.kind == "still"
    return View(
        source=beat.beside.source_id,
        start=start,
        end=start if still else end / beat.beside.rate,
        speed=Fraction(1) if still else beat.speed,
        hold=beat.seconds if still else Fraction(0),
        muted=True,
        mirrored=beat.beside.mirrored,
    )
