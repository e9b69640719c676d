"""Writes about tracks: one named function each, in one transaction.

Every change is kept as a TrackRevision that holds what it changed, before and after, so it can be undone and had back.
A fresh change after going back first makes the going back a change of its own: no state that ever was is lost
until ``undo_steps`` (``data/choices.csv``) later ones push it out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import Max, ProtectedError

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.people.models import User

from .changes import Change, applied, joined, of_points, turned
from .choices import choice
from .document import Span, TrackError, other_side, read_frames, read_span
from .models import Track, TrackRevision
from .selectors import picture_size

SETTINGS = ("name", "side", "chain", "smoothing", "cutoff_hz", "click_sd_px")


@dataclass(frozen=True)
class Stored:
    """What became of a change. ``cells``: how many points it changed. ``overtaken``: points somebody else had changed
    meanwhile; the newer ones stand and undo has the others back. ``kept``: hand-placed points left alone."""

    track: Track
    cells: int = 0
    kept: int = 0
    overtaken: list[str] = field(default_factory=list)


def span_of(track: Track) -> Span:
    return Span(track.in_frame, track.out_frame, picture_size(track.source))


# --- the frame around every change ---------------------------------------------------------------


def _lock(track: Track) -> Track:
    return Track.objects.select_for_update(of=("self",)).select_related("source").get(pk=track.pk)


def _next_number(track: Track) -> int:
    return (track.revisions.aggregate(last=Max("number"))["last"] or 0) + 1


def _bring_in(track: Track, change: Change) -> None:
    """The change on the row itself; not saved."""
    track.landmarks = applied(track.landmarks, change)
    for cell, (_, after) in change.items():
        if cell == "keys":
            track.key_frames = after
        elif cell.startswith("="):
            setattr(track, cell[1:], after)
    track.version += 1


def _keep_undone(track: Track, by: User | None) -> None:
    undone = list(track.revisions.filter(undone=True).order_by("number"))
    if not undone:
        return
    back = turned(joined(row.change for row in undone))
    track.revisions.filter(undone=True).update(undone=False)
    track.revisions.create(
        number=_next_number(track), what="going back", change=back, version=track.version, made_by=by
    )


def _store(track: Track, change: Change, what: str, by: User | None, run: str = "") -> None:
    _keep_undone(track, by)
    _bring_in(track, change)
    last = track.revisions.order_by("-number").first()
    if run and last and last.run == run and last.made_by_id == (by.pk if by else None):
        last.change, last.version = joined([last.change, change]), track.version
        last.save(update_fields=["change", "version"])
    else:
        number = _next_number(track)
        track.revisions.create(
            number=number, what=what[:120], run=run, change=change, version=track.version, made_by=by
        )
        track.revisions.filter(number__lte=number - choice("undo_steps")).delete()
    track.save()


def _overtaken(track: Track, change: Change, base_version: int | None, by: User | None) -> list[str]:
    if base_version is None or base_version >= track.version:
        return []
    later = track.revisions.filter(version__gt=base_version).exclude(made_by=by)
    return sorted({cell for row in later for cell in row.change} & set(change))


# --- making --------------------------------------------------------------------------------------


@transaction.atomic
def track_make(
    *,
    source: Source,
    in_frame: int,
    out_frame: int,
    by: User | None,
    name: str = "",
    excerpt: Excerpt | None = None,
    side: str = "right",
    chain: str = "arm",
) -> Track:
    """An empty track over [in_frame, out_frame). Raises TrackError."""
    if not source.is_ready:
        raise TrackError(f"{source} can't be read yet: wait until it is ready.")
    read_span(in_frame, out_frame, source.frame_count or 0)
    return Track.objects.create(
        source=source,
        excerpt=excerpt,
        in_frame=in_frame,
        out_frame=out_frame,
        name=name.strip()[:120] or f"{source.title[:80]}, frames {in_frame} to {out_frame - 1}",
        side=side,
        chain=chain,
        made_by=by,
    )


def track_delete(track: Track) -> bool:
    """False while a beat shows its curve."""
    try:
        with transaction.atomic():
            track.delete()
    except ProtectedError:
        return False
    return True


# --- points --------------------------------------------------------------------------------------


@transaction.atomic
def track_points_set(
    track: Track,
    frames: Any,
    *,
    what: str,
    by: User | None,
    base_version: int | None = None,
    run: str = "",
    state: str = "placed",
) -> Stored:
    """Points by frame by landmark as they were sent; null takes one away. Raises TrackError, and then nothing is kept."""
    row = _lock(track)
    change = of_points(row.landmarks, read_frames(frames, span_of(row), state, forget=True))
    overtaken = _overtaken(row, change, base_version, by)
    if change:
        _store(row, change, what, by, run)
    return Stored(row, len(change), overtaken=overtaken)


@transaction.atomic
def track_points_suggest(track: Track, frames: Any, *, what: str, by: User | None, run: str = "") -> Stored:
    """Suggested points; what a hand has placed or confirmed stays. Raises TrackError."""
    row = _lock(track)
    goal = read_frames(frames, span_of(row), "suggested")
    return _fill(row, goal, what, by, run)


def _fill(
    row: Track, goal: Mapping[str, Mapping[str, Any]], what: str, by: User | None, run: str = ""
) -> Stored:
    free = {
        frame: {
            name: point
            for name, point in points.items()
            if row.landmarks.get(frame, {}).get(name, [0, 0, "suggested"])[2] == "suggested"
        }
        for frame, points in goal.items()
    }
    change = of_points(row.landmarks, free)
    if change:
        _store(row, change, what, by, run)
    kept = sum(map(len, goal.values())) - sum(map(len, free.values()))
    return Stored(row, len(change), kept)


@transaction.atomic
def track_stills_take(track: Track, *, by: User | None, as_keys: bool = False) -> Stored:
    """The landmarks of the source's stills within the span; hand-placed points of the track stay."""
    row = _lock(track)
    span = span_of(row)
    goal: dict[str, dict[str, list[Any]]] = {}
    for still in row.source.stills.filter(frame__gte=row.in_frame, frame__lt=row.out_frame).order_by(
        "changed_at"
    ):
        found = still_points(still.document)
        if found:
            goal.setdefault(str(still.frame), {}).update(found)
    if not goal:
        raise TrackError(
            "No still of this footage within the track has landmarks: place some on a still, or here."
        )
    done = _fill(row, read_frames(goal, span), "take over landmarks of stills", by)
    if as_keys:
        keys = sorted({*done.track.key_frames, *map(int, goal)})
        if keys != done.track.key_frames:
            _store(
                done.track,
                {"keys": [done.track.key_frames, keys]},
                "name the stills' frames as key frames",
                by,
            )
    return done


def still_points(document: Mapping[str, Any]) -> dict[str, list[Any]]:
    """The landmarks of a marks document as points of a track."""
    return {
        name: [*row["at"][:2], row.get("state", "placed")]
        for name, row in document.get("landmarks", {}).items()
    }


@transaction.atomic
def track_confirm(track: Track, *, by: User | None, frame: int | None = None, name: str = "") -> Stored:
    """Suggested points confirmed: of one frame, of one landmark, or all."""
    row = _lock(track)
    goal = {
        key: {
            one: [*point[:2], "confirmed"]
            for one, point in points.items()
            if point[2] == "suggested" and name in ("", one)
        }
        for key, points in row.landmarks.items()
        if frame is None or int(key) == frame
    }
    change = of_points(row.landmarks, goal)
    if change:
        _store(row, change, "confirm suggested points", by)
    return Stored(row, len(change))


@transaction.atomic
def track_swap(track: Track, frame: int, *, onward: bool, by: User | None) -> Stored:
    """Left landmarks become right ones and the reverse, on one frame or on all from it on."""
    row = _lock(track)
    goal: dict[str, dict[str, Any]] = {}
    for key, points in row.landmarks.items():
        if int(key) == frame or (onward and int(key) > frame):
            names = {*points, *map(other_side, points)}
            goal[key] = {name: points.get(other_side(name)) for name in names}
    change = of_points(row.landmarks, goal)
    if change:
        _store(row, change, "swap left and right" + (" from here on" if onward else ""), by)
    return Stored(row, len(change))


@transaction.atomic
def track_clear(track: Track, frame: int, *, by: User | None, name: str = "") -> Stored:
    """One landmark of a frame taken away, or all of them."""
    row = _lock(track)
    points = row.landmarks.get(str(frame), {})
    change = of_points(row.landmarks, {str(frame): {one: None for one in points if name in ("", one)}})
    if change:
        _store(row, change, "take a point away" if name else "clear a frame", by)
    return Stored(row, len(change))


# --- choices -------------------------------------------------------------------------------------


@transaction.atomic
def track_keys_set(track: Track, frames: Iterable[int], *, by: User | None) -> Track:
    """The key frames between which missing points are interpolated. Raises TrackError."""
    row = _lock(track)
    keys = sorted(set(frames))
    if any(frame not in span_of(row) for frame in keys):
        raise TrackError(
            f"Key frames must lie in the track: its frames are {row.in_frame} to {row.last_frame}."
        )
    if keys != row.key_frames:
        _store(row, {"keys": [row.key_frames, keys]}, "choose key frames", by)
    return row


@transaction.atomic
def track_settings_save(track: Track, *, by: User | None, **values: Any) -> Track:
    """Any of SETTINGS."""
    row = _lock(track)
    if unknown := set(values) - set(SETTINGS):
        raise TrackError(f"Not a choice of a track: {', '.join(sorted(unknown))}.")
    change = {
        f"={name}": [getattr(row, name), value]
        for name, value in values.items()
        if getattr(row, name) != value
    }
    if change:
        _store(row, change, "choices", by)
    return row


# --- undo ----------------------------------------------------------------------------------------


def _step(track: Track, revision: TrackRevision | None, change: Change, undone: bool) -> Track:
    if revision is None:
        return track
    _bring_in(track, change)
    revision.undone = undone
    revision.save(update_fields=["undone"])
    track.save()
    return track


@transaction.atomic
def track_undo(track: Track) -> Track:
    """Without the last change that stands; the same track when there is none."""
    row = _lock(track)
    last = row.revisions.filter(undone=False).order_by("-number").first()
    return _step(row, last, turned(last.change) if last else {}, True)


@transaction.atomic
def track_redo(track: Track) -> Track:
    """With the change again that was undone last."""
    row = _lock(track)
    following = row.revisions.filter(undone=True).order_by("number").first()
    return _step(row, following, following.change if following else {}, False)
