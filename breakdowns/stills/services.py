"""Writes about stills: one named function each, in one transaction.

Every change raises the still's version and keeps the marks before it as a StillRevision. Undone
revisions hold the marks after their change; a fresh change turns them into ordinary earlier states, so
nothing that was ever drawn is lost until ``undo_steps`` (``data/choices.csv``) later ones push it out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Literal

from django.db import transaction
from django.db.models import Max, ProtectedError
from django.utils import timezone

from breakdowns.footage.models import Source
from breakdowns.footage.selectors import tied_view
from breakdowns.footage.views_offset import frame_beside
from breakdowns.people.models import User

from .choices import choice
from .document import document_json, read_document
from .meeting import both, meet
from .models import Still, StillRevision
from .selectors import picture_facts

SET_ASIDE = "marks set aside"


class StillError(ValueError):
    """What can't be done with a still; the sentence says why and what to do instead."""


@dataclass(frozen=True)
class Saved:
    """What became of marks that were sent.

    ``unchanged`` nothing to do · ``saved`` · ``merged`` with somebody else's marks · ``conflict``: they wait
    in ``set_aside`` until somebody chooses.
    """

    outcome: Literal["unchanged", "saved", "merged", "conflict"]
    still: Still
    set_aside: StillRevision | None = None


def canonical(source: Source, value: Any) -> dict[str, Any]:
    """The marks document as it is stored. Raises MarksError with one sentence."""
    return document_json(read_document(value, picture_facts(source).size))


# --- the frame around every change ---------------------------------------------------------------


def _lock(still: Still) -> Still:
    return Still.objects.select_for_update(of=("self",)).select_related("source").get(pk=still.pk)


def _next_number(still: Still) -> int:
    return (still.revisions.aggregate(last=Max("number"))["last"] or 0) + 1


def _remember(still: Still, what: str, document: dict[str, Any], by: User | None) -> None:
    number = _next_number(still)
    still.revisions.create(
        number=number, what=what[:120], document=document, version=still.version, made_by=by
    )
    oldest_kept = number + 1 - choice("undo_steps")
    still.revisions.filter(number__lt=oldest_kept, set_aside=False).delete()


def _keep_undone(still: Still, by: User | None) -> None:
    """States that were undone become ordinary earlier ones; one more stands for having gone back."""
    undone = list(still.revisions.filter(undone=True).order_by("number"))
    if not undone:
        return
    before, version = still.document, still.version
    for row in undone:
        row.document, before = before, row.document
        row.version, version = version, row.version
        row.undone = False
    StillRevision.objects.bulk_update(undone, ["document", "version", "undone"])
    still.revisions.create(
        number=_next_number(still), what="going back", document=before, version=version, made_by=by
    )


def _goes_on(still: Still, what: str, by: User | None) -> bool:
    """Whether the last change was the same person's of the same kind, moments ago."""
    last = still.revisions.filter(set_aside=False).order_by("-number").first()
    if last is None or last.undone or last.what != what[:120] or last.made_by_id != (by.pk if by else None):
        return False
    return timezone.now() - still.changed_at <= timedelta(seconds=choice("same_move_pause"))


def _store(still: Still, document: dict[str, Any], what: str, by: User | None) -> Still:
    if not _goes_on(still, what, by):
        _keep_undone(still, by)
        _remember(still, what, still.document, by)
    still.document = document
    still.version += 1
    still.save(update_fields=["document", "version", "changed_at"])
    return still


# --- making --------------------------------------------------------------------------------------


def _check_frame(source: Source, frame: int) -> None:
    if not source.is_ready:
        raise StillError(f"{source} can't be read yet, so it has no frames to keep: wait until it is ready.")
    if not 0 <= frame < (source.frame_count or 0):
        raise StillError(
            f"Frame {frame} is not in {source}: its frames are 0 to {(source.frame_count or 1) - 1}."
        )


@transaction.atomic
def still_make(*, source: Source, frame: int, by: User | None, name: str = "") -> Still:
    """Keep a frame for marking. The same frame kept twice without marks is kept once. Raises StillError."""
    _check_frame(source, frame)
    for there in source.stills.select_for_update().filter(frame=frame):
        if not there.is_marked and name in ("", there.name):
            return there
    return Still.objects.create(source=source, frame=frame, name=name[:120], made_by=by)


@transaction.atomic
def still_rename(still: Still, name: str) -> Still:
    still.name = name.strip()[:120]
    still.save(update_fields=["name", "changed_at"])
    return still


def _to_look_at_again(document: dict[str, Any]) -> dict[str, Any]:
    """The marks for another frame: where a landmark lay before is only a suggestion there, and what the pose model said
    of its place in space was said of another picture."""
    landmarks = {
        name: {key: value for key, value in row.items() if key != "space"} | {"state": "suggested"}
        for name, row in document.get("landmarks", {}).items()
    }
    return {**document, "landmarks": landmarks}


@transaction.atomic
def still_copy(still: Still, *, frame: int, by: User | None) -> Still:
    """All marks on another frame of the same source: on the still without marks there, else on a new one.

    Raises StillError where there is no such frame.
    """
    if frame == still.frame:
        raise StillError("These marks are on this frame already: choose another frame to copy them to.")
    goal = still_make(source=still.source, frame=frame, by=by)
    _store(_lock(goal), _to_look_at_again(still.document), f"copy the marks of frame {still.frame}", by)
    goal.refresh_from_db()
    return goal


@transaction.atomic
def still_beside(still: Still, *, other: Source, by: User | None) -> Still:
    """The still of the same instant in another view of the event, tied to this one. Raises StillError."""
    view, goal = tied_view(still.source), tied_view(other)
    if (
        other.pk == still.source_id
        or still.source.event_id is None
        or other.event_id != still.source.event_id
    ):
        raise StillError(f"{other} is no other view of this event: choose one of its views.")
    if view is None or goal is None:
        untied = still.source if view is None else other
        raise StillError(
            f"{untied} has no common instant yet: set it on its page, then put them side by side."
        )
    frame = frame_beside(still.frame, view, goal)
    if not 0 <= frame < (other.frame_count or 0):
        raise StillError(f"{other} has no picture of that instant: it would be frame {frame}.")
    found = other.stills.filter(frame=frame).exclude(pk=still.pk).order_by("made_at").first()
    found = found or still_make(source=other, frame=frame, by=by)
    _tie(still, found)
    return found


def _tie(one: Still, other: Still) -> None:
    """Each beside the other, and neither beside a third that is beside it."""
    Still.objects.filter(beside__in=[one.pk, other.pk]).update(beside=None)
    for still, goal in ((one, other), (other, one)):
        Still.objects.filter(pk=still.pk).update(beside=goal)
        still.beside = goal


@transaction.atomic
def still_part(still: Still) -> None:
    """No longer beside another still; both stay."""
    Still.objects.filter(beside=still.pk).update(beside=None)
    Still.objects.filter(pk=still.pk).update(beside=None)
    still.beside = None


# --- marks ---------------------------------------------------------------------------------------


@transaction.atomic
def still_save(still: Still, document: Any, *, base_version: int, what: str, by: User | None) -> Saved:
    """Marks drawn upon ``base_version``. A late save is joined with what stands, else set aside.

    Raises MarksError with one sentence for a document that can't be.
    """
    row = _lock(still)
    made = canonical(row.source, document)
    if made == row.document:
        return Saved("unchanged", row)
    if base_version == row.version:
        return Saved("saved", _store(row, made, what, by))
    base = row.revisions.filter(version=base_version, set_aside=False).order_by("-number").first()
    joined = meet(base.document, row.document, made) if base else None
    if joined is not None:
        joined = canonical(row.source, joined)
        return Saved("merged", row if joined == row.document else _store(row, joined, what, by))
    return Saved("conflict", row, _put_aside(row, made, base_version, by))


def _put_aside(still: Still, document: dict[str, Any], base_version: int, by: User | None) -> StillRevision:
    """The late marks, once; a later state of the same late drawing takes the place of the earlier one."""
    waiting = still.revisions.filter(
        set_aside=True, settled_at=None, version=base_version, made_by=by
    ).first()
    if waiting:
        waiting.document = document
        waiting.save(update_fields=["document"])
        return waiting
    return still.revisions.create(
        number=_next_number(still),
        what=SET_ASIDE,
        document=document,
        version=base_version,
        set_aside=True,
        made_by=by,
    )


@transaction.atomic
def still_settle(aside: StillRevision, choice: str, *, by: User | None) -> Still:
    """``mine`` takes the marks that were set aside, ``both`` adds them, ``theirs`` leaves what stands.

    Raises StillError for another choice, MarksError when both together are too many.
    """
    if choice not in ("mine", "theirs", "both"):
        raise StillError("Choose whose marks stand: the ones set aside, the ones that stand, or both.")
    still = _lock(aside.still)
    row = StillRevision.objects.select_for_update().get(pk=aside.pk)
    if row.settled_at is not None:
        return still
    if choice != "theirs":
        goal = row.document if choice == "mine" else both(still.document, row.document)
        goal = canonical(still.source, goal)
        if goal != still.document:
            _store(still, goal, "take marks set aside", by)
    row.settled_at = timezone.now()
    row.save(update_fields=["settled_at"])
    return still


def _swap(still: Still, row: StillRevision | None, undone: bool) -> Still:
    if row is None:
        return still
    row.document, still.document = still.document, row.document
    row.version, still.version = still.version, still.version + 1
    row.undone = undone
    row.save(update_fields=["document", "version", "undone"])
    still.save(update_fields=["document", "version", "changed_at"])
    return still


@transaction.atomic
def still_undo(still: Still) -> Still:
    """The marks as they were before the last change that stands; the same still when there is none."""
    row = _lock(still)
    return _swap(row, row.revisions.filter(set_aside=False, undone=False).order_by("-number").first(), True)


@transaction.atomic
def still_redo(still: Still) -> Still:
    """The last change taken back, made again."""
    row = _lock(still)
    return _swap(row, row.revisions.filter(undone=True).order_by("number").first(), False)


@transaction.atomic
def still_delete(still: Still) -> bool:
    """False while a beat shows it."""
    try:
        with transaction.atomic():
            still.delete()
    except ProtectedError:
        return False
    return True
