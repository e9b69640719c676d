"""Writes of somebody who asks: drafts, pictures, sending, taking back."""

from __future__ import annotations

import os
import uuid
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.people.typed import clean_words
from breakdowns.questions.about.services import about_propose, passages_fill
from breakdowns.questions.answers.services import letter_about_flag
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import alike, grouped_with, rank_of, read_text, screen_text
from breakdowns.questions.models import Attachment, Correction, Group, Question, Screened, Settings
from breakdowns.questions.promises.services import promise_give
from breakdowns.questions.screening import advice
from breakdowns.questions.selectors import asked_this_month, candidates, draft_of

from .pictures import Picture, PictureRefused

LEARNS_AT = 0.75
DRAFT_FIELDS = (
    "text", "body_part", "since_when", "tried", "release", "moment_frame", "consent_to_publish",
)  # fmt: skip


class CannotAsk(ValueError):
    """Why a question can't be sent now, in one sentence."""


@transaction.atomic
def draft_keep(member: User, values: dict[str, Any]) -> Question:
    """The member's one draft with these values; what is not among them stays as it is."""
    User.objects.select_for_update().get(pk=member.pk)
    draft = draft_of(member) or Question(member=member)
    for field in DRAFT_FIELDS:
        if field in values:
            value = values[field]
            setattr(draft, field, clean_words(value) if isinstance(value, str) else value)
    draft.save()
    return draft


def picture_attach(draft: Question, picture: Picture) -> Attachment:
    """Keep a picture that was made anew. Raises PictureRefused when there are enough of them."""
    if draft.attachments.count() >= choice("most_pictures"):
        raise PictureRefused(
            f"At most {choice('most_pictures')} pictures go with a question; remove one first."
        )
    name = f"questions/{draft.key}/{uuid.uuid4().hex}.jpg"
    path = Path(settings.MEDIA_ROOT) / name
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_suffix(".part")
    half.write_bytes(picture.data)
    os.replace(half, path)
    return Attachment.objects.create(
        question=draft, kind="picture", file=name, width=picture.width, height=picture.height,
        bytes=len(picture.data),
    )  # fmt: skip


def attachment_remove(attachment: Attachment) -> None:
    attachment.delete()
    (Path(settings.MEDIA_ROOT) / attachment.file).unlink(missing_ok=True)


def question_send(draft: Question, *, tell: bool = True) -> Question:
    """Screen, sort and queue a draft. Raises CannotAsk; a question with a red flag is never turned away.

    ``tell`` is False only where nobody real asks: then no letter about a red flag goes.
    """
    passages_fill(draft.release)
    screening = screen_text("\n".join(part for part in (draft.text, draft.since_when, draft.tried) if part))
    with transaction.atomic():
        User.objects.select_for_update().get(pk=draft.member_id)
        row = Question.objects.select_for_update().filter(pk=draft.pk, state="draft").first()
        if row is None:
            raise CannotAsk("This question was sent already; it stands among your questions.")
        limit = Settings.now().monthly_limit
        if not screening.flags and not row.follows_id and asked_this_month(row.member) >= limit:
            raise CannotAsk(
                f"You have asked {limit} question{'' if limit == 1 else 's'} this month, which is what a "
                "membership holds. The draft is kept; send it from the first of next month on."
            )
        row.state, row.asked_at = Question.State.WAITING, timezone.now()
        _take_flags(row, screening)
        for field, value in read_text(f"{row.text}\n{row.body_part}").items():
            setattr(row, field, value)
        _learn(row)
        about_propose(row)
        row.save()
        _join_group(row)
        promise_give(row)
        if screening.flags and tell:
            letter_about_flag(row, advice(screening.urgency))
    return row


def _take_flags(row: Question, screening: Any) -> None:
    row.urgency, row.urgency_rank = screening.urgency or "", rank_of(screening.urgency)
    Screened.objects.bulk_create(
        Screened(
            question=row, flag=flag.key, name=flag.name, region=flag.region, urgency=flag.urgency,
            because=flag.because, action=flag.action, sources=list(flag.sources),
            spans=[list(span) for span in flag.spans],
        )
        for flag in {flag.key: flag for flag in screening.flags}.values()
    )  # fmt: skip


def _learn(row: Question) -> None:
    """What a person put right in a question much like this one is taken over, and said so."""
    for field in ("topic", "minutes"):
        known = Correction.objects.filter(field=field).select_related("question")[: choice("learn_from")]
        by_pk = {one.pk: one for one in reversed(known)}
        found = alike(row.fingerprint, [(pk, one.question.fingerprint) for pk, one in by_pk.items()], 1)
        if found and found[0][1] >= LEARNS_AT:
            setattr(row, field, by_pk[found[0][0]].put)
            row.sorted[f"{field}_because"] = "A question much like this one was put right so at the desk."


def _join_group(row: Question) -> None:
    """Into the group of those that wait and ask the same; a new group when the other stood alone."""
    waiting = Question.objects.filter(state="waiting", group_kept_apart=False).exclude(pk=row.pk)
    same = grouped_with(row.fingerprint, candidates(waiting, row.search_words)[:60])
    others = list(waiting.filter(pk__in=same))
    if not others:
        return
    group = next((one.group for one in others if one.group_id), None) or Group.objects.create()
    put_into_group([row, *(one for one in others if not one.group_id)], group)


def put_into_group(questions: list[Question], group: Group) -> None:
    """Questions that wait into a group, whose count follows."""
    Question.objects.filter(pk__in=[one.pk for one in questions]).update(group=group)
    for one in questions:
        one.group = group
    Group.objects.filter(pk=group.pk).update(waiting=group.questions.filter(state="waiting").count())


@transaction.atomic
def question_withdraw(question: Question) -> bool:
    """Taken back by the member while it waits; False when it was answered meanwhile."""
    done = Question.objects.filter(pk=question.pk, state__in=["waiting", "aside"]).update(
        state="withdrawn", urgency_rank=0
    )
    if done and question.group_id:
        Group.objects.filter(pk=question.group_id, waiting__gt=0).update(waiting=F("waiting") - 1)
    return bool(done)
