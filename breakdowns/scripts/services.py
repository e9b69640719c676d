"""Writes about scripts: one named function each, in one transaction.

Every change raises the breakdown's version, gives each beat it touches that same number as its own
version, and keeps the state before it as a Revision. So versions only rise, a beat's version names
one state of it, and each of the last ``undo_steps`` states (``data/limits.csv``) can be had back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Literal
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max, Model
from django.utils import timezone
from django.utils.text import slugify

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.people.models import User
from breakdowns.people.typed import clean_words
from breakdowns.stills.models import Still
from breakdowns.tracks.models import Track

from . import revisions
from .columns.services import NO_RECORDING, ScriptError, stored_fields
from .commands import perform
from .meeting import merge_words
from .models import AnsweredNote, Beat, Breakdown, Revision, SetAside, VoiceProfile
from .revisions import Beats, RevisionError
from .selectors import beat_view, beats_of, find_action
from .snapshots import BEAT_FIELDS, PICTURE_FIELDS, WHOLE_FIELDS, changed_fields, snapshot
from .tables import limit

RESERVED_SLUGS = {"new"}


@dataclass(frozen=True)
class Saved:
    """What became of words that were sent.

    ``unchanged`` nothing to do · ``saved`` · ``merged`` with somebody else's words · ``conflict``:
    they wait in ``set_aside`` until somebody chooses. ``beat`` is None when it was deleted meanwhile.
    """

    outcome: Literal["unchanged", "saved", "merged", "conflict"]
    beat: Beat | None
    set_aside: SetAside | None = None


# --- the frame around every change ---------------------------------------------------------------


def _lock(breakdown: Breakdown) -> Breakdown:
    return Breakdown.objects.select_for_update().get(pk=breakdown.pk)


def _beats(breakdown: Breakdown) -> list[Beat]:
    return list(breakdown.beats.order_by("position", "pk"))


def _beat(breakdown: Breakdown, key: UUID) -> Beat:
    beat = breakdown.beats.filter(key=key).first()
    if beat is None:
        raise ScriptError("That beat is gone: somebody deleted it. Undo brings it back.")
    return beat


def _keep_undone(breakdown: Breakdown, by: User | None) -> None:
    """Turn states that were undone into ordinary earlier ones, so that a new change loses none.

    Each undone revision holds the state *after* its change; shifted by one they become states
    before, and one more revision stands for having gone back.
    """
    undone = list(breakdown.revisions.filter(undone=True).order_by("number"))
    if not undone:
        return
    before = snapshot(breakdown, _beats(breakdown))
    for revision in undone:
        revision.snapshot, before, revision.undone = before, revision.snapshot, False
    Revision.objects.bulk_update(undone, ["snapshot", "undone"])
    _remember(breakdown, "going back", before, by)


def _remember(breakdown: Breakdown, what: str, before: dict[str, Any], by: User | None) -> Revision:
    number = (breakdown.revisions.aggregate(last=Max("number"))["last"] or 0) + 1
    made = Revision.objects.create(
        breakdown=breakdown, number=number, what=what[:120], snapshot=before, made_by=by
    )
    _prune(breakdown, number)
    return made


def _prune(breakdown: Breakdown, last: int) -> None:
    """Let the oldest states go. Only called where none is undone, so that redo never loses its next step."""
    oldest_kept = last + 1 - int(limit("undo_steps"))
    if oldest_kept > 1:
        breakdown.revisions.filter(number__lt=oldest_kept).delete()


@contextmanager
def _change(breakdown: Breakdown, what: str, by: User | None, typing: Beat | None = None) -> Iterator[int]:
    """Around a change: keep the state before it and raise the version, which is handed out."""
    _keep_undone(breakdown, by)
    if typing is None or not _goes_on_typing(breakdown, what, by, typing):
        _remember(breakdown, what, snapshot(breakdown, _beats(breakdown)), by)
    breakdown.version += 1
    yield breakdown.version
    breakdown.save()


def _goes_on_typing(breakdown: Breakdown, what: str, by: User | None, beat: Beat) -> bool:
    """Whether the last change was the same person's typing in the same beat, moments ago."""
    last = breakdown.revisions.order_by("-number").first()
    if last is None or last.what != what or last.made_by_id != (by.pk if by else None):
        return False
    return timezone.now() - beat.changed_at <= timedelta(seconds=float(limit("typing_pause")))


def _store(beat: Beat, version: int, by: User | None, **fields: Any) -> Beat:
    for name, value in fields.items():
        setattr(beat, name, value)
    beat.version, beat.changed_by = version, by
    beat.save()
    return beat


def _number(beats: Sequence[Beat]) -> None:
    """Positions 0, 1, 2 … in the order given."""
    moved = [(place, beat) for place, beat in enumerate(beats) if beat.position != place]
    for place, beat in moved:
        beat.position = place
    Beat.objects.bulk_update([beat for _, beat in moved], ["position"])


def _new(breakdown: Breakdown, version: int, by: User | None, place: int, **fields: Any) -> Beat:
    """A new beat at ``place``; those behind it move on."""
    beats = _beats(breakdown)
    beat = Beat.objects.create(
        breakdown=breakdown, position=place, version=version, changed_by=by, **{"key": uuid4(), **fields}
    )
    _number([*beats[:place], beat, *beats[place:]])
    return beat


# --- what the pure operations on beats made, written back -------------------------------------------


def _revise(
    breakdown: Breakdown,
    what: str,
    by: User | None,
    change: Callable[[Beats], Beats],
    *,
    like: Beat | None = None,
) -> None:
    """Carry out a pure change of the beats and store exactly what it changed; new beats are ``like`` one."""
    beats = list(beats_of(breakdown))
    before = tuple(beat_view(beat) for beat in beats)
    try:
        after = change(before)
    except RevisionError as fault:
        raise ScriptError(str(fault)) from None
    if after == before:
        return
    with _change(breakdown, what, by) as version:
        _write(breakdown, beats, before, after, version, by, like)


def _write(
    breakdown: Breakdown,
    beats: Sequence[Beat],
    before: Beats,
    after: Beats,
    version: int,
    by: User | None,
    like: Beat | None,
) -> None:
    known = {str(beat.key): (beat, view) for beat, view in zip(beats, before, strict=True)}
    kept = {view.id for view in after}
    ordered: list[Beat] = []
    for view in after:
        model = like if view.kind != "plate" or (like and like.kind == "plate") else None
        beat, old = known.get(view.id) or (_copy(breakdown, model, view.id), None)
        fields = stored_fields(view, old, beat, beats)
        if fields or old is None:
            _store(beat, version, by, **fields)
        ordered.append(beat)
    breakdown.beats.filter(key__in=[key for key in known if key not in kept]).delete()
    _number(ordered)


def _copy(breakdown: Breakdown, like: Beat | None, key: str) -> Beat:
    beat = Beat(breakdown=breakdown, key=UUID(key), position=2**31 - 1)
    for name in BEAT_FIELDS if like else ():
        setattr(beat, name, getattr(like, name))
    return beat


# --- the whole -----------------------------------------------------------------------------------


def _free_slug(title: str) -> str:
    stem = slugify(title)[:70].strip("-") or "breakdown"
    taken = (
        set(Breakdown.objects.filter(slug__startswith=stem).values_list("slug", flat=True)) | RESERVED_SLUGS
    )
    number, slug = 1, stem
    while slug in taken:
        number += 1
        slug = f"{stem}-{number}"
    return slug


@transaction.atomic
def breakdown_create(*, by: User | None, title: str, **fields: Any) -> Breakdown:
    """A new breakdown with one empty beat to type into."""
    breakdown = Breakdown.objects.create(slug=_free_slug(title), title=title, owner=by, **fields)
    Beat.objects.create(breakdown=breakdown, position=0, changed_by=by)
    return breakdown


@transaction.atomic
def breakdown_settings_save(breakdown: Breakdown, *, by: User | None, **fields: Any) -> Breakdown:
    locked = _lock(breakdown)
    with _change(locked, "settings", by):
        for name, value in fields.items():
            setattr(locked, name, value)
    return locked


# --- words ---------------------------------------------------------------------------------------


def _set_aside(breakdown: Breakdown, key: UUID, words: str, base_version: int, by: User | None) -> SetAside:
    """Keep late words; while one person goes on typing on the same base it stays one entry."""
    entry, made = SetAside.objects.get_or_create(
        breakdown=breakdown,
        beat_key=key,
        base_version=base_version,
        made_by=by,
        settled_at=None,
        defaults={"words": words},
    )
    if not made and entry.words != words:
        entry.words = words
        entry.save(update_fields=["words"])
    return entry


@transaction.atomic
def beat_words_save(
    breakdown: Breakdown,
    key: UUID,
    words: str,
    *,
    base_version: int,
    base_words: str | None = None,
    by: User | None,
) -> Saved:
    """Store words that were typed on the state ``base_version`` / ``base_words`` of a beat.

    When the beat's words changed meanwhile, both changes are kept if they touch different places;
    otherwise the late words are set aside and nothing is overwritten.
    """
    locked, words = _lock(breakdown), clean_words(words)
    base = None if base_words is None else clean_words(base_words)
    beat = locked.beats.filter(key=key).first()
    if beat is None:
        return Saved("conflict", None, _set_aside(locked, key, words, base_version, by))
    if words == beat.words:
        return Saved("unchanged", beat)
    outcome: Literal["saved", "merged"] = "saved"
    if beat.version != base_version and beat.words != base:
        merged = None if base is None else merge_words(base, words, beat.words)
        if merged is None:
            return Saved("conflict", beat, _set_aside(locked, key, words, base_version, by))
        if merged == beat.words:
            return Saved("unchanged", beat)
        words, outcome = merged, "merged"
    with _change(locked, f"typing in beat {beat.position + 1}", by, typing=beat) as version:
        _store(beat, version, by, words=words, **NO_RECORDING)
    return Saved(outcome, beat)


@transaction.atomic
def set_aside_settle(
    entry: SetAside, choice: Literal["mine", "theirs", "both"], *, seen_version: int, by: User | None
) -> Saved:
    """Choose between words set aside (mine) and the beat's own (theirs). Both stay in the history.

    When theirs changed again since they were shown, nothing is done: it has to be looked at again.
    """
    breakdown = _lock(entry.breakdown)
    beat = breakdown.beats.filter(key=entry.beat_key).first()
    if entry.settled_at is not None:
        return Saved("unchanged", beat)
    if beat is not None and choice != "theirs" and beat.version != seen_version:
        return Saved("conflict", beat, entry)
    if choice != "theirs":
        beat = _put_back(breakdown, beat, entry, choice, by)
    entry.settled_at = timezone.now()
    entry.save(update_fields=["settled_at"])
    return Saved("saved", beat)


def _put_back(breakdown: Breakdown, beat: Beat | None, entry: SetAside, choice: str, by: User | None) -> Beat:
    if beat is None:
        with _change(breakdown, "words put back", by) as version:
            return _new(breakdown, version, by, breakdown.beats.count(), words=entry.words)
    theirs = beat.words.rstrip("\n")
    words = entry.words if choice == "mine" or not theirs else f"{theirs}\n\n{entry.words}"
    with _change(breakdown, f"choosing words for beat {beat.position + 1}", by) as version:
        return _store(beat, version, by, words=words, **NO_RECORDING)


# --- beats ---------------------------------------------------------------------------------------


@transaction.atomic
def beat_insert(breakdown: Breakdown, *, after: UUID | None = None, by: User | None, **fields: Any) -> Beat:
    """A new beat behind ``after``; at the end without it."""
    locked = _lock(breakdown)
    beat = locked.beats.filter(key=after).first() if after else None
    place = beat.position + 1 if beat else locked.beats.count()
    with _change(locked, f"new beat {place + 1}", by) as version:
        return _new(locked, version, by, place, **fields)


@transaction.atomic
def plate_insert(
    breakdown: Breakdown,
    *,
    seconds_ms: int,
    by: User | None,
    after: UUID | None = None,
    at_start: bool = False,
    **fields: Any,
) -> Beat:
    """A new beat that shows a plate (its columns in ``fields``): behind ``after``, first, or at the end."""
    locked = _lock(breakdown)
    end = 0 if at_start else len(_beats(locked))
    place = _beat(locked, after).position + 1 if after else end
    with _change(locked, "a plate", by) as version:
        shown = {"kind": Beat.Kind.PLATE, "seconds_ms": seconds_ms, **fields}
        return _new(locked, version, by, place, **shown)


@transaction.atomic
def beat_move(breakdown: Breakdown, key: UUID, to: int, *, by: User | None) -> Beat:
    """Move a beat to place ``to`` (counted from 0; beyond the ends means the ends)."""
    locked = _lock(breakdown)
    beats = _beats(locked)
    beat = next((each for each in beats if each.key == key), None) or _beat(locked, key)
    to = max(0, min(to, len(beats) - 1))
    if to == beat.position:
        return beat
    with _change(locked, f"moving beat {beat.position + 1}", by) as version:
        beats.remove(beat)
        beats.insert(to, beat)
        _number(beats)
        return _store(beat, version, by)


@transaction.atomic
def beat_delete(breakdown: Breakdown, key: UUID, *, by: User | None) -> Beat | None:
    """Take a beat out; returns the one that now stands in its place, if any."""
    locked = _lock(breakdown)
    beat = _beat(locked, key)
    with _change(locked, f"deleting beat {beat.position + 1}", by):
        beat.delete()
        rest = _beats(locked)
        _number(rest)
    return rest[min(beat.position, len(rest) - 1)] if rest else None


@transaction.atomic
def beat_split(breakdown: Breakdown, key: UUID, at: int | None = None, *, by: User | None) -> Beat:
    """Divide a beat, words and picture, at character ``at``; returns the second half."""
    locked = _lock(breakdown)
    beat, new = _beat(locked, key), uuid4()
    at = revisions.place_to_split(beat.words) if at is None else at
    what = f"splitting beat {beat.position + 1}"
    _revise(locked, what, by, lambda beats: revisions.split(beats, str(key), at, str(new)), like=beat)
    return _beat(locked, new)


@transaction.atomic
def beat_join(breakdown: Breakdown, key: UUID, *, by: User | None) -> Beat:
    """This beat and the next one as one."""
    locked = _lock(breakdown)
    beat = _beat(locked, key)
    what = f"joining beats {beat.position + 1} and {beat.position + 2}"
    _revise(locked, what, by, lambda beats: revisions.join(beats, str(key)))
    return _beat(locked, key)


@transaction.atomic
def beat_duplicate(breakdown: Breakdown, key: UUID, *, by: User | None) -> Beat:
    """A copy behind the beat. The recording stays with the original."""
    locked = _lock(breakdown)
    beat = _beat(locked, key)
    fields = {name: getattr(beat, name) for name in BEAT_FIELDS} | NO_RECORDING
    with _change(locked, f"copying beat {beat.position + 1}", by) as version:
        return _new(locked, version, by, beat.position + 1, **fields)


@transaction.atomic
def beat_picture_save(breakdown: Breakdown, key: UUID, *, by: User | None, **fields: Any) -> Beat:
    """Store the picture side (any of PICTURE_FIELDS, and heading and phase)."""
    unknown = set(fields) - {*PICTURE_FIELDS, "heading", "phase"}
    if unknown:
        raise ScriptError(f"Not part of a beat's picture: {', '.join(sorted(unknown))}.")
    locked = _lock(breakdown)
    beat = _beat(locked, key)
    fields["gone"] = []  # whatever was lost, this picture was chosen by somebody who could see it
    if all(getattr(beat, name) == value for name, value in fields.items()):
        return beat
    with _change(locked, f"picture of beat {beat.position + 1}", by) as version:
        return _store(beat, version, by, **fields)


@transaction.atomic
def beat_note_save(breakdown: Breakdown, key: UUID, what: str, *, by: User | None, **fields: Any) -> Beat:
    """What stands beside a beat (``contact_rows``, ``tradeoffs``); ``what`` names the change for undo."""
    locked = _lock(breakdown)
    beat = _beat(locked, key)
    if all(getattr(beat, name) == value for name, value in fields.items()):
        return beat
    with _change(locked, what, by) as version:
        return _store(beat, version, by, **fields)


@transaction.atomic
def beats_take_over(
    breakdown: Breakdown, rows: Iterable[tuple[str, int] | tuple[str, int, list[int]]], *, by: User | None
) -> list[Beat]:
    """Append to-camera beats of (words, spoken milliseconds, where each word begins), as cut from a timed transcript.

    An only beat that is still empty is replaced.
    """
    locked = _lock(breakdown)
    with _change(locked, "importing a transcript", by) as version:
        beats = _beats(locked)
        if len(beats) == 1 and not beats[0].words and beats[0].kind == Beat.Kind.CAMERA:
            beats.pop().delete()
        made = [
            Beat(
                breakdown=locked,
                position=place,
                version=version,
                changed_by=by,
                words=clean_words(words),
                spoken_ms=spoken_ms,
                word_times=times[0] if times else [],
                seconds_ms=max(1, spoken_ms),
            )
            for place, (words, spoken_ms, *times) in enumerate(rows, start=len(beats))
        ]
        return Beat.objects.bulk_create(made)


# --- notes ---------------------------------------------------------------------------------------


@transaction.atomic
def note_act(breakdown: Breakdown, note_id: str, number: str, *, by: User | None) -> Beat | None:
    """Carry out action ``number`` of a note as it stands now; returns the beat that the note or the action is about."""
    locked = _lock(breakdown)
    found = find_action(locked, note_id, number)
    if found is None:
        raise ScriptError("This note no longer stands: the script has changed. Look at the margin again.")
    note, action = found
    about = note.beat or dict(action.arguments).get("beat")
    beat = locked.beats.filter(key=about).first() if about else None
    where = f"“{action.label}”" + (f" in beat {beat.position + 1}" if beat else "")

    def done(beats: Beats) -> Beats:
        return perform(beats, action.command, dict(action.arguments), lambda: str(uuid4()))

    _revise(locked, where, by, done, like=beat)
    return beat


@transaction.atomic
def note_ask_again(breakdown: Breakdown, note_id: str) -> None:
    """Take an answer back: the note speaks again where it still stands."""
    AnsweredNote.objects.filter(breakdown=breakdown, note_id=note_id).delete()


@transaction.atomic
def note_answer(
    breakdown: Breakdown, *, note_id: str, says: str, reason: str, by: User | None
) -> AnsweredNote:
    """Keep why a note is meant as it stands; the note is silent until its text changes."""
    answered, _ = AnsweredNote.objects.update_or_create(
        breakdown=breakdown, note_id=note_id, defaults={"says": says, "reason": reason, "made_by": by}
    )
    return answered


# --- back and forth ------------------------------------------------------------------------------


@transaction.atomic
def revision_undo(breakdown: Breakdown, *, by: User | None) -> Revision:
    """Put back the state before the last change. The state left is kept for redo."""
    locked = _lock(breakdown)
    revision = locked.revisions.filter(undone=False).order_by("-number").first()
    if revision is None:
        raise ScriptError("Nothing to undo: this is the first state.")
    return _swap(locked, revision, True, by)


@transaction.atomic
def revision_redo(breakdown: Breakdown, *, by: User | None) -> Revision:
    """Do again what was undone last."""
    locked = _lock(breakdown)
    revision = locked.revisions.filter(undone=True).order_by("number").first()
    if revision is None:
        raise ScriptError("Nothing to redo.")
    return _swap(locked, revision, False, by)


def _swap(breakdown: Breakdown, revision: Revision, undone: bool, by: User | None) -> Revision:
    """Exchange the script and the revision's snapshot."""
    now = snapshot(breakdown, _beats(breakdown))
    _restore(breakdown, revision.snapshot, by)
    revision.snapshot, revision.undone = now, undone
    revision.save(update_fields=["snapshot", "undone"])
    return revision


def _restore(breakdown: Breakdown, state: Mapping[str, Any], by: User | None) -> None:
    breakdown.version += 1
    for name in WHOLE_FIELDS:
        setattr(breakdown, name, state["whole"].get(name, getattr(breakdown, name)))
    if not VoiceProfile.objects.filter(pk=breakdown.voice_id).exists():
        breakdown.voice_id = None
    rows = [_standing_row(row) for row in _rows_with_footage(state["beats"])]
    here = {str(beat.key): beat for beat in _beats(breakdown)}
    gone = set(here) - {row["key"] for row in rows}
    breakdown.beats.filter(key__in=gone).delete()
    for place, row in enumerate(rows):
        _restore_beat(breakdown, here.get(row["key"]), row, place, by)
    breakdown.save()


def _restore_beat(
    breakdown: Breakdown, beat: Beat | None, row: Mapping[str, Any], place: int, by: User | None
) -> None:
    if beat is None:
        beat = Beat(breakdown=breakdown, key=UUID(row["key"]))
    elif not changed_fields(row, beat):
        if beat.position != place:
            Beat.objects.filter(pk=beat.pk).update(position=place)
        return
    beat.position = place
    _store(beat, breakdown.version, by, **{name: row[name] for name in BEAT_FIELDS if name in row})


_LINKS: dict[str, type[Model]] = {
    "excerpt_id": Excerpt,
    "source_id": Source,
    "still_id": Still,
    "beside_source_id": Source,
    "beside_excerpt_id": Excerpt,
    "beside_still_id": Still,
    "curve_track_id": Track,
}


def _rows_with_footage(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The rows, without links to excerpts, sources, stills or tracks that were deleted since."""
    made = [dict(row) for row in rows]
    for name, model in _LINKS.items():
        wanted = {row[name] for row in rows if row.get(name)}
        there = set(model._default_manager.filter(pk__in=wanted).values_list("pk", flat=True))
        for row in made:
            if row.get(name) and row[name] not in there:
                row["gone"] = [*row.get("gone", []), name]
            row[name] = row[name] if row.get(name) in there else None
    return made


def _standing_row(row: dict[str, Any]) -> dict[str, Any]:
    """A beat whose footage is gone becomes a to-camera beat: its words stay."""
    lost_excerpt = row["kind"] == Beat.Kind.EXCERPT and row["excerpt_id"] is None
    lost_source = row["kind"] == Beat.Kind.STILL and row["source_id"] is None
    if lost_excerpt or lost_source:
        row["kind"] = Beat.Kind.CAMERA
    return row
