"""Giving promises."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

from django.db import transaction
from django.utils import timezone

from breakdowns.questions.models import Group, Question, Settings
from breakdowns.questions.planning import can_promise

from .selectors import line_minutes, promised_days, weights_now


@transaction.atomic
def promise_give(question: Question) -> bool:
    """A place in the line for a question that waits, if an answer can be promised there.

    A group has one place, that of whoever was promised first. One after the other, so that none is let in twice over.
    """
    settings = Settings.objects.select_for_update().get_or_create(pk=1)[0]
    row = Question.objects.filter(pk=question.pk, state="waiting", urgency_rank=0).first()
    if row is None or row.promised_at:
        return bool(row)
    if row.group_id and promise_share(row.group):
        return True
    rows = [row]
    if row.group_id:
        rows = list(Question.objects.filter(group_id=row.group_id, state="waiting"))
    weights = weights_now(settings)
    own = max(Fraction(one.minutes) for one in rows)
    if not can_promise(line_minutes(), own, settings.minutes_preset, weights):
        return False
    now = timezone.now()
    _put(rows, now, timezone.localtime(now).date() + promised_days(weights))
    return True


def promise_share(group: Group | None) -> bool:
    """All who wait in a group stand where the first of them was promised. False where none was."""
    rows = list(Question.objects.filter(group=group, state="waiting", group__isnull=False))
    given = [one for one in rows if one.promised_at and one.answer_by]
    if not given:
        return False
    first = min(given, key=lambda one: (one.promised_at, one.pk))
    _put(rows, first.promised_at, first.answer_by)
    return True


def _put(rows: list[Question], at: datetime | None, until: object) -> None:
    pks = [one.pk for one in rows if one.promised_at != at]
    Question.objects.filter(pk__in=pks).update(promised_at=at, answer_by=until)
