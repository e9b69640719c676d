"""What pages ask about scripts: the stored script as plain values, and its margin."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from fractions import Fraction
from math import floor
from typing import Any, Literal
from urllib.parse import urlencode

from django.core.cache import cache
from django.db.models import Count, QuerySet
from django.utils import timezone

from anatomy.motion.facts import Measured
from anatomy.muscles.faults import ModelNotInstalled, PostureError
from anatomy.muscles.known import KnownPosture
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.selectors import current_vocabulary
from breakdowns.contacts.plate import ContactPlate, NoContact, contact_plate
from breakdowns.excerpts.ledger import hours_between
from breakdowns.excerpts.policies import Policy, PolicyError, UnknownPolicy
from breakdowns.excerpts.selectors import policy_named
from breakdowns.footage.models import Source
from breakdowns.footage.timebase import TimeError
from breakdowns.postures.plate import PosturePlate, posture_plate
from breakdowns.postures.selectors import known_postures

from .checks import CHECKS
from .margin import Action, CacheKey, Finding, Margin, Note, cache_key_text, read_margin
from .measured.selectors import measured_of
from .models import AnsweredNote, Beat, Breakdown
from .plate_content import AnatomyTable, Correction, NoEntry, anatomy_table
from .script import BeatView, ScriptView, SourceView
from .speech import SpeechError, VoiceProfile, default_voice
from .tradeoffs.notes import read_tradeoffs
from .two_views.selectors import beside_marked, beside_source, footage_of, second_view, troubles_of

_ZERO = Fraction(0)


# --- the stored script as plain values -----------------------------------------------------------


def beats_of(breakdown: Breakdown) -> QuerySet[Beat]:
    """The beats in order with everything that a page shows of them, in one query."""
    return breakdown.beats.select_related(
        "excerpt__source__event",
        "source__event",
        "still__beside",
        "changed_by",
        "beside_source__event",
        "beside_excerpt__source__event",
        "beside_still__source__event",
        "curve_track__source",
    ).order_by("position", "pk")


def voice_profile(breakdown: Breakdown) -> VoiceProfile:
    """The voice that the words are timed with; the average speaker where none is set or usable."""
    if breakdown.voice is None:
        return default_voice()
    try:
        return VoiceProfile.from_json(breakdown.voice.settings)
    except (SpeechError, TimeError):
        return default_voice()


def _drawn_on(beat: Beat) -> Literal["none", "hold", "all"]:
    """Where anything is drawn: a curve over all of an excerpt, marks over what stands."""
    if beat.kind == Beat.Kind.EXCERPT and beat.curve_track_id:
        return "all"
    return "hold" if has_marks(beat) else "none"


def has_marks(beat: Beat) -> bool:
    """Whether any mark is drawn over what stands, in either view."""
    view = second_view(beat) if beat.beside_still_id else None
    stills = (beat.marked, beside_marked(beat, view) if view else None)
    return any(
        mark.get("shown", True) for still in stills if still for mark in still.document.get("marks", [])
    )


def beat_view(
    beat: Beat,
    vocabulary: Vocabulary | None = None,
    postures: tuple[KnownPosture, ...] = (),
    measured: Measured | None = None,
) -> BeatView:
    """One stored beat as plain values. An excerpt beat without an excerpt shows nothing for 0 s.

    ``vocabulary`` saves asking for the current one for each anatomy plate; ``postures`` is what is known of its still,
    ``measured`` what was measured on its picture.
    """
    found = footage_of(beat)
    source, start, end = found or (None, 0, 0)
    return BeatView(
        id=str(beat.key),
        kind=beat.kind,  # type: ignore[arg-type]
        words=beat.words,
        heading=beat.heading,
        phase=beat.phase,
        seconds=_ZERO if beat.kind == Beat.Kind.EXCERPT else beat.seconds,
        source_id=str(source.key) if source else "",
        source_rate=source.rate if source else _ZERO,
        in_frame=start,
        out_frame=end,
        speed=beat.speed,
        hold=beat.hold if beat.kind == Beat.Kind.EXCERPT and source else _ZERO,
        mirrored=beat.mirrored,
        original_sound=beat.original_sound and beat.kind == Beat.Kind.EXCERPT,
        marked=_drawn_on(beat),
        beside=second_view(beat),
        purpose=beat.excerpt.purpose if beat.excerpt and beat.kind == Beat.Kind.EXCERPT else "",
        plate=beat.plate if beat.kind == Beat.Kind.PLATE else "",  # type: ignore[arg-type]
        plate_title=beat.plate_title,
        plate_text=beat.plate_text,
        plate_entry_kind=beat.plate_entry_kind,
        plate_entry=beat.plate_entry,
        plate_rows=tuple(beat.plate_rows),
        plate_said=beat.plate_said,
        plate_source=beat.plate_source,
        plate_reading=_reading_of(beat, vocabulary),
        take_seconds=Fraction(beat.spoken_ms, 1000) if beat.spoken_ms else None,
        take_is_file=bool(beat.take),
        word_starts=tuple(Fraction(time, 1000) for time in beat.word_times) if beat.spoken_ms else (),
        postures=postures,
        measured=measured or Measured(),
        contact=tuple(beat.contact_rows),
        tradeoffs=read_tradeoffs(beat.tradeoffs),
        troubles=troubles_of(beat),
    )


def vocabulary_now() -> Vocabulary:
    """The vocabulary with what this site has added."""
    return current_vocabulary()


PLATE_COLUMNS = (
    "plate",
    "plate_title",
    "plate_text",
    "plate_entry_kind",
    "plate_entry",
    "plate_rows",
    "plate_said",
    "plate_source",
)


def plate_query(values: Mapping[str, Any], shape: str) -> str:
    """The query of the address that draws a plate: columns of a beat, and the piece's shape."""
    given = {name: values[name] for name in PLATE_COLUMNS if values.get(name)}
    return urlencode({**given, "shape": shape}, doseq=True)


def plate_content(
    beat: Beat, vocabulary: Vocabulary | None = None
) -> AnatomyTable | Correction | PosturePlate | ContactPlate | None:
    """What a plate made from data says now; None for every other beat. Raises NoEntry."""
    if beat.kind != Beat.Kind.PLATE:
        return None
    if beat.plate == Beat.Plate.CORRECTION:
        return Correction(beat.plate_said, beat.plate_text, beat.plate_source)
    if beat.plate == Beat.Plate.ANATOMY:
        return anatomy_table(
            vocabulary or vocabulary_now(), beat.plate_entry_kind, beat.plate_entry, tuple(beat.plate_rows)
        )
    if beat.plate == Beat.Plate.POSTURE:
        try:
            return posture_plate(tuple(beat.plate_rows))
        except (PostureError, ModelNotInstalled) as fault:
            raise NoEntry(str(fault)) from None
    if beat.plate == Beat.Plate.CONTACT:
        try:
            return contact_plate(tuple(beat.plate_rows))
        except NoContact as fault:
            raise NoEntry(str(fault)) from None
    return None


def _reading_of(beat: Beat, vocabulary: Vocabulary | None) -> str:
    try:
        content = plate_content(beat, vocabulary)
    except NoEntry:
        return ""
    return content.reading if content else ""


def postures_shown(beats: Iterable[Beat]) -> dict[int, tuple[KnownPosture, ...]]:
    """By beat's id, the postures that somebody kept for a still of the very frame that the beat stands on."""
    places = {beat.pk: place for beat in beats if (place := _stands_on(beat)) is not None}
    known = known_postures(places.values())
    return {pk: known[place] for pk, place in places.items() if place in known}


def _stands_on(beat: Beat) -> tuple[int, int] | None:
    """Source and frame that a still shows, and that an excerpt with marks holds."""
    if beat.kind == Beat.Kind.STILL and beat.source_id is not None and beat.frame is not None:
        return beat.source_id, beat.frame
    return None if beat.marked is None else (beat.marked.source_id, beat.marked.frame)


def event_age(source: Source, now: datetime) -> Fraction | None:
    """Whole hours from the end of the source's event until ``now``, rounded down; None where no end is known.

    Whole hours, so that what the checks found stays valid for an hour and not for a moment.
    """
    if source.event is None or source.event.ended_at is None:
        return None
    return Fraction(floor(hours_between(source.event.ended_at, now)))


def source_view(source: Source, now: datetime | None = None) -> SourceView:
    """A source as plain values, as it would be used at ``now``."""
    return SourceView(
        id=str(source.key),
        title=str(source),
        rate=source.rate,
        frame_count=source.frame_count or 0,
        event=source.event.name if source.event else "",
        event_age_hours=event_age(source, now or timezone.now()),
        terms=source.terms,  # type: ignore[arg-type]
        attributed=bool(source.attribution or source.rights_holder),
    )


def script_view(breakdown: Breakdown, beats: list[Beat]) -> ScriptView:
    """The whole script as the checks and the revisions read it."""
    shown = {found[0].pk: found[0] for beat in beats if (found := footage_of(beat))}
    shown |= {source.pk: source for beat in beats if (source := beside_source(beat)) and second_view(beat)}
    has_anatomy = any(beat.kind == Beat.Kind.PLATE and beat.plate == Beat.Plate.ANATOMY for beat in beats)
    vocabulary = vocabulary_now() if has_anatomy else None
    known = postures_shown(beats)
    measured = measured_of({beat.pk: (beat, *found) for beat in beats if (found := footage_of(beat))})
    now = timezone.now()
    wished = breakdown.wished_seconds
    return ScriptView(
        title=breakdown.title,
        beats=tuple(
            beat_view(beat, vocabulary, known.get(beat.pk, ()), measured.get(beat.pk)) for beat in beats
        ),
        sources=tuple(source_view(source, now) for source in shown.values()),
        rate=breakdown.rate,
        voice=voice_profile(breakdown),
        policy=breakdown.policy,
        limits=_own_limits(breakdown.policy),
        wished_seconds=None if wished is None else Fraction(wished),
        vocabulary=current_vocabulary(),
        cautions=tuple(line.strip() for line in breakdown.cautions.splitlines() if line.strip()),
    )


def _own_limits(name: str) -> Policy | None:
    """The policy itself where it is the user's own; presets are found by their name."""
    if name.startswith("preset:"):
        return None
    try:
        return policy_named(name)
    except (UnknownPolicy, PolicyError):
        return None


# --- the margin ----------------------------------------------------------------------------------


class SharedFindings:
    """What checks found, kept in the site's cache: only what has changed is judged again."""

    def get_many(self, keys: Sequence[CacheKey]) -> Mapping[CacheKey, tuple[Finding, ...]]:
        texts = {cache_key_text(key): key for key in keys}
        return {texts[text]: found for text, found in cache.get_many(texts).items()}

    def set_many(self, found: Mapping[CacheKey, tuple[Finding, ...]]) -> None:
        cache.set_many({cache_key_text(key): value for key, value in found.items()}, 24 * 3600)


def margin_of(breakdown: Breakdown, script: ScriptView) -> Margin:
    """Every note on the script as it stands, without those that somebody has answered."""
    answered = dict(AnsweredNote.objects.filter(breakdown=breakdown).values_list("note_id", "reason"))
    return read_margin(script, CHECKS, cache=SharedFindings(), answered=answered)


def find_action(breakdown: Breakdown, note_id: str, number: str) -> tuple[Note, Action] | None:
    """An action of a note that still stands."""
    margin = margin_of(breakdown, script_view(breakdown, list(beats_of(breakdown))))
    note = next((note for note in margin.notes if note.id == note_id), None)
    if note is None or not number.isdecimal() or int(number[:4]) >= len(note.actions):
        return None
    return note, note.actions[int(number[:4])]


def breakdown_rows() -> QuerySet[Breakdown]:
    """Every breakdown with its number of beats."""
    return Breakdown.objects.select_related("owner").annotate(beat_count=Count("beats"))
