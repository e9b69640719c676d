"""What a person knows better than the machine: put right, kept with what was said before, and learnt from."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.db import transaction

from breakdowns.people.models import User
from breakdowns.publishing.models import Release
from breakdowns.questions.asking.services import put_into_group
from breakdowns.questions.desk.acts.services import (
    CannotDo,
    act_record,
    count_group,
    state_of,
    waiting_row,
)
from breakdowns.questions.models import Act, Correction, Group, Question
from breakdowns.questions.promises.services import promise_share

FIELDS = ("topic", "minutes", "regions", "joints", "muscles")


@transaction.atomic
def sorting_correct(question: Question, *, by: User, field: str, put: Any) -> Act | None:
    """A person knows better than the sorting: kept, and learnt from. None when nothing changes."""
    row = waiting_row(question)
    if field not in FIELDS:
        raise CannotDo("That can't be put right here.")
    said = getattr(row, field)
    said = float(said) if field == "minutes" else said
    if said == put:
        return None
    before = state_of(row)
    Question.objects.filter(pk=row.pk).update(**{field: put})
    shown = (", ".join(put) if isinstance(put, list) else put) or "none"
    return _kept(row, by, field, said, put, f"{field.capitalize()}: {shown}", before)


@transaction.atomic
def moment_correct(question: Question, *, by: User, release: Release | None, frame: int | None) -> Act | None:
    """Which breakdown, and which frame of its video, the question is about; None when nothing changes.

    Raises CannotDo for a frame that is not in the video.
    """
    row = waiting_row(question)
    if release is None:
        frame = None
    elif frame is not None and not 0 <= frame < int(release.page["frame_count"]):
        length = Fraction(release.page["frame_count"]) / Fraction(release.page["rate"])
        raise CannotDo(
            f"The video is {int(length) // 60}:{int(length) % 60:02d} long; give a time within it."
        )
    if (row.release_id, row.moment_frame) == (release.pk if release else None, frame):
        return None
    before = state_of(row)
    said = _moment(row.release, row.moment_frame)
    put = _moment(release, frame)
    Question.objects.filter(pk=row.pk).update(release=release, moment_frame=frame)
    told = f"About: {release.page['title']}" if release else "About no breakdown"
    return _kept(row, by, "moment", said, put, told, before)


def _moment(release: Release | None, frame: int | None) -> dict[str, Any] | None:
    return {"release": release.slug, "frame": frame} if release else None


def _kept(row: Question, by: User, field: str, said: Any, put: Any, told: str, before: dict[str, Any]) -> Act:
    correction = Correction.objects.create(question=row, field=field, said=said, put=put, by=by)
    return act_record("sorted", row, by, told, [before], more={"correction": correction.pk, "field": field})


@transaction.atomic
def group_leave(question: Question, *, by: User) -> Act:
    """Out of its group: it asks something else. It is not grouped by the machine again."""
    row = waiting_row(question)
    if not row.group_id:
        raise CannotDo("This question stands alone already.")
    before = state_of(row)
    others = row.group.questions.exclude(pk=row.pk) if row.group else Question.objects.none()
    said = [str(key) for key in others.values_list("key", flat=True)[:50]]
    Question.objects.filter(pk=row.pk).update(group=None, group_kept_apart=True)
    count_group(row.group_id)
    return _grouped(row, by, "Taken out of its group", [before], said, [])


@transaction.atomic
def group_join(question: Question, other: Question, *, by: User) -> Act:
    """Two questions that ask the same, into one group, which stands in line where the first of them was promised."""
    row, other = waiting_row(question), waiting_row(other)
    if row.pk == other.pk or (row.group_id and row.group_id == other.group_id):
        raise CannotDo("These two are together already.")
    group = row.group or other.group or Group.objects.create()
    rows = {one.pk: one for one in (row, other)}
    rows |= {one.pk: one for one in Question.objects.filter(group=group, state="waiting")}
    before = [state_of(one) for one in rows.values()]
    old = other.group_id
    put_into_group([row, other], group)
    promise_share(group)
    count_group(old if old != group.pk else None)
    return _grouped(row, by, "Put together", before, [], [str(other.key)])


def _grouped(
    row: Question, by: User, told: str, before: list[dict[str, Any]], said: list[str], put: list[str]
) -> Act:
    correction = Correction.objects.create(question=row, field="group", said=said, put=put, by=by)
    return act_record("grouped", row, by, told, before, more={"correction": correction.pk})
